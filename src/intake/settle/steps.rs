//! Decides what became of rows, step by step: merges, then the birth register, which the
//! others refer to, then all others together.

use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::sync::Arc;

use arrow::array::{AsArray, BooleanArray, RecordBatch, StringArray};
use arrow::compute::filter_record_batch;
use arrow::datatypes::Int64Type;

use crate::engine::{Session, next_batch};
use crate::intake::columns::texts;
use crate::intake::gather::{Gathering, TableSettled};
use crate::intake::stage::Staged;
use crate::intake::{IntakeError, identities, keys};
use crate::queries::catalogue::intake;
use crate::queries::{Tasks, pour};
use crate::warehouse::tables::{SOURCE_TABLES, SourceTable};
use crate::warehouse::{Site, TableEntry, TableWriter, WarehouseError, read_stored};

use super::order::SettleOrder;
use super::small_tables::ends_schema;

/// The tables of a step.
pub(super) const STEPS: [&[&str]; 3] = [
    &["merges"],
    &["births"],
    &["screens", "serum", "phototherapy", "stays", "exchanges", "meter_checks"],
];

/// A load that is being settled.
pub(super) struct Steps<'a> {
    session: Session,
    site: Site,
    staged: &'a Staged,
    order: SettleOrder<'a>,
    /// Whether only ids of which something changed are looked at.
    is_part: bool,
    pub(super) repeats: Arc<HashSet<i64>>,
    identities: Arc<BTreeMap<String, String>>,
    /// Ids of babies whose identity has changed, then also those whose birth was looked at.
    changed_babies: Vec<String>,
    /// Births that were looked at, where only some were.
    affected_births: Option<TableEntry>,
}

impl<'a> Steps<'a> {
    /// The session must hold the protocol tables, and `data_ends` where there was a load before.
    /// Adds the keys of this load to the snapshot's, without those that repeat others.
    ///
    /// # Errors
    /// When a query or file fails.
    pub(super) async fn new(
        session: &Session,
        site: &Site,
        staged: &'a Staged,
        order: &SettleOrder<'a>,
    ) -> Result<(Self, TableEntry), IntakeError> {
        let is_ours = |entry: &TableEntry| entry.columns.iter().any(|column| column.name == keys::OF_RESULTS);
        if !site.table_before(keys::TABLE).is_none_or(is_ours) {
            return Err(IntakeError::EarlierKeys);
        }
        let before = site.carry_over(keys::TABLE)?;
        let rows = before.as_ref().map_or(0, TableEntry::rows) + staged.keys.rows();
        let own = match site.table_before("data_ends") {
            Some(_) => session.beside_for(rows, &["protocol_limits", "data_ends"]).await?,
            None => {
                let own = session.beside_for(rows, &["protocol_limits"]).await?;
                own.add_batches("data_ends", &ends_schema(), Vec::new())?;
                own
            }
        };
        let steps = Self {
            session: own,
            site: site.clone(),
            staged,
            order: *order,
            is_part: site.before().is_some() && !order.is_whole,
            repeats: Arc::new(HashSet::new()),
            identities: Arc::new(BTreeMap::new()),
            changed_babies: Vec::new(),
            affected_births: None,
        };
        let repeats = steps.find_repeats(before.as_ref()).await?;
        let entry = steps.store_keys(before, &repeats)?;
        steps.session.add_files(keys::TABLE, site.path(), &entry)?;
        let unsaid = pour(&steps.session, intake::unsaid_results, &[], |rows| {
            site.scratch_table(intake::unsaid_results.name, &rows.schema())
        })
        .await?;
        steps
            .session
            .add_files(intake::unsaid_results.name, &site.scratch(), &unsaid)?;
        steps
            .session
            .add_view(intake::aside_keys.name, intake::aside_keys, &[])
            .await?;
        let steps = Self {
            repeats: Arc::new(repeats),
            ..steps
        };
        Ok((steps, entry))
    }

    async fn find_repeats(&self, before: Option<&TableEntry>) -> Result<HashSet<i64>, IntakeError> {
        let mut repeats = HashSet::new();
        let staged = &self.staged.keys;
        if staged.rows() == 0 {
            return Ok(repeats);
        }
        self.session.add_files("staged_keys", &self.site.scratch(), staged)?;
        match before {
            Some(entry) => self.session.add_files("keys_before", self.site.path(), entry)?,
            None => self.session.add_batches("keys_before", &keys::schema(), Vec::new())?,
        }
        let slices = staged.rows().div_ceil(self.order.slice_rows.max(1) * 8).max(1);
        for slice in 0..slices {
            let which = [("slice", (slice as i64).into()), ("slices", (slices as i64).into())];
            let mut rows = self.session.stream(intake::repeats, &which).await?;
            while let Some(batch) = next_batch(intake::repeats.name, &mut rows).await? {
                repeats.extend(batch.column(0).as_primitive::<Int64Type>().iter().flatten());
            }
        }
        Ok(repeats)
    }

