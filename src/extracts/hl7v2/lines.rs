//! Cuts bytes into lines that end in CR, LF, CRLF or the end mark of an MLLP frame.
//!
//! No line is kept longer than a limit; what is beyond it is passed over.

use std::io::{BufRead, ErrorKind, Result};

/// Begins a frame of the minimal lower layer protocol (MLLP).
pub(super) const FRAME_BEGINS: u8 = 0x0b;
/// Ends one; a carriage return follows.
const FRAME_ENDS: u8 = 0x1c;

const BYTE_ORDER_MARK: &[u8] = b"\xef\xbb\xbf";

/// One line without its end.
#[derive(Clone, Debug, Default)]
pub(super) struct Line {
    /// Counted from 1.
    pub(super) number: u64,
    pub(super) bytes: Vec<u8>,
    /// Not all of it is kept.
    pub(super) is_too_long: bool,
    /// Something ended it, not the end of the file.
    pub(super) is_ended: bool,
    pub(super) begins_frame: bool,
    pub(super) ends_frame: bool,
}

/// The lines of a source.
#[derive(Debug)]
pub(super) struct Lines<R> {
    from: R,
    number: u64,
    limit: usize,
    is_first: bool,
    after_return: bool,
}

impl<R: BufRead> Lines<R> {
    pub(super) fn new(from: R, limit: usize) -> Self {
        Self {
            from,
            number: 1,
            limit,
            is_first: true,
            after_return: false,
        }
    }

    /// The number of the next line.
    pub(super) fn number(&self) -> u64 {
        self.number
    }

    /// The next line, or `None` at the end.
    pub(super) fn next_line(&mut self) -> Result<Option<Line>> {
        let mut line = Line {
            number: self.number,
            ..Line::default()
        };
        let mut is_empty = true;
        loop {
            let buffer = match self.from.fill_buf() {
                Err(error) if error.kind() == ErrorKind::Interrupted => continue,
                other => other?,
            };
            let Some(first) = buffer.first() else {
                return Ok((!is_empty).then(|| self.finish(line)));
            };
            if std::mem::take(&mut self.after_return) && *first == b'\n' {
                self.from.consume(1);
                continue;
            }
            is_empty = false;
            let end = buffer.iter().position(|b| matches!(*b, b'\r' | b'\n' | FRAME_ENDS));
            let (text, ended_by) = buffer.split_at(end.unwrap_or(buffer.len()));
            let room = self.limit.saturating_sub(line.bytes.len());
            line.is_too_long |= text.len() > room;
            line.bytes.extend(text.iter().take(room));
            let ended_by = ended_by.first().copied();
            let used = text.len() + usize::from(ended_by.is_some());
            self.from.consume(used);
            if let Some(end) = ended_by {
                line.is_ended = true;
                line.ends_frame = end == FRAME_ENDS;
                self.after_return = end == b'\r';
                self.number += u64::from(end != FRAME_ENDS);
                return Ok(Some(self.finish(line)));
            }
        }
    }

    /// Takes off a byte-order mark and the beginning of a frame.
    fn finish(&mut self, mut line: Line) -> Line {
        if std::mem::take(&mut self.is_first) && line.bytes.starts_with(BYTE_ORDER_MARK) {
            line.bytes.drain(..BYTE_ORDER_MARK.len());
        }
        if line.bytes.first() == Some(&FRAME_BEGINS) {
            line.begins_frame = true;
            line.bytes.remove(0);
        }
        line
    }
}
