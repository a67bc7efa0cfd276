//! Where a row was read, and the row as it is stored: accepted or set aside.

use sha2::{Digest, Sha256};

use crate::extracts::record::{Record, SourceRow};
use crate::warehouse::tables::UNREADABLE_RECORDS;

use super::field::Field;
use super::judge::{Accepted, days_since_epoch, month_of};
use super::keys::{RowHash, Stand};
use super::reason::SetAside;
use super::results;
use super::time::Moment;

/// Where a row was read.
pub struct Place<'a> {
    /// Number of the load.
    pub load: i64,
    /// Its place within the load.
    pub seq: i64,
    /// The file.
    pub file: &'a str,
    /// How the file was read: what it takes to read the row again.
    pub form: &'a str,
    /// The file's header line; empty when it has none.
    pub header_text: &'a str,
    /// The record that held the row.
    pub record: &'a Record,
}

impl<'a> Place<'a> {
    /// The accepted row's own fields, then those every stored row carries.
    pub fn row(&self, accepted: Accepted<'a>) -> Vec<Field<'a>> {
        let maybe_text = |text: Option<String>| text.map_or(Field::Null, Field::text);
        let mut row = accepted.fields;
        row.extend([
            Field::text(accepted.row_id),
            accepted.infant_id.map_or(Field::Null, Field::text),
            Field::int(accepted.event_s),
            maybe_text(accepted.local_month),
            Field::int(accepted.until_s),
            maybe_text(accepted.until_month),
            Field::Int(accepted.version_rank),
            Field::int(accepted.version_s),
            if accepted.withdrawn {
                Field::text("withdrawn")
            } else {
                Field::Null
            },
            Field::int(accepted.recorded_s),
            maybe_text(accepted.said),
            Field::Int(self.load),
            Field::Int(self.seq),
            Field::text(self.file),
            Field::Int(self.record.line as i64),
        ]);
        row
    }

    /// The row set aside, as it is stored; `at` is its moment, where that could be read.
    pub fn aside<'r>(&'r self, source: &'r SourceRow, at: Option<&Moment>, why: &'r SetAside) -> Vec<Field<'r>> {
        let row_id = results::row_id(source).map_or(Field::Null, Field::text);
        let known = [
            Field::int(at.map(|m| m.at_s)),
            Field::int(at.map(|m| days_since_epoch(m.local.date()))),
            at.map_or(Field::Null, |m| Field::text(month_of(m.local.date()))),
            Field::text(source.value("meter_id")),
            Field::text(source.value("unit")),
        ];
        self.stored(source.table.name, row_id, why, known)
    }

    /// A record of which nothing can be read, as it is stored.
    pub fn record_aside<'r>(&'r self, why: &'r SetAside) -> Vec<Field<'r>> {
        self.stored(UNREADABLE_RECORDS, Field::Null, why, [const { Field::Null }; 5])
    }

    fn stored<'r>(
        &'r self,
        table: &'r str,
        row_id: Field<'r>,
        why: &'r SetAside,
        known: [Field<'r>; 5],
    ) -> Vec<Field<'r>> {
        let mut row = vec![
            Field::text(table),
            row_id,
            Field::text(why.column.as_str()),
            Field::text(why.cell.as_str()),
            Field::text(why.reason.word()),
            Field::text(why.remedy.as_str()),
            Field::text(self.record.text.as_str()),
            Field::text(self.header_text),
            Field::text(self.form),
        ];
        row.extend(known);
        row.extend([
            Field::Int(self.load),
            Field::Int(self.seq),
            Field::text(self.file),
            Field::Int(self.record.line as i64),
        ]);
        row
    }

    /// The place, as a key names it.
    pub(super) fn stand<'t>(&self, table: &'t str, hash: RowHash) -> Stand<'t> {
        Stand {
            table,
            hash,
            load: self.load,
            seq: self.seq,
        }
    }

    /// Same table and same cells, same hash: 128 bits of SHA-256. Of a row whose cells
    /// could not be read the text counts.
    pub(super) fn hash(&self, source: &SourceRow) -> RowHash {
        let mut hash = Sha256::new();
        hash.update(source.table.name);
        if source.is_part {
            hash.update([0x1d]);
        }
        if let Some(fault) = &source.fault {
            hash.update([0x1e]);
            hash.update(&self.record.text);
            hash.update([0x1e]);
            hash.update(&fault.column);
            hash.update(&fault.cell);
        }
        for cell in &source.cells {
            match cell {
                None if source.is_part => hash.update([0x1f, 0x00]),
                None => hash.update([0x1f]),
                Some(cell) => {
                    hash.update([0x1f]);
                    hash.update(cell.value.trim());
                }
            }
        }
        RowHash::of(&hash.finalize())
    }

    /// The same of a record of which nothing can be read.
    pub(super) fn record_hash(&self) -> RowHash {
        let mut hash = Sha256::new();
        hash.update(UNREADABLE_RECORDS);
        hash.update(&self.record.text);
        RowHash::of(&hash.finalize())
    }
}
