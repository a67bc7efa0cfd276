//! What became of each row of a load, file by file; it must balance.

use std::collections::BTreeMap;

use crate::warehouse::tables::SOURCE_TABLES;

use super::IntakeError;
use super::field::{Batches, Field};
use super::stage::StagedFile;

use std::sync::Arc;

use arrow::array::RecordBatch;
use arrow::datatypes::{DataType, Field as Column, Schema, SchemaRef};

/// The fates in the order in which they are listed.
pub const FATES: [&str; 6] = ["kept", "superseded", "duplicate", "withdrawn", "held", "set_aside"];

/// One file of one load, and one table it fed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LedgerLine {
    /// The file.
    pub file: String,
    /// Its hash.
    pub sha256: String,
    /// The table.
    pub table: &'static str,
    /// Rows read.
    pub rows_in: u64,
    /// Rows by fate; sums to `rows_in`.
    pub fates: BTreeMap<&'static str, u64>,
}

impl LedgerLine {
    /// Rows of a fate.
    pub fn rows(&self, fate: &str) -> u64 {
        self.fates.get(fate).copied().unwrap_or(0)
    }

    /// Rows that were not there before: all but duplicates.
    pub fn new_rows(&self) -> u64 {
        self.rows_in - self.rows("duplicate")
    }
}

/// Counts by file, table and fate, as the queries give them.
#[derive(Clone, Debug, Default)]
pub struct FateCounts(BTreeMap<(String, String, &'static str), u64>);

impl FateCounts {
    /// Adds rows that a file gave a table to a fate; a word that is no fate counts
    /// nowhere, so that the balance fails.
    pub fn add(&mut self, file: &str, table: &str, fate: &str, n: u64) {
        let fate = match fate {
            "before_birth" => "set_aside",
            "incomplete" | "which_result" => "held",
            other => other,
        };
        if let Some(known) = FATES.iter().find(|f| **f == fate) {
            *self.0.entry((file.to_owned(), table.to_owned(), known)).or_default() += n;
        }
    }

    fn of(&self, file: &str, table: &str, fate: &'static str) -> u64 {
        let key = (file.to_owned(), table.to_owned(), fate);
        self.0.get(&key).copied().unwrap_or(0)
    }

    /// Adds the counts of another.
    pub fn add_all(&mut self, other: &Self) {
        for (key, n) in &other.0 {
            *self.0.entry(key.clone()).or_default() += n;
        }
    }
}

/// The lines of a load, one per file and table.
///
/// # Errors
/// When a file's rows and the sum of their fates differ.
pub fn balanced(files: &[StagedFile], counts: &FateCounts) -> Result<Vec<LedgerLine>, IntakeError> {
    let mut lines: Vec<LedgerLine> = Vec::new();
    for file in files {
        let same = |l: &&mut LedgerLine| l.file == file.path && l.table == file.table;
        if let Some(line) = lines.iter_mut().find(same) {
            line.rows_in += file.rows_in;
            continue;
        }
        lines.push(LedgerLine {
            file: file.path.clone(),
            sha256: file.sha256.clone(),
            table: file.table,
            rows_in: file.rows_in,
            fates: FATES
                .into_iter()
                .map(|fate| (fate, counts.of(&file.path, file.table, fate)))
                .collect(),
        });
    }
    for line in &lines {
        let accounted: u64 = line.fates.values().sum();
        if accounted != line.rows_in {
            return Err(IntakeError::Unbalanced {
                file: line.file.clone(),
                rows_in: line.rows_in,
                accounted,
            });
        }
    }
    Ok(lines)
}

/// Columns of the stored ledger.
pub fn schema() -> SchemaRef {
    let mut columns = vec![
        Column::new("loaded_at_s", DataType::Int64, true),
        Column::new("file", DataType::Utf8, true),
        Column::new("sha256", DataType::Utf8, true),
        Column::new("table_name", DataType::Utf8, true),
        Column::new("rows_in", DataType::Int64, true),
    ];
    columns.extend(FATES.iter().map(|fate| Column::new(*fate, DataType::Int64, true)));
    Arc::new(Schema::new(columns))
}

/// The lines of one load as stored rows.
///
/// # Errors
/// Only when Arrow refuses them, which would be a fault of the schema.
pub fn rows(loaded_at_s: i64, lines: &[LedgerLine]) -> Result<RecordBatch, IntakeError> {
    let mut batches = Batches::new(schema());
    for line in lines {
        let mut row = vec![
            Field::Int(loaded_at_s),
            Field::text(line.file.as_str()),
            Field::text(line.sha256.as_str()),
            Field::text(line.table),
            Field::Int(line.rows_in as i64),
        ];
        row.extend(FATES.iter().map(|fate| Field::Int(line.rows(fate) as i64)));
        batches.push(&row);
    }
    batches.take().map_err(|source| IntakeError::Rows {
        table: SOURCE_TABLES[0].name,
        source,
    })
}
