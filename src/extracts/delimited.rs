//! Delimited text with a header line and RFC 4180 quotes: rows of cells, as
//! they are written, for any delimiter. What they mean is the mapping's work.

use std::io::{self, BufRead};

use super::reason::Reason;
use super::record::Fault;
use super::records::{LONGEST_LINE, Record, RecordError, Records};

/// Delimiters that are recognised when none is declared.
const DELIMITERS: [u8; 4] = [b',', b';', b'\t', b'|'];

/// Why delimited text cannot be read, or not read on.
#[derive(Debug, thiserror::Error)]
pub enum DelimitedError {
    /// The system cannot read it.
    #[error(transparent)]
    Io(#[from] io::Error),
    /// A line is too long to be a row.
    #[error("line {line}: longer than {LONGEST_LINE} bytes")]
    LineTooLong {
        /// Which line, counted from 1.
        line: u64,
    },
    /// There is no header, or it is no text.
    #[error("no header line, or one that is no text")]
    NoHeader,
    /// The lines end in carriage returns alone.
    #[error("the lines end in carriage returns alone")]
    CarriageReturns,
    /// The header can be split in two ways.
    #[error("the columns of the header may be separated by {} or by {}", named(*.0), named(*.1))]
    TwoDelimiters(u8, u8),
}

/// A row as it is written.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Line on which it begins, counted from 1.
    pub line: u64,
    /// The row as it stands (bytes that are no text replaced).
    pub text: String,
    /// Its cells, as many as the header has or not; or why there are none.
    pub cells: Result<Vec<String>, Fault>,
}

/// Delimited text whose header has been read.
pub struct Delimited<R> {
    records: Records<R>,
    splitter: Splitter,
    header: Header,
}

/// The header line.
#[derive(Clone, Debug, PartialEq)]
pub struct Header {
    /// As it stands.
    pub text: String,
    /// Its cells.
    pub names: Vec<String>,
    /// What separates them.
    pub delimiter: u8,
}

impl<R: BufRead> Delimited<R> {
    /// Skips `skip_lines` lines and reads the header. Without a declared delimiter
    /// it is the one that stands most often in the header.
    ///
    /// # Errors
    /// When there is no header, or it can be split in two ways.
    pub fn open(from: R, delimiter: Option<u8>, skip_lines: u64) -> Result<Self, DelimitedError> {
        let mut records = Records::new(from);
        records.skip_lines(skip_lines)?;
        let Some(Record::Whole { bytes, .. }) = records.next()? else {
            return Err(DelimitedError::NoHeader);
        };
        let text = String::from_utf8(bytes).map_err(|_| DelimitedError::NoHeader)?;
        let header = Header::read(&text, delimiter)?;
        Ok(Self {
            records,
            splitter: Splitter::of(header.delimiter),
            header,
        })
    }

    /// The header line.
    pub fn header(&self) -> &Header {
        &self.header
    }

    /// The next row, or `None` at the end.
    ///
    /// # Errors
    /// When the stream cannot be read on. A single bad row is not an error: see [`Row::cells`].
    pub fn next_row(&mut self) -> Result<Option<Row>, DelimitedError> {
        let Some(record) = self.records.next()? else {
            return Ok(None);
        };
        Ok(Some(match record {
            Record::Whole { line, bytes } => Row {
                line,
                text: String::from_utf8_lossy(&bytes).into_owned(),
                cells: self.splitter.split(&bytes),
            },
            Record::UnclosedQuote { line, bytes } => Row {
                line,
                text: String::from_utf8_lossy(&bytes).into_owned(),
                cells: Err(Fault::of_record(Reason::UnclosedQuote)),
            },
        }))
    }
}

impl Header {
    /// Splits a header line.
    ///
    /// # Errors
    /// When it is no text, or can be split in two ways.
    pub fn read(text: &str, delimiter: Option<u8>) -> Result<Self, DelimitedError> {
        if text.trim().is_empty() || text.contains('\0') {
            return Err(DelimitedError::NoHeader);
        }
        if outside_quotes(text.as_bytes()).any(|b| b == b'\r') {
            return Err(DelimitedError::CarriageReturns);
        }
        let delimiter = delimiter.map_or_else(|| detected(text), Ok)?;
        let names = Splitter::of(delimiter).split(text.as_bytes());
        Ok(Self {
            text: text.to_owned(),
            names: names.map_err(|_| DelimitedError::NoHeader)?,
            delimiter,
        })
    }
}

/// Splits records into cells.
pub struct Splitter {
    delimiter: u8,
    reader: csv_core::Reader,
}

impl Splitter {
    /// For one delimiter.
    pub fn of(delimiter: u8) -> Self {
        // Records come without their line end; what looks like one inside is kept or found.
        let terminator = csv_core::Terminator::Any(b'\n');
        let mut reader = csv_core::ReaderBuilder::new();
        Self {
            delimiter,
            reader: reader.delimiter(delimiter).terminator(terminator).build(),
        }
    }

    /// The cells of one record, as they are written.
    ///
    /// # Errors
    /// When the record is no UTF-8, or ends before its last byte: a line end stands
    /// outside of quotes that pair up.
    pub fn split(&mut self, record: &[u8]) -> Result<Vec<String>, Fault> {
        self.reader.reset();
        let mut output = vec![0; record.len() + 1];
        let mut ends = vec![0; record.iter().filter(|b| **b == self.delimiter).count() + 2];
        let (result, _, mut written, mut cells) = self.reader.read_record(record, &mut output, &mut ends);
        if result != csv_core::ReadRecordResult::InputEmpty {
            return Err(Fault::of_record(Reason::UnclosedQuote)
                .with_remedy("double a quote that belongs to the text, or quote the whole cell"));
        }
        if let (Some(output), Some(ends)) = (output.get_mut(written..), ends.get_mut(cells..)) {
            let (_, _, more, cells_more) = self.reader.read_record(&[], output, ends);
            written += more;
            cells += cells_more;
        }
        let mut from = 0;
        let mut all = Vec::with_capacity(cells);
        for end in ends.iter().take(cells) {
            let cell = output.get(from..(*end).min(written)).unwrap_or_default();
            let text = std::str::from_utf8(cell).map_err(|_| Fault::of_record(Reason::NotUtf8))?;
            all.push(text.to_owned());
            from = *end;
        }
        Ok(all)
    }
}

fn detected(header: &str) -> Result<u8, DelimitedError> {
    let count = |delimiter: u8| outside_quotes(header.as_bytes()).filter(|b| *b == delimiter).count();
    let mut by_count = DELIMITERS.map(|delimiter| (count(delimiter), delimiter));
    by_count.sort_by_key(|(count, _)| std::cmp::Reverse(*count));
    match by_count {
        [(0, _), ..] => Ok(b','),
        [(most, one), (next, other), ..] if most == next => Err(DelimitedError::TwoDelimiters(one, other)),
        [(_, one), ..] => Ok(one),
    }
}

fn outside_quotes(bytes: &[u8]) -> impl Iterator<Item = u8> {
    let mut is_quoted = false;
    bytes.iter().copied().filter(move |byte| {
        is_quoted ^= *byte == b'"';
        !is_quoted && *byte != b'"'
    })
}

fn named(delimiter: u8) -> String {
    match delimiter {
        b'\t' => "a tab".to_owned(),
        other => format!("'{}'", char::from(other)),
    }
}

impl From<RecordError> for DelimitedError {
    fn from(error: RecordError) -> Self {
        match error {
            RecordError::Io(source) => Self::Io(source),
            RecordError::LineTooLong { line } => Self::LineTooLong { line },
        }
    }
}
