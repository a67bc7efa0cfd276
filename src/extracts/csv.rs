//! Canonical CSV: UTF-8 (a byte-order mark is accepted), comma-separated, one
//! header line, RFC 4180 quotes. Columns may stand in any order.

use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

use crate::warehouse::tables::{OPTIONAL_COLUMNS, SourceTable};

use super::delimited::Splitter;
use super::reason::Reason;
use super::record::{Cell, Fault, Record as Said, SourceRow};
use super::records::{LONGEST_LINE, Record, RecordError, Records};
use super::{ExtractError, Reader};

/// An open CSV file, read row by row.
pub struct CsvExtract {
    path: PathBuf,
    table: &'static SourceTable,
    header_text: String,
    records: Records<BufReader<File>>,
    width: usize,
    /// For each column asked for, where it stands in the file.
    places: Vec<Option<usize>>,
    ignored: Vec<String>,
    splitter: Splitter,
}

impl CsvExtract {
    /// Opens the file and reads its header.
    ///
    /// # Errors
    /// When the file cannot be read, has no header, or lacks a column of the table.
    pub fn open(path: &Path, table: &'static SourceTable) -> Result<Self, ExtractError> {
        let (required, optional) = (table.column_names(), OPTIONAL_COLUMNS);
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
        let mut splitter = Splitter::of(b',');
        let names = splitter.split(bytes).map_err(|_| no_header())?;
        let header: Vec<String> = names.iter().map(|name| name.trim().to_lowercase()).collect();
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
        let header_text = found.to_owned();
        Ok(Self {
            path: path.to_owned(),
            table,
            header_text,
            records,
            width: header.len(),
            places: required.iter().chain(&optional).map(|name| place(name)).collect(),
            ignored: header.iter().filter(|h| !known(h)).cloned().collect(),
            splitter,
        })
    }

    fn row(&mut self, bytes: &[u8]) -> SourceRow {
        let mut row = SourceRow::of(self.table);
        match self.splitter.split(bytes) {
            Err(fault) => row.fail(fault),
            Ok(cells) if cells.len() == self.width => {
                for (place, cell) in self.places.iter().zip(&mut row.cells) {
                    *cell = place.map(|i| Cell::from(cells[i].trim()));
                }
            }
            Ok(_) => row.fail(Fault::of_record(Reason::WrongNumberOfCells)),
        }
        row
    }
}

impl Reader for CsvExtract {
    fn next_record(&mut self) -> Result<Option<Said>, ExtractError> {
        let Some(record) = self.records.next().map_err(|e| at(&self.path, e))? else {
            return Ok(None);
        };
        let (line, bytes, row) = match record {
            Record::Whole { line, bytes } => {
                let row = self.row(&bytes);
                (line, bytes, row)
            }
            Record::UnclosedQuote { line, bytes } => {
                let mut row = SourceRow::of(self.table);
                row.fail(Fault::of_record(Reason::UnclosedQuote));
                (line, bytes, row)
            }
        };
        Ok(Some(Said {
            line,
            text: String::from_utf8_lossy(&bytes).into_owned(),
            rows: vec![row],
            ..Said::default()
        }))
    }

    fn tables(&self) -> Vec<&'static str> {
        vec![self.table.name]
    }

    fn header_text(&self) -> &str {
        &self.header_text
    }

    fn unread_columns(&self) -> &[String] {
        &self.ignored
    }
}

/// One row kept as text with its header line, read again.
pub fn row_of(table: &'static SourceTable, header: &str, text: &str) -> SourceRow {
    let mut splitter = Splitter::of(b',');
    let mut row = SourceRow::of(table);
    let names = splitter.split(header.as_bytes()).unwrap_or_default();
    match splitter.split(text.as_bytes()) {
        Err(fault) => row.fail(fault),
        Ok(cells) if cells.len() == names.len() => {
            for (name, cell) in names.iter().zip(cells) {
                row.say(&name.trim().to_lowercase(), cell.trim());
            }
        }
        Ok(_) => row.fail(Fault::of_record(Reason::WrongNumberOfCells)),
    }
    row
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
