//! Opens each file with the reader of its form, and reads again a record that was
//! kept as text.

use super::csv::{self, CsvExtract};
use super::files::{ExtractFile, Form};
use super::record::Record;
use super::{ExtractError, Reader};
use crate::warehouse::tables::SourceTable;

/// What the readers of one load share.
#[derive(Default)]
pub struct Readers {}

impl Readers {
    /// Opens a file.
    ///
    /// # Errors
    /// When it cannot be read, or is refused as a whole.
    pub fn open(&mut self, file: &ExtractFile) -> Result<Box<dyn Reader + '_>, ExtractError> {
        match &file.form {
            Form::Canonical(table) => Ok(Box::new(CsvExtract::open(&file.path, table)?)),
            Form::Mapped(_) | Form::Fhir | Form::Hl7v2 => Err(ExtractError::NothingToLoad {
                path: file.path.clone(),
            }),
        }
    }

    /// Reads again a record that was kept as text, by the form it was read in; `None` when
    /// there is no such source any more.
    pub fn again(&mut self, form: &str, header: &str, text: &str, line: u64) -> Option<Record> {
        let (kind, name) = form.split_once(' ').unwrap_or((form, ""));
        match kind {
            "table" => {
                let row = csv::row_of(SourceTable::named(name)?, header, text);
                Some(Record {
                    line,
                    text: text.to_owned(),
                    rows: vec![row],
                    ..Record::default()
                })
            }
            _ => None,
        }
    }
}
