//! A piece of a file, judged: its rows as batches of their tables, with the keys of all. Pieces
//! are judged apart from each other, several at a time.

use std::collections::BTreeMap;

use arrow::array::RecordBatch;
use arrow::datatypes::SchemaRef;

use crate::extracts::record::{Record, SourceRow};
use crate::warehouse::tables::{SOURCE_TABLES, UNREADABLE_RECORDS, set_aside_schema};

use super::IntakeError;
use super::field::Batches;
use super::judge::Judge;
use super::keys;
use super::place::Place;
use super::results;

/// Rows by table, as one file gave them.
pub(super) type Counts = BTreeMap<&'static str, u64>;

/// Where records come from.
#[derive(Clone, Copy, Default)]
pub(super) struct Origin<'a> {
    pub load: i64,
    pub file: &'a str,
    pub form: &'a str,
    pub header_text: &'a str,
}

/// Rows being judged.
pub(super) struct Piece<'a> {
    judge: &'a Judge<'a>,
    tables: BTreeMap<&'static str, Batches>,
    keys: Batches,
    aside: Batches,
    pub counts: Counts,
    seq: i64,
}

/// Rows as they are written to the scratch folder.
pub(super) struct Judged {
    pub tables: Vec<(&'static str, RecordBatch)>,
    pub keys: RecordBatch,
    pub aside: RecordBatch,
    pub counts: Counts,
}

/// How many places in the load a record takes: one for each row, or one of its own when nothing of
/// it can be read.
pub(super) fn places_of(record: &Record) -> i64 {
    match record.fault {
        Some(_) => 1,
        None => record.rows.len() as i64,
    }
}

/// The schema of a table as it is staged.
pub(super) fn schema_of(table: &str) -> SchemaRef {
    let declared = SOURCE_TABLES.iter().find(|t| t.name == table).map(|t| t.schema());
    declared.unwrap_or_else(set_aside_schema)
}

impl<'a> Piece<'a> {
    /// Rows that come after the place `seq` in the load.
    pub(super) fn after(seq: i64, judge: &'a Judge<'a>) -> Self {
        Self {
            judge,
            tables: BTreeMap::new(),
            keys: Batches::new(keys::schema()),
            aside: Batches::new(set_aside_schema()),
            counts: Counts::new(),
            seq,
        }
    }

    /// Judges all that a record says.
    pub(super) fn record(&mut self, record: &Record, origin: Origin<'_>) {
        if let Some(fault) = &record.fault {
            *self.counts.entry(UNREADABLE_RECORDS).or_default() += 1;
            let place = self.place(record, origin);
            let why = fault.into();
            let at = place.stand(UNREADABLE_RECORDS, place.record_hash());
            self.keys.push(&keys::of_aside(at, None, None));
            self.aside.push(&place.record_aside(&why));
        }
        for row in &record.rows {
            self.row(record, row, origin);
        }
    }

    /// Judges one row of a record.
    pub(super) fn row(&mut self, record: &Record, row: &SourceRow, origin: Origin<'_>) {
        let table = row.table.name;
        *self.counts.entry(table).or_default() += 1;
        let place = self.place(record, origin);
        let at = place.stand(table, place.hash(row));
        match self.judge.row(row) {
            Ok(accepted) => {
                self.keys.push(&keys::of_accepted(at, &accepted));
                let rows = self
                    .tables
                    .entry(table)
                    .or_insert_with(|| Batches::new(schema_of(table)));
                rows.push(&place.row(accepted));
            }
            Err(why) => {
                self.keys
                    .push(&keys::of_aside(at, results::row_id(row), results::specimen(row)));
                self.aside.push(&place.aside(row, self.judge.event(row).as_ref(), &why));
            }
        }
    }

    /// The rows judged.
    ///
    /// # Errors
    /// Only when Arrow refuses the columns, which would be a fault of a schema.
    pub(super) fn finish(mut self) -> Result<Judged, IntakeError> {
        let taken =
            |table: &'static str, rows: &mut Batches| rows.take().map_err(|source| IntakeError::Rows { table, source });
        let tables = self.tables.iter_mut();
        let tables = tables.map(|(table, rows)| Ok((*table, taken(table, rows)?)));
        Ok(Judged {
            tables: tables.collect::<Result<_, IntakeError>>()?,
            keys: taken(keys::TABLE, &mut self.keys)?,
            aside: taken("set_aside", &mut self.aside)?,
            counts: self.counts,
        })
    }

    fn place<'r>(&mut self, record: &'r Record, origin: Origin<'r>) -> Place<'r> {
        self.seq += 1;
        Place {
            load: origin.load,
            seq: self.seq,
            file: origin.file,
            form: origin.form,
            header_text: origin.header_text,
            record,
        }
    }
}
