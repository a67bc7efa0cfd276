//! Decides what became of each row, table by table, the birth register first.
//!
//! ```text
//! staged ── not loaded before ──▶ versions_<table>/load=N   every row ever accepted
//! versions ── fates ──▶ <table>/month=YYYY-MM               the last version of each id
//!                   └─▶ held                                rows of unknown babies
//! ```

mod small_tables;

use std::collections::BTreeMap;

use arrow::array::RecordBatch;

use crate::engine::values::Cells;
use crate::engine::{EngineError, Session, next_batch};
use crate::queries::{QueryError, Tasks, catalogue, side_by_side};
use crate::warehouse::tables::{SOURCE_TABLES, SourceTable, set_aside_schema};
use crate::warehouse::{Building, Site, TableEntry};

use super::IntakeError;
use super::again::Mended;
use super::identities;
use super::ledger::{self, FateCounts, LedgerLine};
use super::of_table::{LoadTerms, TableSettled, append, cells, settle_table, show};
use super::reason::Reason;
use super::stage::Staged;

/// Through when the user says the data is complete.
#[derive(Clone, Debug, Default)]
pub struct Through {
    /// For every table that has a file in this load; never moves a table back.
    pub all: Option<i64>,
    /// For one table, by name; as it is said, also back.
    pub tables: BTreeMap<String, i64>,
}

/// Rows set aside or held that are told one by one.
const MOST_ROWS_TOLD: usize = 20;

/// What a load did.
#[derive(Clone, Debug)]
pub struct Settled {
    /// What became of each file's rows.
    pub lines: Vec<LedgerLine>,
    /// Rows set aside by reason, this load.
    pub set_aside: Vec<(String, u64)>,
    /// The first rows of this load that were set aside or are held.
    pub to_mend: Vec<RowToMend>,
    /// How many more there are.
    pub more_to_mend: u64,
    /// Whether anything is there that was not there before.
    pub is_news: bool,
    /// Data end of each table, epoch seconds.
    pub data_ends: BTreeMap<String, i64>,
    /// The earliest data end of any table, before this load or after it.
    pub earliest_end_s: Option<i64>,
    /// Babies of whom a live row has changed, in the scratch folder; `None` when all were looked at.
    pub touched: Option<TableEntry>,
}

/// A row that is in no table, and what to do about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RowToMend {
    /// The load that brought it.
    pub load: i64,
    /// The table it was meant for.
    pub table: String,
    /// Where it was read.
    pub file: String,
    /// Its line, counted from 1.
    pub line: i64,
    /// Why.
    pub reason: String,
    /// The column at fault; empty when it is the whole row.
    pub column: String,
    /// What to do.
    pub remedy: String,
}

/// The rows of one batch of the listing `rows_to_mend`.
pub fn rows_to_mend(batch: RecordBatch) -> Vec<RowToMend> {
    let cells = Cells::new(vec![batch]);
    let columns = ["file", "table_name", "column_name", "reason", "remedy"].map(|name| cells.texts(name));
    let text = |column: usize, i: usize| columns[column][i].clone().unwrap_or_default();
    let places = cells.ints("load").into_iter().zip(cells.ints("line")).enumerate();
    let row = |(i, (load, line)): (usize, (Option<i64>, Option<i64>))| RowToMend {
        load: load.unwrap_or(0),
        file: text(0, i),
        line: line.unwrap_or(0),
        table: text(1, i),
        column: text(2, i),
        reason: text(3, i),
        remedy: text(4, i),
    };
    places.map(row).collect()
}

impl From<QueryError> for IntakeError {
    fn from(error: QueryError) -> Self {
        match error {
            QueryError::Warehouse(error) => Self::Warehouse(error),
            QueryError::Engine(error) => Self::Engine(error),
            QueryError::Shape { measure, why } => Self::Engine(EngineError {
                what: measure,
                source: Box::new(datafusion::error::DataFusionError::Execution(why)),
            }),
        }
    }
}

