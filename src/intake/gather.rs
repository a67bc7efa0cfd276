//! Gathers the rows of one table once it is known what became of each: new ones go into the
//! table of versions, those that stand into their months, those that wait are put down.
//!
//! Rows are read once, in the order in which they were loaded, beside their fates in the same
//! order; so nothing is looked up and memory does not grow with the table.

use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::sync::Arc;

use arrow::array::{ArrayRef, AsArray, BooleanArray, Int64Array, RecordBatch, StringArray, UInt32Array};
use arrow::compute::take_record_batch;
use arrow::datatypes::{DataType, Field, Schema, SchemaRef};
use arrow::error::ArrowError;

use crate::warehouse::tables::{SourceTable, held_schema};
use crate::warehouse::{ByMonth, ScratchRows, Site, TableEntry, TableWriter, WarehouseError, read_stored};

use super::IntakeError;
use super::columns::{ints, texts};
use super::fates::{Fate, Fates, OfVersion};
use super::held;
use super::ledger::FateCounts;
use super::parts::Parts;

/// The order of live rows within their month.
pub(super) const LIVE_ORDER: [&str; 3] = ["of_infant_id", "event_s", "row_id"];

/// What settling one table came to.
pub(super) struct TableSettled {
    /// Which table.
    pub(super) table: &'static SourceTable,
    /// Every row ever accepted.
    pub(super) versions: TableEntry,
    /// The rows that stand.
    pub(super) live: TableEntry,
    /// Rows that wait for others, in the scratch folder.
    pub(super) held: TableEntry,
    /// Versions that were looked at, where only some were.
    pub(super) looked_at: HashSet<(i64, i64)>,
    /// Fates of this load's rows.
    pub(super) counts: FateCounts,
    /// Latest event, of those looked at, not after the load.
    pub(super) latest_s: Option<i64>,
    /// Babies of whom a live row has changed.
    pub(super) touched: BTreeSet<String>,
}

/// What one table is gathered from.
pub(super) struct Gathering {
    /// Where the snapshot is built.
    pub(super) site: Site,
    /// Which table.
    pub(super) table: &'static SourceTable,
    /// Rows of this load, in the scratch folder.
    pub(super) staged: Option<ScratchRows>,
    /// What became of each version that is looked at, in the scratch folder.
    pub(super) fates: Option<TableEntry>,
    /// Rows of this load that were loaded before.
    pub(super) repeats: Arc<HashSet<i64>>,
    /// The id that stands for each id that was merged.
    pub(super) identities: Arc<BTreeMap<String, String>>,
    /// When the load happens, epoch seconds.
    pub(super) loaded_at_s: i64,
    /// Whether all versions are looked at, not only those of ids of which something changed.
    pub(super) is_whole: bool,
    /// Rows that are put together at a time, about.
    pub(super) at_a_time: u64,
    /// Months that are written at a time.
    pub(super) threads: usize,
}

impl Gathering {
    /// Gathers the table.
    ///
    /// # Errors
    /// When a file cannot be read or written.
    pub(super) fn run(self) -> Result<TableSettled, IntakeError> {
        let name = self.table.name;
        let schema = self.table.schema();
        let versions_name = format!("versions_{name}");
        let old = self.site.carry_over(&versions_name)?;
        let before = self.site.table_before(name).filter(|_| !self.is_whole).cloned();
        let looked_at_rows = self.fates.as_ref().map_or(0, TableEntry::rows);
        let mut work = Work {
            live: self.site.by_month(name, &live_schema(&schema), &LIVE_ORDER),
            parts: Some(Parts::new(
                &self.site,
                self.table,
                &schema,
                looked_at_rows.div_ceil(self.at_a_time.max(1)),
            )),
            held: self.site.scratch_table(&format!("held_{name}"), &held_schema())?,
            versions: self.site.table(&versions_name, &schema, Some("load"))?,
            keeps_looked_at: before.is_some(),
            found: 0,
            new_rows: 0,
            looked_at: HashSet::new(),
            months: BTreeSet::new(),
            counts: FateCounts::default(),
            latest_s: None,
            touched: BTreeSet::new(),
            schema,
            order: &self,
        };
        work.read_all(old.as_ref())?;
        work.finish(old, before)
    }
}

struct Work<'a> {
    order: &'a Gathering,
    schema: SchemaRef,
    versions: TableWriter,
    live: ByMonth,
    parts: Option<Parts>,
    held: TableWriter,
    keeps_looked_at: bool,
    /// Versions that met their fate.
    found: u64,
    /// Those of this load.
    new_rows: u64,
    looked_at: HashSet<(i64, i64)>,
    months: BTreeSet<String>,
    counts: FateCounts,
    latest_s: Option<i64>,
    touched: BTreeSet<String>,
}

