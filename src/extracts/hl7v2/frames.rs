//! Cuts a file into messages, and holds the batch wrappers against what they wrap.
//!
//! A message begins with an `MSH` line and ends before the next one, before a wrapper
//! (`FHS`, `BHS`, `BTS`, `FTS`) or with its MLLP frame. HL7 ends every segment with a
//! carriage return, so a last segment without a line end is taken to be cut off.

use std::io::{BufRead, Result};

use super::lines::{Line, Lines};

/// The longest message that is read, in bytes.
pub(super) const LONGEST_MESSAGE: usize = 1 << 20;

/// What is kept of something that is no message, or too long for one.
const KEPT: usize = 4096;

/// Stands before a message that is kept as text and was cut off: the beginning of a
/// frame that never ended.
pub(super) const CUT_OFF: char = '\u{b}';

/// What to do about a message that is cut off.
pub(super) const GET_IT_WHOLE: &str = "the message is cut off: get the file whole and load it again";

/// What stands in a file.
#[derive(Debug)]
pub(super) struct Frame {
    /// Line on which it begins.
    pub(super) line: u64,
    /// Its segments, joined by carriage returns.
    pub(super) bytes: Vec<u8>,
    pub(super) what: What,
}

#[derive(Debug)]
pub(super) enum What {
    Message,
    Unreadable { cell: String, remedy: String },
}

/// The messages of a source.
#[derive(Debug)]
pub(super) struct Frames<R> {
    lines: Lines<R>,
    ahead: Option<Line>,
    is_framed: bool,
    messages: u64,
    batches: u64,
    /// Lines on which a file and a batch were opened that are not closed yet.
    file_from: Option<u64>,
    batch_from: Option<u64>,
}

impl<R: BufRead> Frames<R> {
    pub(super) fn new(from: R) -> Self {
        Self {
            lines: Lines::new(from, LONGEST_MESSAGE),
            ahead: None,
            is_framed: false,
            messages: 0,
            batches: 0,
            file_from: None,
            batch_from: None,
        }
    }

    /// The next message, or what stands where one should be.
    pub(super) fn next_frame(&mut self) -> Result<Option<Frame>> {
        while let Some(line) = self.next_line()? {
            self.is_framed |= line.begins_frame;
            if begins_with(&line, b"MSH") {
                self.messages += 1;
                return self.message(line).map(Some);
            }
            self.is_framed &= !line.ends_frame;
            if is_wrapper(&line) {
                if let Some(frame) = self.wrapper(line) {
                    return Ok(Some(frame));
                }
            } else if !is_blank(&line) {
                return self.no_message(line).map(Some);
            }
        }
        Ok(self.unclosed("BHS", "BTS").or_else(|| self.unclosed("FHS", "FTS")))
    }

    fn next_line(&mut self) -> Result<Option<Line>> {
        match self.ahead.take() {
            Some(line) => Ok(Some(line)),
            None => self.lines.next_line(),
        }
    }

    fn message(&mut self, first: Line) -> Result<Frame> {
        let number = first.number;
        let mut is_too_long = first.is_too_long;
        let mut is_cut_off = !first.is_ended;
        let mut ends = first.ends_frame;
        let mut bytes = first.bytes;
        while !ends {
            let Some(line) = self.next_line()? else {
                is_cut_off |= self.is_framed;
                break;
            };
            if begins_with(&line, b"MSH") || is_wrapper(&line) || line.begins_frame {
                is_cut_off |= self.is_framed && line.begins_frame;
                self.ahead = Some(line);
                break;
            }
            ends = line.ends_frame;
            if is_blank(&line) {
                continue;
            }
            is_cut_off = !line.is_ended;
            is_too_long |= line.is_too_long || bytes.len() + line.bytes.len() >= LONGEST_MESSAGE;
            if is_too_long {
                bytes.truncate(KEPT);
            } else {
                bytes.push(b'\r');
                bytes.extend(line.bytes);
            }
        }
        self.is_framed &= !ends;
        let what = if is_too_long {
            bytes.truncate(KEPT);
            unreadable(
                "",
                format!("the message is longer than {LONGEST_MESSAGE} bytes: leave out what it carries besides"),
            )
        } else if is_cut_off {
            unreadable("", GET_IT_WHOLE.to_owned())
        } else {
            What::Message
        };
        if !matches!(what, What::Message) {
            bytes.insert(0, CUT_OFF as u8);
        }
        Ok(Frame {
            line: number,
            bytes,
            what,
        })
    }