/// Settles a load: fills the snapshot being built with source tables, versions,
/// rows set aside and held, ledger and data ends, and makes all known to `session`.
///
/// The session must already hold the protocol tables. After merges and the birth
/// register, which the others refer to, all tables are settled side by side. `mended`
/// are rows set aside by earlier loads that are among the staged rows now.
///
/// # Errors
/// When a query or file fails, or the ledger does not balance.
pub async fn settle(
    session: &Session,
    building: &mut Building,
    staged: &Staged,
    mended: &[Mended],
    order: &SettleOrder<'_>,
) -> Result<Settled, IntakeError> {
    let mut work = Work {
        session,
        building,
        counts: FateCounts::default(),
        is_news: !mended.is_empty(),
        touched: None,
    };
    let terms = LoadTerms {
        loaded_at_s: order.loaded_at_s,
        is_whole: order.is_whole,
        slice_rows: order.slice_rows,
    };
    let through = order.through;
    let set_aside = work.set_aside(&staged.set_aside).await?;
    work.store_mended(mended)?;
    work.store_unmapped(staged).await?;
    let mut data_ends = work.old_data_ends().await?;
    let before = data_ends.clone();
    let mut settled = vec![
        work.first("merges", staged, terms).await?,
        work.first("births", staged, terms).await?,
    ];
    let others = || SOURCE_TABLES.iter().filter(|t| !FIRST.contains(&t.name));
    let rows: u64 = staged.tables.values().map(TableEntry::rows).sum();
    let all: Vec<&'static SourceTable> = others().collect();
    for some in all.chunks(side_by_side(rows)) {
        let mut tasks = Tasks::new();
        for table in some {
            let own = session.beside(&SEEN_BY_ALL).await?;
            let staged = staged.tables.get(table.name).cloned();
            tasks.spawn(settle_table(own, work.site(), table, staged, terms));
        }
        for of_table in tasks.all().await? {
            work.keep(&of_table)?;
            settled.push(of_table);
        }
    }
    settled.sort_by_key(|of| SOURCE_TABLES.iter().position(|table| table.name == of.table.name));
    for of_table in &settled {
        let name = of_table.table.name;
        let has_file = staged.files.iter().any(|f| f.table == name && !f.sha256.is_empty());
        let old = data_ends.get(name).copied();
        let of_load = through.all.or(of_table.latest_s).filter(|_| has_file);
        if let Some(end_s) = through.tables.get(name).copied().or(old.max(of_load)) {
            data_ends.insert(name.to_owned(), end_s);
        }
    }
    work.store_held(&settled).await?;
    work.put_touched_together(&settled);
    let lines = ledger::balanced(&staged.files, &work.counts)?;
    work.store_ledger(order.loaded_at_s, &lines)?;
    let (to_mend, more_to_mend) = work.to_mend().await?;
    work.store_data_ends(&data_ends)?;
    Ok(Settled {
        lines,
        set_aside,
        to_mend,
        more_to_mend,
        is_news: work.is_news || data_ends != before,
        earliest_end_s: data_ends.values().chain(before.values()).min().copied(),
        touched: work.touched,
        data_ends,
    })
}

/// How to settle.
#[derive(Clone, Copy, Debug)]
pub struct SettleOrder<'a> {
    /// When the load happens, epoch seconds.
    pub loaded_at_s: i64,
    /// Through when its tables are complete.
    pub through: &'a Through,
    /// Look at all rows, also at those of which nothing has changed.
    pub is_whole: bool,
    /// Versions of a table that are settled at a time, about.
    pub slice_rows: u64,
}

/// What settling a table reads besides the table.
const SEEN_BY_ALL: [&str; 5] = ["protocol_limits", "set_aside", "births", "identities", "changed_babies"];

/// Tables that all others refer to, in the order in which they are settled.
const FIRST: [&str; 2] = ["merges", "births"];

struct Work<'a> {
    session: &'a Session,
    building: &'a mut Building,
    counts: FateCounts,
    is_news: bool,
    touched: Option<TableEntry>,
}