impl Work<'_> {
    fn read_all(&mut self, old: Option<&TableEntry>) -> Result<(), IntakeError> {
        let (site, order) = (&self.order.site, self.order);
        let Some(entry) = &order.fates else {
            return self.only_repeats();
        };
        let mut fates = Fates::read(&site.scratch(), entry)?;
        for file in old.iter().flat_map(|old| &old.files) {
            let load = file.load().unwrap_or_default();
            if fates.next_load() != Some(load) {
                continue;
            }
            for batch in read_stored(&site.path().join(&file.path), order.table.name, None)? {
                let batch = with_load(&batch?, &self.schema, load).map_err(|e| self.arrow(e))?;
                self.rows(&batch, load, &mut fates)?;
            }
        }
        for batch in staged_rows(order)? {
            let batch = batch?;
            let new = self.rows(&batch, site.load(), &mut fates)?;
            self.new_rows += new.len() as u64;
            if new.len() == batch.num_rows() {
                self.versions.push(&batch)?;
            } else if !new.is_empty() {
                let new = take_record_batch(&batch, &UInt32Array::from(new)).map_err(|e| self.arrow(e))?;
                self.versions.push(&new)?;
            }
        }
        self.found = fates.found();
        self.are_together(entry.rows())
    }

    /// Refuses to go on when so many rows do not all have a fate: rows that were lost sight of
    /// would be in no table.
    fn are_together(&self, rows: u64) -> Result<(), IntakeError> {
        match self.found == rows {
            true => Ok(()),
            false => Err(IntakeError::KeysAstray {
                table: self.order.table.name,
                rows,
                keys: self.found,
            }),
        }
    }

    /// Counts the rows of this load where all of them were loaded before.
    fn only_repeats(&mut self) -> Result<(), IntakeError> {
        for batch in staged_rows(self.order)? {
            let batch = batch?;
            let seqs = ints(&batch, "seq");
            let files = texts(&batch, "file");
            for row in 0..batch.num_rows() {
                self.repeat(seqs.value(row), files.value(row));
            }
        }
        Ok(())
    }

    fn repeat(&mut self, seq: i64, file: &str) {
        // A row without a fate that repeats none is counted nowhere, so that the balance fails.
        if self.order.repeats.contains(&seq) {
            self.counts.add(file, self.order.table.name, "duplicate", 1);
        }
    }

    /// Puts each row of a batch where it belongs; gives the places of those that have a fate.
    fn rows(&mut self, batch: &RecordBatch, load: i64, fates: &mut Fates) -> Result<Vec<u32>, IntakeError> {
        let seqs = ints(batch, "seq");
        let files = texts(batch, "file");
        let is_own = load == self.order.site.load();
        let (mut found, mut kept, mut refused) = (Vec::new(), Vec::new(), Vec::new());
        let mut waiting: Vec<(u32, Fate)> = Vec::new();
        let mut in_parts: Vec<(u32, OfVersion)> = Vec::new();
        for row in 0..batch.num_rows() {
            let seq = seqs.value(row);
            let Some(version) = fates.of(load, seq)? else {
                if is_own {
                    self.repeat(seq, files.value(row));
                }
                continue;
            };
            let place = row as u32;
            found.push(place);
            if is_own {
                let counted_as = version.fate.counted_as();
                self.counts.add(files.value(row), self.order.table.name, counted_as, 1);
            }
            if self.keeps_looked_at {
                self.looked_at.insert((load, seq));
                if let Some(month) = version.month.as_ref().filter(|month| !self.months.contains(*month)) {
                    self.months.insert(month.clone());
                }
            }
            match version.fate {
                Fate::Kept | Fate::Superseded if version.is_in_parts => in_parts.push((place, version)),
                Fate::Kept => {
                    kept.push(place);
                    refused.push(version.is_refused_later);
                }
                Fate::Superseded | Fate::Withdrawn => {}
                fate => waiting.push((place, fate)),
            }
        }
        if !kept.is_empty() {
            let rows = take_record_batch(batch, &UInt32Array::from(kept)).map_err(|e| self.arrow(e))?;
            self.stands(&rows, BooleanArray::from(refused))?;
        }
        if let Some(parts) = self.parts.as_mut().filter(|_| !in_parts.is_empty()) {
            parts.push(batch, &in_parts)?;
        }
        if !waiting.is_empty() {
            let rows = held::rows(batch, self.order.table.name, &waiting).map_err(|e| self.arrow(e))?;
            self.held.push(&rows)?;
        }
        Ok(found)
    }

    /// Adds rows that stand to their months.
    fn stands(&mut self, rows: &RecordBatch, refused: BooleanArray) -> Result<(), IntakeError> {
        let schema = live_schema(&self.schema);
        let mut columns = rows.columns().to_vec();
        if !self.order.identities.is_empty() {
            let ids: &[&str] = match self.order.table.name {
                "births" => &["infant_id", "of_infant_id", "row_id"],
                _ => &["infant_id", "of_infant_id"],
            };
            for name in ids {
                if let Ok(place) = rows.schema().index_of(name) {
                    columns[place] = self.identified(&columns[place]);
                }
            }
        }
        let month = self.schema.index_of("local_month").map_err(|e| self.arrow(e))?;
        columns.push(Arc::new(refused));
        columns.push(columns[month].clone());
        let rows = RecordBatch::try_new(schema, columns).map_err(|e| self.arrow(e))?;
        for column in ["event_s", "until_s"] {
            let moments = ints(&rows, column).iter().flatten();
            let latest = moments.filter(|at_s| *at_s <= self.order.loaded_at_s).max();
            self.latest_s = self.latest_s.max(latest);
        }
        if self.keeps_looked_at {
            touch(&mut self.touched, texts(&rows, "of_infant_id").iter());
        }
        Ok(self.live.push(&rows)?)
    }

    /// The ids that stand.
    fn identified(&self, ids: &ArrayRef) -> ArrayRef {
        let stands = |id: &str| self.order.identities.get(id).cloned().unwrap_or_else(|| id.to_owned());
        let ids = ids.as_string::<i32>().iter().map(|id| id.map(stands));
        Arc::new(StringArray::from_iter(ids))
    }

    fn finish(mut self, old: Option<TableEntry>, before: Option<TableEntry>) -> Result<TableSettled, IntakeError> {
        if let Some(parts) = self.parts.take() {
            parts.put_together(|rows, refused| self.stands(&rows, refused))?;
        }
        let order = self.order;
        let old_rows = old.as_ref().map_or(0, TableEntry::rows);
        if before.is_none() {
            // All versions were looked at.
            self.are_together(old_rows + self.new_rows)?;
        }
        let mut versions = self.versions.finish()?;
        if let Some(old) = old {
            versions.files.splice(0..0, old.files);
        }
        self.months.extend(self.live.months().map(str::to_owned));
        let (looked_at, touched) = (&self.looked_at, &mut self.touched);
        if let Some(before) = &before {
            self.live.push_before(before, &self.months, |rows| {
                let (loads, seqs) = (ints(rows, "load"), ints(rows, "seq"));
                let is_kept = |i: usize| !looked_at.contains(&(loads.value(i), seqs.value(i)));
                let kept: Vec<bool> = (0..rows.num_rows()).map(is_kept).collect();
                let babies = texts(rows, "of_infant_id");
                touch(touched, babies.iter().zip(&kept).map(|(id, kept)| id.filter(|_| !kept)));
                Ok(BooleanArray::from(kept))
            })?;
        }
        let mut live = self.live.finish(order.threads)?;
        if before.is_some() {
            let name = order.table.name;
            live.take_in(
                order
                    .site
                    .carry_over_months(name, |month| !self.months.contains(month))?,
            );
        }
        Ok(TableSettled {
            table: order.table,
            versions,
            live,
            held: self.held.finish()?,
            looked_at: self.looked_at,
            counts: self.counts,
            latest_s: self.latest_s,
            touched: self.touched,
        })
    }

    fn arrow(&self, source: ArrowError) -> IntakeError {
        IntakeError::Rows {
            table: self.order.table.name,
            source,
        }
    }
}

