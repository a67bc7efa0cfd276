//! Splits a byte stream into CSV records and knows on which line each begins.
//!
//! A record may run over several lines inside quotes (RFC 4180). A quote that
//! is never closed would swallow the rest of the file: then its first line
//! alone is given up as [`Record::UnclosedQuote`] and reading goes on with the
//! line after it.

use std::collections::VecDeque;
use std::io::{self, BufRead, Read};

/// A line longer than this is no row.
pub(super) const LONGEST_LINE: u64 = 1 << 20;

/// A quoted record over more lines than this has an unclosed quote.
const MOST_LINES: usize = 100;

/// One record, its line counted from 1.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Record {
    /// Bytes without the line end.
    Whole { line: u64, bytes: Vec<u8> },
    /// The line on which a quote opens that is never closed.
    UnclosedQuote { line: u64, bytes: Vec<u8> },
}

/// Why the stream cannot be split further.
#[derive(Debug)]
pub(super) enum RecordError {
    Io(io::Error),
    LineTooLong { line: u64 },
}

/// The records of a stream, in order. Blank lines are no records.
pub(super) struct Records<R> {
    from: R,
    waiting: VecDeque<Vec<u8>>,
    line: u64,
}

impl<R: BufRead> Records<R> {
    pub(super) fn new(from: R) -> Self {
        Self {
            from,
            waiting: VecDeque::new(),
            line: 0,
        }
    }

    /// Leaves out the next lines, whatever they hold.
    pub(super) fn skip_lines(&mut self, lines: u64) -> Result<(), RecordError> {
        for _ in 0..lines {
            if self.next_line()?.is_none() {
                break;
            }
        }
        Ok(())
    }

    /// The next record, or `None` at the end.
    pub(super) fn next(&mut self) -> Result<Option<Record>, RecordError> {
        loop {
            let Some(first) = self.next_line()? else {
                return Ok(None);
            };
            let line = self.line;
            if first.iter().all(u8::is_ascii_whitespace) {
                continue;
            }
            if balanced(&first) {
                let bytes = trimmed(first);
                return Ok(Some(Record::Whole { line, bytes }));
            }
            return self.continued(line, first).map(Some);
        }
    }

    /// Joins following lines to `first` until its quotes close, or gives it up.
    fn continued(&mut self, line: u64, first: Vec<u8>) -> Result<Record, RecordError> {
        let mut joined = first.clone();
        let mut after: Vec<Vec<u8>> = Vec::new();
        while after.len() < MOST_LINES && joined.len() as u64 <= LONGEST_LINE {
            let Some(next) = self.next_line()? else { break };
            joined.extend_from_slice(&next);
            let closes = !balanced(&next);
            after.push(next);
            if closes {
                let bytes = trimmed(joined);
                return Ok(Record::Whole { line, bytes });
            }
        }
        for unread in after.into_iter().rev() {
            self.waiting.push_front(unread);
        }
        self.line = line;
        let bytes = trimmed(first);
        Ok(Record::UnclosedQuote { line, bytes })
    }

    fn next_line(&mut self) -> Result<Option<Vec<u8>>, RecordError> {
        if let Some(line) = self.waiting.pop_front() {
            self.line += 1;
            return Ok(Some(line));
        }
        let mut bytes = Vec::new();
        let read = self
            .from
            .by_ref()
            .take(LONGEST_LINE + 1)
            .read_until(b'\n', &mut bytes)
            .map_err(RecordError::Io)?;
        if read == 0 {
            return Ok(None);
        }
        self.line += 1;
        if bytes.len() as u64 > LONGEST_LINE {
            return Err(RecordError::LineTooLong { line: self.line });
        }
        Ok(Some(bytes))
    }
}

/// Quotes pair up: an escaped quote is two, so an odd count is an open one.
fn balanced(bytes: &[u8]) -> bool {
    bytes.iter().filter(|b| **b == b'"').count() % 2 == 0
}

fn trimmed(mut bytes: Vec<u8>) -> Vec<u8> {
    while matches!(bytes.last(), Some(b'\n' | b'\r')) {
        bytes.pop();
    }
    bytes
}