impl Work<'_> {
    fn site(&self) -> Site {
        self.building.site().clone()
    }

    /// Adds a finished table to the snapshot and makes it known.
    fn add(&mut self, name: &str, entry: &TableEntry) -> Result<(), IntakeError> {
        self.building.add(name, entry.clone())?;
        Ok(self.session.add_files(name, self.building.site().path(), entry)?)
    }

    /// Settles a table that others refer to.
    async fn first(&mut self, name: &str, staged: &Staged, terms: LoadTerms) -> Result<TableSettled, IntakeError> {
        let table = &SOURCE_TABLES[SOURCE_TABLES.iter().position(|t| t.name == name).unwrap_or(0)];
        let own = self.session.beside(&["protocol_limits", "set_aside"]).await?;
        // Neither refers to other rows of the birth register, and merges are not merged.
        own.add_batches("births", &SOURCE_TABLES[0].schema(), Vec::new())?;
        let (identities, changed) = match name {
            "births" => self.merged_babies().await?,
            _ => (identities::none()?, Vec::new()),
        };
        own.add_batches("identities", &identities.schema(), vec![identities.clone()])?;
        let changed_rows = identities::ids(&changed)?;
        own.add_batches("changed_babies", &changed_rows.schema(), vec![changed_rows.clone()])?;
        let staged = staged.tables.get(name).cloned();
        let settled = settle_table(own, self.site(), table, staged, terms).await?;
        self.keep(&settled)?;
        if name == "births" {
            let session = self.session;
            session.add_batches("identities", &identities.schema(), vec![identities])?;
            session.add_batches("changed_babies", &changed_rows.schema(), vec![changed_rows])?;
            if let Some(touched) = &settled.touched {
                self.add_changed(&changed, touched).await?;
            }
        }
        Ok(settled)
    }

    /// Makes known whose birth has changed, or whose identity.
    async fn add_changed(&self, identities_changed: &[String], touched: &TableEntry) -> Result<(), IntakeError> {
        let scratch = self.building.site().scratch();
        self.session.add_files("touched_babies", &scratch, touched)?;
        let births = cells(self.session, "touched_ids", &[]).await?.texts("infant_id");
        let mut all: Vec<String> = births.into_iter().flatten().collect();
        all.extend_from_slice(identities_changed);
        let rows = identities::ids(&all)?;
        Ok(self.session.add_batches("changed_babies", &rows.schema(), vec![rows])?)
    }

    /// Which id of a baby stands, and the ids of which that has changed in this load.
    async fn merged_babies(&self) -> Result<(RecordBatch, Vec<String>), IntakeError> {
        let new = self.merges().await?;
        let mut old = BTreeMap::new();
        let site = self.building.site();
        if let (Some(entry), Some(before)) = (site.table_before("merges"), site.before()) {
            let own = self.session.beside(&[]).await?;
            own.add_files("merges", before.path(), entry)?;
            old = merges_of(&own).await?;
        }
        Ok((identities::rows(&new)?, identities::changed(&old, &new)?))
    }

    async fn merges(&self) -> Result<BTreeMap<String, String>, IntakeError> {
        merges_of(self.session).await
    }

    /// Adds a settled table.
    fn keep(&mut self, settled: &TableSettled) -> Result<(), IntakeError> {
        let name = settled.table.name;
        self.add(&format!("versions_{name}"), &settled.versions)?;
        self.add(name, &settled.live)?;
        self.counts.add_all(&settled.counts);
        self.is_news |= settled.is_news;
        Ok(())
    }

    /// Stores rows set aside that were not set aside before; counts them by file and by reason.
    async fn set_aside(&mut self, staged: &TableEntry) -> Result<Vec<(String, u64)>, IntakeError> {
        let site = self.site();
        let own = self.session.beside(&[]).await?;
        let old = site.carry_over("set_aside")?;
        let schema = set_aside_schema();
        show(&own, "staged", &site.scratch(), Some(staged), &schema)?;
        show(&own, "versions", site.path(), old.as_ref(), &schema)?;
        let repeats = cells(&own, "repeats_set_aside", &[]).await?;
        let places = repeats.texts("file").into_iter().zip(repeats.texts("table_name"));
        for ((file, table), n) in places.zip(repeats.ints("n")) {
            let (file, table) = (file.unwrap_or_default(), table.unwrap_or_default());
            self.counts.add(&file, &table, "duplicate", n.unwrap_or(0) as u64);
        }
        let (entry, is_news) = append(&own, &site, "set_aside", old).await?;
        self.is_news |= is_news;
        self.add("set_aside", &entry)?;
        own.add_files("new_set_aside", site.path(), &entry)?;
        let load = ("load", site.load().to_string());
        let cells = cells(&own, "set_aside_counts", &[load]).await?;
        let mut reasons: BTreeMap<String, u64> = BTreeMap::new();
        let places = cells.texts("file").into_iter().zip(cells.texts("table_name"));
        for (((file, table), reason), n) in places.zip(cells.texts("reason")).zip(cells.ints("n")) {
            let (file, table) = (file.unwrap_or_default(), table.unwrap_or_default());
            let (reason, n) = (reason.unwrap_or_default(), n.unwrap_or(0) as u64);
            // Such a row waits for another record, as one of an unknown baby does.
            let is_held = reason == Reason::AbsentReference.word();
            self.counts
                .add(&file, &table, if is_held { "held" } else { "set_aside" }, n);
            *reasons.entry(reason).or_default() += n;
        }
        Ok(reasons.into_iter().collect())
    }

    /// Puts together of whom a live row has changed, in any table.
    fn put_touched_together(&mut self, settled: &[TableSettled]) {
        let parts: Option<Vec<TableEntry>> = settled.iter().map(|of| of.touched.clone()).collect();
        self.touched = parts.and_then(TableEntry::of_parts);
    }

    async fn to_mend(&self) -> Result<(Vec<RowToMend>, u64), IntakeError> {
        let load = ("first_load", self.building.site().load().to_string());
        let sql = catalogue::listing("rows_to_mend");
        let mut stream = self.session.stream("rows_to_mend", sql, &[load]).await?;
        let (mut first, mut more) = (Vec::new(), 0);
        while let Some(batch) = next_batch("rows_to_mend", &mut stream).await? {
            let rows = rows_to_mend(batch);
            let room = MOST_ROWS_TOLD.saturating_sub(first.len());
            more += rows.len().saturating_sub(room) as u64;
            first.extend(rows.into_iter().take(room));
        }
        Ok((first, more))
    }
}

async fn merges_of(session: &Session) -> Result<BTreeMap<String, String>, IntakeError> {
    let live = cells(session, "merged_babies", &[]).await?;
    let pairs = live
        .texts("from_infant_id")
        .into_iter()
        .zip(live.texts("into_infant_id"));
    Ok(pairs.filter_map(|(from, into)| Some((from?, into?))).collect())
}