    /// Stores the keys of this load's rows, but for those that repeat others.
    fn store_keys(&self, before: Option<TableEntry>, repeats: &HashSet<i64>) -> Result<TableEntry, IntakeError> {
        let mut writer = self.site.table(keys::TABLE, &keys::schema(), Some("load"))?;
        for file in &self.staged.keys.files {
            for batch in read_stored(&self.site.scratch().join(&file.path), keys::TABLE, None)? {
                push_new(&mut writer, &batch?, repeats)?;
            }
        }
        let mut entry = writer.finish()?;
        if let Some(before) = before {
            entry.files.splice(0..0, before.files);
        }
        Ok(entry)
    }

    /// Settles the tables of a step.
    ///
    /// # Errors
    /// When a query or file fails, or merges run in a circle.
    pub(super) async fn settle(&mut self, step: &[&'static str]) -> Result<Vec<TableSettled>, IntakeError> {
        let fates = match self.has_rows(step) {
            true => self.fates(step).await?,
            false => BTreeMap::new(),
        };
        let mut tasks = Tasks::new();
        for table in SOURCE_TABLES.iter().filter(|table| step.contains(&table.name)) {
            let gathering = self.gathering(table, fates.get(table.name).cloned());
            tasks.spawn(async move {
                let run = tokio::task::spawn_blocking(move || gathering.run());
                match run.await {
                    Ok(settled) => settled,
                    Err(error) => std::panic::resume_unwind(error.into_panic()),
                }
            });
        }
        let settled = tasks.all().await?;
        match step {
            ["merges"] => self.resolve(&settled)?,
            ["births"] => self.show_births(&fates).await?,
            _ => {}
        }
        Ok(settled)
    }

    /// Whether any row of the tables was ever accepted, or comes now.
    fn has_rows(&self, step: &[&str]) -> bool {
        step.iter().any(|table| {
            let old = self.site.table_before(&format!("versions_{table}"));
            old.is_some_and(|old| old.rows() > 0) || self.staged.tables.contains_key(table)
        })
    }

    fn gathering(&self, table: &'static SourceTable, fates: Option<TableEntry>) -> Gathering {
        Gathering {
            site: self.site.clone(),
            table,
            staged: self.staged.tables.get(table.name).cloned(),
            fates,
            repeats: self.repeats.clone(),
            identities: self.identities.clone(),
            loaded_at_s: self.order.loaded_at_s,
            is_whole: self.order.is_whole,
            at_a_time: self.order.slice_rows,
            threads: self.session.threads(),
        }
    }

    /// What became of the rows of each table, in the scratch folder.
    async fn fates(&mut self, step: &[&str]) -> Result<BTreeMap<String, TableEntry>, IntakeError> {
        let session = self.session.clone();
        let tables = StringArray::from(step.to_vec());
        let tables = RecordBatch::try_from_iter([("table_name", Arc::new(tables) as _)]).map_err(of_keys)?;
        session.add_batches("tables_of_step", &tables.schema(), vec![tables.clone()])?;
        let pairs = identities::batch(&self.identities)?;
        session.add_batches("identities", &pairs.schema(), vec![pairs.clone()])?;
        if !matches!(step, [.., "meter_checks"]) {
            // Neither merges nor births are of a baby of the register.
            session.add_batches("births_known", &identities::births_schema(), Vec::new())?;
        }
        if self.is_part {
            session.add_view("standing_keys", intake::standing_keys, &[]).await?;
            let changed = identities::ids("infant_id", &self.changed_babies)?;
            session.add_batches("changed_babies", &changed.schema(), vec![changed.clone()])?;
            let load = [("load", self.site.load().into())];
            let entry = pour(&session, intake::affected_ids, &load, |rows| {
                self.site
                    .scratch_table(&format!("affected_{}", step[0]), &rows.schema())
            })
            .await?;
            session.add_files("affected_ids", &self.site.scratch(), &entry)?;
            if step == ["births"] {
                session.add_files("affected_births", &self.site.scratch(), &entry)?;
                self.affected_births = Some(entry);
            }
            session.add_view("keys_looked_at", intake::affected_keys, &[]).await?;
        } else {
            session.add_view("keys_looked_at", intake::standing_keys, &[]).await?;
        }
        let placed = pour(&session, intake::placed_keys, &[], |rows| {
            self.site.scratch_table(&format!("placed_{}", step[0]), &rows.schema())
        })
        .await?;
        session.add_files(intake::placed_keys.name, &self.site.scratch(), &placed)?;
        let mut rows = session.stream(intake::fates, &[]).await?;
        let mut found: BTreeMap<String, TableEntry> = BTreeMap::new();
        let mut open: Option<(String, TableWriter)> = None;
        while let Some(batch) = next_batch(intake::fates.name, &mut rows).await? {
            for (table, part) in by_table(&batch)? {
                let is_open = open.as_ref().is_some_and(|(name, _)| *name == table);
                if !is_open {
                    if let Some((name, writer)) = open.take() {
                        found.insert(name, writer.finish()?);
                    }
                    let writer = self.site.scratch_table(&format!("fates_{table}"), &part.schema())?;
                    open = Some((table, writer));
                }
                if let Some((_, writer)) = &mut open {
                    writer.push(&part)?;
                }
            }
        }
        if let Some((name, writer)) = open {
            found.insert(name, writer.finish()?);
        }
        Ok(found)
    }

    /// Which id of a baby stands, by the merges, and of which that has changed in this load.
    fn resolve(&mut self, settled: &[TableSettled]) -> Result<(), IntakeError> {
        let now = settled.iter().find(|of| of.table.name == "merges");
        let new = match now {
            Some(of) => identities::merges(self.site.path(), &of.live)?,
            None => BTreeMap::new(),
        };
        let old = match (self.site.before(), self.site.table_before("merges")) {
            (Some(before), Some(entry)) => identities::merges(before.path(), entry)?,
            _ => BTreeMap::new(),
        };
        self.changed_babies = identities::changed(&old, &new)?;
        self.identities = Arc::new(identities::resolved(&new)?);
        Ok(())
    }

    /// Makes known what the register says, as far as other rows depend on it.
    async fn show_births(&mut self, fates: &BTreeMap<String, TableEntry>) -> Result<(), IntakeError> {
        let (session, scratch) = (&self.session, self.site.scratch());
        let schema = identities::births_schema();
        let before = self.site.before().zip(self.site.table_before("births"));
        let before_name = if fates.contains_key("births") {
            "births_before"
        } else {
            "births_known"
        };
        match before.filter(|_| self.is_part) {
            Some((before, entry)) => session.add_files(before_name, before.path(), entry)?,
            None => session.add_batches(before_name, &schema, Vec::new())?,
        }
        let Some(entry) = fates.get("births") else {
            return Ok(());
        };
        session.add_files("birth_fates", &scratch, entry)?;
        match &self.affected_births {
            Some(entry) => {
                let mut changed = BTreeSet::from_iter(self.changed_babies.drain(..));
                for file in &entry.files {
                    for batch in read_stored(&scratch.join(&file.path), "affected_births", None)? {
                        changed.extend(texts(&batch?, "stands_for").iter().flatten().map(str::to_owned));
                    }
                }
                self.changed_babies.extend(changed);
            }
            None => {
                let none = identities::ids("stands_for", &[])?;
                session.add_batches("affected_births", &none.schema(), Vec::new())?;
            }
        }
        Ok(session.add_view("births_known", intake::births_known, &[]).await?)
    }
}

/// The rows of a batch that do not repeat others.
pub(super) fn push_new(
    writer: &mut TableWriter,
    batch: &RecordBatch,
    repeats: &HashSet<i64>,
) -> Result<(), IntakeError> {
    if repeats.is_empty() {
        return Ok(writer.push(batch)?);
    }
    let seqs = batch["seq"].as_primitive::<Int64Type>().iter();
    let is_new: BooleanArray = seqs.map(|seq| seq.map(|seq| !repeats.contains(&seq))).collect();
    let new = filter_record_batch(batch, &is_new).map_err(of_keys)?;
    Ok(writer.push(&new)?)
}

fn of_keys(source: arrow::error::ArrowError) -> IntakeError {
    IntakeError::Warehouse(WarehouseError::Arrow {
        table: keys::TABLE.to_owned(),
        source,
    })
}

/// The parts of a batch that are of one table each, which stand together.
fn by_table(batch: &RecordBatch) -> Result<Vec<(String, RecordBatch)>, WarehouseError> {
    let names = arrow::compute::cast(&batch["table_name"], &arrow::datatypes::DataType::Utf8);
    let names = names.map_err(|source| WarehouseError::Arrow {
        table: intake::fates.name.to_owned(),
        source,
    })?;
    let names = names.as_string::<i32>();
    let mut parts = Vec::new();
    let mut from = 0;
    while from < batch.num_rows() {
        let name = names.value(from);
        let to = (from..batch.num_rows())
            .find(|row| names.value(*row) != name)
            .unwrap_or(batch.num_rows());
        parts.push((name.to_owned(), batch.slice(from, to - from)));
        from = to;
    }
    Ok(parts)
}
