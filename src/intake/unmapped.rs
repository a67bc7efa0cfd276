//! Codes and words that no table wanted, counted by file. Nothing of them is
//! stored but the count: a laboratory export is mostly of other tests.

use std::collections::BTreeMap;
use std::sync::Arc;

use arrow::array::RecordBatch;
use arrow::datatypes::{DataType, Field as Column, Schema, SchemaRef};

use crate::extracts::record::Code;

use super::IntakeError;
use super::field::{Batches, Field};

/// Different codes counted one by one for a file; free text in place of codes would have no end.
const MOST_CODES: usize = 1000;

/// Counts by file and code.
#[derive(Clone, Debug, Default)]
pub struct Unmapped(BTreeMap<String, BTreeMap<Code, u64>>);

impl Unmapped {
    /// Counts one.
    pub fn add(&mut self, file: &str, code: &Code) {
        if !self.0.contains_key(file) {
            self.0.insert(file.to_owned(), BTreeMap::new());
        }
        let Some(codes) = self.0.get_mut(file) else { return };
        if let Some(n) = codes.get_mut(code) {
            *n += 1;
        } else if codes.len() < MOST_CODES {
            codes.insert(code.clone(), 1);
        } else {
            let others = Code {
                system: "others".to_owned(),
                ..Code::default()
            };
            *codes.entry(others).or_default() += 1;
        }
    }

    /// Each file, code and count.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &Code, u64)> {
        let files = self.0.iter();
        files.flat_map(|(file, codes)| codes.iter().map(move |(code, n)| (file.as_str(), code, *n)))
    }

    /// Those of some files only.
    pub fn of_files(&self, is_wanted: impl Fn(&str) -> bool) -> Self {
        let wanted = self.0.iter().filter(|(file, _)| is_wanted(file));
        Self(wanted.map(|(file, codes)| (file.clone(), codes.clone())).collect())
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// As stored rows.
    ///
    /// # Errors
    /// Only when Arrow refuses them, which would be a fault of the schema.
    pub fn rows(&self) -> Result<RecordBatch, IntakeError> {
        let mut batches = Batches::new(schema());
        for (file, code, n) in self.iter() {
            batches.push(&[
                Field::text(file),
                Field::text(code.system.as_str()),
                Field::text(code.code.as_str()),
                Field::text(code.display.as_str()),
                Field::Int(n as i64),
            ]);
        }
        batches.take().map_err(|source| IntakeError::Rows {
            table: "unmapped_codes",
            source,
        })
    }
}

/// Columns of the stored counts.
pub fn schema() -> SchemaRef {
    let columns = [
        ("file", DataType::Utf8),
        ("system", DataType::Utf8),
        ("code", DataType::Utf8),
        ("display", DataType::Utf8),
        ("records", DataType::Int64),
    ];
    let fields = columns.into_iter().map(|(name, of)| Column::new(name, of, true));
    Arc::new(Schema::new(fields.collect::<Vec<_>>()))
}