    /// Text that belongs to no message, up to the next one.
    fn no_message(&mut self, first: Line) -> Result<Frame> {
        let number = first.number;
        let mut bytes = first.bytes;
        while let Some(line) = self.next_line()? {
            self.is_framed |= line.begins_frame;
            if begins_with(&line, b"MSH") || is_wrapper(&line) {
                self.ahead = Some(line);
                break;
            }
            self.is_framed &= !line.ends_frame;
            if bytes.len() < KEPT && !is_blank(&line) {
                bytes.push(b'\r');
                bytes.extend(line.bytes);
            }
        }
        bytes.truncate(KEPT);
        let remedy = "this belongs to no message: a message begins with MSH at the beginning of a line".to_owned();
        Ok(Frame {
            line: number,
            bytes,
            what: unreadable("", remedy),
        })
    }

    /// Takes note of a wrapper; a frame when its count does not match.
    fn wrapper(&mut self, line: Line) -> Option<Frame> {
        let name = line.bytes.get(..3).unwrap_or_default();
        let (counted, found) = match name {
            b"FHS" => {
                self.file_from = Some(line.number);
                self.batches = 0;
                return None;
            }
            b"BHS" => {
                self.batch_from = Some(line.number);
                self.messages = 0;
                return None;
            }
            b"BTS" => {
                self.batch_from = None;
                self.batches += 1;
                ("messages", std::mem::take(&mut self.messages))
            }
            _ => {
                self.file_from = None;
                ("batches", std::mem::take(&mut self.batches))
            }
        };
        let says = count(&line.bytes)?;
        if says == found.to_string() || (counted == "batches" && found == 0) {
            return None;
        }
        let name = String::from_utf8_lossy(name).into_owned();
        let remedy = format!(
            "{name}, field 1: says {says} {counted}, but {found} stand before it: get the file whole and load it again"
        );
        Some(Frame {
            line: line.number,
            what: unreadable(&says, remedy),
            bytes: line.bytes,
        })
    }

    /// What is left open at the end of the file.
    fn unclosed(&mut self, opens: &str, closes: &str) -> Option<Frame> {
        let from = if opens == "BHS" {
            self.batch_from.take()
        } else {
            self.file_from.take()
        };
        let from = from?;
        let remedy =
            format!("{opens} in line {from} is not followed by {closes}: get the file whole and load it again");
        Some(Frame {
            line: self.lines.number(),
            bytes: opens.as_bytes().to_vec(),
            what: unreadable(opens, remedy),
        })
    }
}

fn unreadable(cell: &str, remedy: String) -> What {
    What::Unreadable {
        cell: cell.to_owned(),
        remedy,
    }
}

fn is_blank(line: &Line) -> bool {
    line.bytes.iter().all(u8::is_ascii_whitespace)
}

fn is_wrapper(line: &Line) -> bool {
    [b"FHS", b"BHS", b"BTS", b"FTS"]
        .iter()
        .any(|name| begins_with(line, name))
}

/// Whether a line is the segment of that name: its name, then a separator or nothing.
fn begins_with(line: &Line, name: &[u8; 3]) -> bool {
    let rest = line.bytes.strip_prefix(name);
    rest.is_some_and(|rest| rest.first().is_none_or(u8::is_ascii_punctuation))
}

/// The first field of a trailer, when it says anything.
fn count(trailer: &[u8]) -> Option<String> {
    let text = String::from_utf8_lossy(trailer);
    let separator = text.chars().nth(3)?;
    let says = text.split(separator).nth(1)?.trim();
    let number = says.trim_start_matches('0');
    let says = if number.is_empty() && !says.is_empty() {
        "0"
    } else {
        number
    };
    (!says.is_empty()).then(|| says.to_owned())
}
