//! Canonical CSV: UTF-8 (a byte-order mark is accepted), comma-separated, one
//! header line, RFC 4180 quotes. Columns may stand in any order.

use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

use super::ExtractError;
use super::records::{LONGEST_LINE, Record, RecordError, Records};

/// One row: its cells in the order asked for, or why it has none.
#[derive(Debug)]
pub struct RawRow {
    /// Line on which it begins, counted from 1.
    pub line: u64,
    /// The row as it stands in the file (bytes that are not UTF-8 replaced).
    pub text: String,
    /// The cells, trimmed, in the order of the columns asked for; a column that
    /// the file does not have is empty.
    pub cells: Result<Vec<String>, Fault>,
}

/// Why a row cannot be split into cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// A quote opens and never closes.
    UnclosedQuote,
    /// The row has more or fewer cells than the header.
    WrongNumberOfCells,
    /// The row is not UTF-8.
    NotUtf8,
}

/// An open CSV file, read row by row.
pub struct CsvExtract {
    path: PathBuf,
    records: Records<BufReader<File>>,
    width: usize,
    /// For each column asked for, where it stands in the file.
    places: Vec<Option<usize>>,
    ignored: Vec<String>,
    splitter: csv_core::Reader,
}

impl CsvExtract {
    /// Opens the file and reads its header.
    ///
    /// # Errors
    /// When the file cannot be read, has no header, or lacks a column of `required`.
    pub fn open(path: &Path, required: &[&str], optional: &[&str]) -> Result<Self, ExtractError> {
        let file = File::open(path).map_err(|source| ExtractError::Unreadable {
            path: path.to_owned(),
            source,
        })?;
        let mut records = Records::new(BufReader::new(file));
        let no_header = || ExtractError::NoHeader { path: path.to_owned() };
        let bytes = match records.next().map_err(|e| at(path, e))? {
            Some(Record::Whole { bytes, .. }) => bytes,
            _ => return Err(no_header()),
        };
        let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(&bytes);
        let found = std::str::from_utf8(bytes).map_err(|_| no_header())?;
        if let Some(what) = not_comma_separated(found) {
            return Err(ExtractError::NotCommaSeparated {
                path: path.to_owned(),
                what,
            });
        }
        let mut splitter = csv_core::Reader::new();
        let header: Vec<String> = split(&mut splitter, bytes)
            .ok_or_else(no_header)?
            .into_iter()
            .map(|name| name.to_lowercase())
            .collect();
        let place = |name: &str| header.iter().position(|h| h == name);
        let missing: Vec<String> = required
            .iter()
            .filter(|name| place(name).is_none())
            .map(|name| (*name).to_owned())
            .collect();
        if !missing.is_empty() {
            return Err(ExtractError::MissingColumns {
                path: path.to_owned(),
                missing,
                found: found.to_owned(),
            });
        }
        let known = |name: &str| required.contains(&name) || optional.contains(&name);
        let repeated = header
            .iter()
            .enumerate()
            .find(|(i, name)| known(name) && place(name) != Some(*i));
        if let Some((_, column)) = repeated {
            return Err(ExtractError::RepeatedColumn {
                path: path.to_owned(),
                column: column.clone(),
            });
        }
        Ok(Self {
            path: path.to_owned(),
            records,
            width: header.len(),
            places: required.iter().chain(optional).map(|name| place(name)).collect(),
            ignored: header.iter().filter(|h| !known(h)).cloned().collect(),
            splitter,
        })
    }

    /// Columns of the file that are not in the contract.
    pub fn ignored(&self) -> &[String] {
        &self.ignored
    }

    /// The next row, or `None` at the end of the file.
    ///
    /// # Errors
    /// When the file cannot be read on. A single bad row is not an error: see [`RawRow::cells`].
    pub fn next_row(&mut self) -> Result<Option<RawRow>, ExtractError> {
        let Some(record) = self.records.next().map_err(|e| at(&self.path, e))? else {
            return Ok(None);
        };
        let (line, bytes, unclosed) = match record {
            Record::Whole { line, bytes } => (line, bytes, false),
            Record::UnclosedQuote { line, bytes } => (line, bytes, true),
        };
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let cells = if unclosed {
            Err(Fault::UnclosedQuote)
        } else {
            self.cells(&bytes)
        };
        Ok(Some(RawRow { line, text, cells }))
    }

    fn cells(&mut self, bytes: &[u8]) -> Result<Vec<String>, Fault> {
        let all = split(&mut self.splitter, bytes).ok_or(Fault::NotUtf8)?;
        if all.len() != self.width {
            return Err(Fault::WrongNumberOfCells);
        }
        let cell = |place: &Option<usize>| place.map_or_else(String::new, |i| all[i].clone());
        Ok(self.places.iter().map(cell).collect())
    }
}

/// What a header that is not comma-separated looks like.
fn not_comma_separated(header: &str) -> Option<&'static str> {
    let count = |separator: char| header.matches(separator).count();
    if header.contains('\r') {
        Some("the lines end in carriage returns alone")
    } else if count(';') > count(',') {
        Some("the columns are separated by semicolons")
    } else if count('\t') > count(',') {
        Some("the columns are separated by tabs")
    } else if header.contains('\0') {
        Some("this is not text in UTF-8")
    } else {
        None
    }
}

fn at(path: &Path, error: RecordError) -> ExtractError {
    let path = path.to_owned();
    match error {
        RecordError::Io(source) => ExtractError::Unreadable { path, source },
        RecordError::LineTooLong { line } => ExtractError::LineTooLong {
            path,
            line,
            limit: LONGEST_LINE,
        },
    }
}

/// The trimmed cells of one record; `None` when they are not UTF-8.
fn split(reader: &mut csv_core::Reader, record: &[u8]) -> Option<Vec<String>> {
    reader.reset();
    let mut output = vec![0; record.len() + 1];
    let mut ends = vec![0; record.iter().filter(|b| **b == b',').count() + 2];
    let (result, read, written, cells) = reader.read_record(record, &mut output, &mut ends);
    let (written, cells) = match result {
        csv_core::ReadRecordResult::InputEmpty => {
            let (_, _, more, cells_more) =
                reader.read_record(&record[read..read], &mut output[written..], &mut ends[cells..]);
            (written + more, cells + cells_more)
        }
        _ => (written, cells),
    };
    let mut from = 0;
    let mut all = Vec::with_capacity(cells);
    for end in &ends[..cells] {
        let end = (*end).min(written);
        all.push(std::str::from_utf8(&output[from..end]).ok()?.trim().to_owned());
        from = end;
    }
    Some(all)
}
