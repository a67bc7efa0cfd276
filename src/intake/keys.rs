//! The key of each row: the few columns that decide what becomes of it. Rows of all tables
//! are settled together on these; the rows themselves are not looked at.

use std::borrow::Cow;
use std::sync::Arc;

use arrow::datatypes::{DataType, Field as Column, Schema, SchemaRef};

use super::field::Field;
use super::judge::Accepted;
use super::results::Specimen;

/// The table of keys, kept by load.
pub(super) const TABLE: &str = "row_keys";

/// A column that keys did not have when the number of a specimen alone was the id of its results.
pub(super) const OF_RESULTS: &str = "says_analyte";

/// The hash of a row's cells: rows of a table with the same cells have the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct RowHash {
    high: i64,
    low: i64,
}

impl RowHash {
    /// Of the first 16 bytes of a digest.
    pub(super) fn of(digest: &[u8]) -> Self {
        let part = |from: usize| {
            let mut bytes = [0; 8];
            bytes.copy_from_slice(&digest[from..from + 8]);
            i64::from_be_bytes(bytes)
        };
        Self {
            high: part(0),
            low: part(8),
        }
    }
}

/// Where a row stands: its table, and its place in the load.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stand<'a> {
    pub table: &'a str,
    pub hash: RowHash,
    pub load: i64,
    pub seq: i64,
}

/// The key of an accepted row.
pub(super) fn of_accepted<'a>(at: Stand<'a>, row: &'a Accepted<'_>) -> Vec<Field<'a>> {
    let text = |text: Option<&'a str>| text.map_or(Field::Null, Field::text);
    let [number, says_analyte] = of_specimen(row.specimen);
    vec![
        Field::text(at.table),
        Field::Flag(false),
        Field::Int(at.hash.high),
        Field::Int(at.hash.low),
        Field::text(row.row_id.as_ref()),
        text(row.infant_id),
        Field::int(row.event_s),
        Field::int(row.day_s),
        Field::int(row.until_s),
        text(row.local_month.as_deref()),
        Field::Int(row.version_rank),
        Field::int(row.version_s),
        Field::int(row.recorded_s),
        Field::Flag(row.withdrawn),
        Field::Flag(row.said.is_some()),
        Field::Flag(row.says("born_at")),
        number,
        says_analyte,
        Field::Int(at.load),
        Field::Int(at.seq),
    ]
}

/// The key of a row that was set aside; of serum it is of the specimen.
pub(super) fn of_aside<'a>(
    at: Stand<'a>,
    row_id: Option<Cow<'a, str>>,
    specimen: Option<Specimen<'a>>,
) -> Vec<Field<'a>> {
    let id = row_id.map_or(Field::Null, Field::text);
    // A birth is of the baby it registers.
    let baby = if at.table == "births" { id.clone() } else { Field::Null };
    let mut row = vec![
        Field::text(at.table),
        Field::Flag(true),
        Field::Int(at.hash.high),
        Field::Int(at.hash.low),
        id,
        baby,
    ];
    row.extend([const { Field::Null }; 10]);
    row.extend(of_specimen(specimen));
    row.extend([Field::Int(at.load), Field::Int(at.seq)]);
    row
}

/// Its number, and whether the row says what was measured.
fn of_specimen(specimen: Option<Specimen<'_>>) -> [Field<'_>; 2] {
    specimen.map_or([Field::Null, Field::Null], |specimen| {
        [Field::text(specimen.number), Field::Flag(specimen.says_analyte)]
    })
}

/// The columns of a key.
pub(super) fn schema() -> SchemaRef {
    let columns = [
        ("table_name", DataType::Utf8),
        ("is_aside", DataType::Boolean),
        ("hash_high", DataType::Int64),
        ("hash_low", DataType::Int64),
        ("row_id", DataType::Utf8),
        ("of_infant_id", DataType::Utf8),
        ("event_s", DataType::Int64),
        ("day_s", DataType::Int64),
        ("until_s", DataType::Int64),
        ("local_month", DataType::Utf8),
        ("version_rank", DataType::Int32),
        ("version_s", DataType::Int64),
        ("recorded_s", DataType::Int64),
        ("is_withdrawal", DataType::Boolean),
        ("is_part", DataType::Boolean),
        ("says_birth", DataType::Boolean),
        ("specimen_number", DataType::Utf8),
        (OF_RESULTS, DataType::Boolean),
        ("load", DataType::Int64),
        ("seq", DataType::Int64),
    ];
    let fields = columns.into_iter().map(|(name, of)| Column::new(name, of, true));
    Arc::new(Schema::new(fields.collect::<Vec<_>>()))
}