/// The rows of this load, where there are any.
fn staged_rows(
    order: &Gathering,
) -> Result<impl Iterator<Item = Result<RecordBatch, WarehouseError>> + use<>, WarehouseError> {
    let rows = order.staged.as_ref().map(ScratchRows::read).transpose()?;
    Ok(rows.into_iter().flatten())
}

fn touch<'i>(touched: &mut BTreeSet<String>, ids: impl Iterator<Item = Option<&'i str>>) {
    for id in ids.flatten() {
        if !touched.contains(id) {
            touched.insert(id.to_owned());
        }
    }
}

/// The columns of a live row: those of a version, and two more.
fn live_schema(schema: &SchemaRef) -> SchemaRef {
    let mut fields: Vec<Arc<Field>> = schema.fields().iter().cloned().collect();
    fields.push(Arc::new(Field::new("newer_version_set_aside", DataType::Boolean, true)));
    fields.push(Arc::new(Field::new("month", DataType::Utf8, true)));
    Arc::new(Schema::new(fields))
}

/// Stored versions with the number of their load, which stands in the path only.
fn with_load(batch: &RecordBatch, schema: &SchemaRef, load: i64) -> Result<RecordBatch, ArrowError> {
    let mut columns = batch.columns().to_vec();
    let loads: ArrayRef = Arc::new(Int64Array::from(vec![load; batch.num_rows()]));
    columns.insert(schema.index_of("load")?, loads);
    RecordBatch::try_new(schema.clone(), columns)
}
