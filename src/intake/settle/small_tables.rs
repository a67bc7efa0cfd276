//! Small tables that a load settles besides the source tables: what it mended, what no table
//! took, what waits, its ledger, and the data ends.

use std::collections::BTreeMap;
use std::sync::Arc;

use arrow::array::{BooleanArray, Int64Array, RecordBatch, StringArray};
use arrow::compute::filter_record_batch;
use arrow::datatypes::{DataType, Field, Schema, SchemaRef};

use serde::Deserialize;

use crate::engine::next_batch;
use crate::intake::IntakeError;
use crate::intake::again::Mended;
use crate::intake::columns::{ints, texts};
use crate::intake::gather::TableSettled;
use crate::intake::ledger::{self, LedgerLine};
use crate::intake::stage::Staged;
use crate::queries::DataEnd;
use crate::queries::catalogue::intake;
use crate::warehouse::tables::held_schema;
use crate::warehouse::{TableEntry, read_stored};

use super::work::Work;

/// A row of `files_loaded`.
#[derive(Deserialize)]
struct FileLoaded {
    sha256: String,
}

impl Work<'_> {
    /// Stores which rows of earlier loads were taken in now.
    pub(super) fn store_mended(&mut self, mended: &[Mended]) -> Result<(), IntakeError> {
        let rows = Mended::rows(mended)?;
        self.append_rows("mended", &rows)
    }

    /// Stores the codes that no table wanted; that is news unless the file was loaded before.
    pub(super) async fn store_unmapped(&mut self, staged: &Staged) -> Result<(), IntakeError> {
        let site = self.site();
        let mut known: Vec<String> = Vec::new();
        if let Some(ledger) = site.carry_over("ledger")? {
            self.session.add_files("ledger", site.path(), &ledger)?;
            let loaded: Vec<FileLoaded> = self.session.rows(intake::files_loaded, &[]).await?;
            known = loaded.into_iter().map(|file| file.sha256).collect();
        }
        let is_new = |file: &str| {
            let of_file = staged.files.iter().filter(|f| f.path == file && !f.sha256.is_empty());
            of_file.into_iter().any(|f| !known.contains(&f.sha256))
        };
        let new = staged.unmapped.of_files(is_new);
        self.is_news |= !new.is_empty();
        let rows = new.rows()?;
        self.append_rows("unmapped_codes", &rows)
    }

    /// Appends rows of this load to a table kept by load.
    fn append_rows(&mut self, name: &str, rows: &RecordBatch) -> Result<(), IntakeError> {
        let site = self.site();
        let rows = by_load(rows, site.load(), name)?;
        let mut writer = site.table(name, &rows.schema(), Some("load"))?;
        if rows.num_rows() > 0 {
            writer.push(&rows)?;
        }
        let mut entry = writer.finish()?;
        if let Some(old) = site.carry_over(name)? {
            entry.files.splice(0..0, old.files);
        }
        self.add(name, &entry)
    }

    /// Stores the rows that wait for others: of the ids looked at anew, of all others as before.
    /// Gives how many there are of this load.
    pub(super) async fn store_held(&mut self, settled: &[TableSettled], is_part: bool) -> Result<u64, IntakeError> {
        let site = self.site();
        let schema = held_schema();
        let parts: Vec<TableEntry> = settled.iter().map(|of| of.held.clone()).collect();
        let looked_at = TableEntry::of_parts(parts).unwrap_or_default();
        let mut as_before = site.scratch_table("held_as_before", &schema)?;
        let before = site.before().zip(site.table_before("held")).filter(|_| is_part);
        for file in before.iter().flat_map(|(_, entry)| &entry.files) {
            let root = before.map_or(site.path(), |(before, _)| before.path());
            for batch in read_stored(&root.join(&file.path), "held", None)? {
                let batch = batch?;
                let (tables, loads, seqs) = (texts(&batch, "table_name"), ints(&batch, "load"), ints(&batch, "seq"));
                let is_kept = |row: usize| {
                    let place = (loads.value(row), seqs.value(row));
                    let of_table = settled.iter().find(|of| of.table.name == tables.value(row));
                    of_table.is_none_or(|of| !of.looked_at.contains(&place))
                };
                let kept: Vec<bool> = (0..batch.num_rows()).map(is_kept).collect();
                let kept = filter_record_batch(&batch, &BooleanArray::from(kept));
                as_before.push(&kept.map_err(|source| IntakeError::Rows { table: "held", source })?)?;
            }
        }
        let as_before = as_before.finish()?;
        let mut writer = site.table("held", &schema, None)?;
        let mut of_load = 0;
        if looked_at.rows() + as_before.rows() > 0 {
            let own = self.session.beside(&[]).await?;
            own.add_files("held_looked_at", &site.scratch(), &looked_at)?;
            own.add_files("held_as_before", &site.scratch(), &as_before)?;
            let mut rows = own.stream(intake::held_rows, &[]).await?;
            while let Some(batch) = next_batch(intake::held_rows.name, &mut rows).await? {
                of_load += ints(&batch, "load")
                    .iter()
                    .filter(|load| *load == Some(site.load()))
                    .count() as u64;
                writer.push(&batch)?;
            }
        }
        let entry = writer.finish()?;
        self.add("held", &entry)?;
        Ok(of_load)
    }

    pub(super) fn store_ledger(&mut self, loaded_at_s: i64, lines: &[LedgerLine]) -> Result<(), IntakeError> {
        let rows = ledger::rows(loaded_at_s, lines)?;
        self.append_rows("ledger", &rows)
    }

    pub(super) async fn old_data_ends(&self) -> Result<BTreeMap<String, i64>, IntakeError> {
        let Some(before) = self.building.site().before() else {
            return Ok(BTreeMap::new());
        };
        let Some(entry) = before.manifest().tables.get("data_ends") else {
            return Ok(BTreeMap::new());
        };
        self.session.add_files("data_ends", before.path(), entry)?;
        let ends: Vec<DataEnd> = self.session.rows(intake::data_ends, &[]).await?;
        Ok(ends.into_iter().map(|end| (end.table_name, end.through_s)).collect())
    }

    pub(super) fn store_data_ends(&mut self, data_ends: &BTreeMap<String, i64>) -> Result<(), IntakeError> {
        let names = StringArray::from_iter_values(data_ends.keys());
        let ends = Int64Array::from_iter_values(data_ends.values().copied());
        let rows = RecordBatch::try_new(ends_schema(), vec![Arc::new(names), Arc::new(ends)]);
        let rows = rows.map_err(|source| IntakeError::Rows {
            table: "data_ends",
            source,
        })?;
        let mut writer = self.building.site().table("data_ends", &rows.schema(), None)?;
        writer.push(&rows)?;
        let entry = writer.finish()?;
        self.add("data_ends", &entry)
    }
}

/// Columns of the data ends.
pub(super) fn ends_schema() -> SchemaRef {
    Arc::new(Schema::new(vec![
        Field::new("table_name", DataType::Utf8, true),
        Field::new("through_s", DataType::Int64, true),
    ]))
}

/// The rows with the number of their load, by which they are kept.
fn by_load(rows: &RecordBatch, load: i64, table: &str) -> Result<RecordBatch, IntakeError> {
    let mut fields: Vec<_> = rows.schema().fields().iter().cloned().collect();
    fields.push(Arc::new(Field::new("load", DataType::Int64, true)));
    let mut columns = rows.columns().to_vec();
    columns.push(Arc::new(Int64Array::from(vec![load; rows.num_rows()])));
    RecordBatch::try_new(Arc::new(Schema::new(fields)), columns).map_err(|source| IntakeError::Appended {
        table: table.to_owned(),
        source,
    })
}
