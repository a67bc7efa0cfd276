//! Lines of an NDJSON stream, one at a time. A line longer than the limit is given up
//! and the next one is read.

use std::io::{self, BufRead, Read};

/// A line longer than this is given up.
pub(super) const LONGEST_LINE: u64 = 16 << 20;

/// How much of a line that is given up is kept to show.
const SHOWN: usize = 1000;

/// The lines of a stream that are not blank.
pub(super) struct Lines<R> {
    from: R,
    number: u64,
    bytes: Vec<u8>,
}

/// One line: its number, counted from 1, its bytes, and whether it is whole.
pub(super) struct Line<'a> {
    pub(super) number: u64,
    pub(super) bytes: &'a [u8],
    pub(super) is_whole: bool,
}

impl<R: BufRead> Lines<R> {
    pub(super) fn new(from: R) -> Self {
        Self {
            from,
            number: 0,
            bytes: Vec::new(),
        }
    }

    /// The next line, or `None` at the end.
    pub(super) fn next(&mut self) -> io::Result<Option<Line<'_>>> {
        let is_whole = loop {
            self.bytes.clear();
            let read = self
                .from
                .by_ref()
                .take(LONGEST_LINE + 1)
                .read_until(b'\n', &mut self.bytes)?;
            if read == 0 {
                return Ok(None);
            }
            self.number += 1;
            let is_whole = self.bytes.len() as u64 <= LONGEST_LINE || self.bytes.ends_with(b"\n");
            if !is_whole {
                self.bytes.truncate(SHOWN);
                self.bytes.shrink_to(SHOWN);
                self.from.skip_until(b'\n')?;
            }
            if self.number == 1 && self.bytes.starts_with(b"\xef\xbb\xbf") {
                self.bytes.drain(..3);
            }
            if !self.bytes.iter().all(u8::is_ascii_whitespace) {
                break is_whole;
            }
        };
        Ok(Some(Line {
            number: self.number,
            bytes: self.bytes.trim_ascii(),
            is_whole,
        }))
    }
}
