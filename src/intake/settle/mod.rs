//! Decides what became of each row: on keys, all tables together; then the rows are gathered.
//!
//! ```text
//! staged keys ── not loaded before ──▶ row_keys/load=N ──▶ fates
//! staged rows ─┬─ beside their fates ─▶ versions_<table>/load=N   every row ever accepted
//! versions ────┘                     ├▶ <table>/month=YYYY-MM     the last version of each id
//!                                    └▶ held                      rows that wait for others
//! ```

mod order;
mod small_tables;
mod steps;
mod work;

use std::collections::{BTreeMap, BTreeSet, HashSet};

use serde::Deserialize;

use crate::engine::rows::{or_none, typed};
use crate::engine::{EngineError, Session, next_batch};
use crate::queries::QueryError;
use crate::queries::catalogue::listings;
use crate::warehouse::tables::{SOURCE_TABLES, set_aside_schema};
use crate::warehouse::{Building, TableEntry};

use super::again::Mended;
use super::columns::{ints, texts};
use super::gather::TableSettled;
use super::ledger::{self, FateCounts, LedgerLine};
use super::stage::Staged;
use super::{IntakeError, keys};
use crate::extracts::reason::Reason;
use steps::{STEPS, Steps, push_new};
use work::Work;

pub use order::{SettleOrder, Through};

/// Rows set aside or held that are listed one by one.
const MOST_ROWS_LISTED: usize = 20;

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
    /// Babies of whom a live row has changed; `None` when all were looked at.
    pub touched: Option<BTreeSet<String>>,
}

/// A row that is in no table, and what to do about it.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
pub struct RowToMend {
    /// The load that brought it.
    pub load: i64,
    /// The table it was meant for.
    #[serde(rename = "table_name", deserialize_with = "or_none")]
    pub table: String,
    /// Where it was read.
    #[serde(deserialize_with = "or_none")]
    pub file: String,
    /// Its line, counted from 1.
    pub line: i64,
    /// Why.
    #[serde(deserialize_with = "or_none")]
    pub reason: String,
    /// The column at fault; empty when it is the whole row.
    #[serde(rename = "column_name", deserialize_with = "or_none")]
    pub column: String,
    /// What to do.
    #[serde(deserialize_with = "or_none")]
    pub remedy: String,
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
/// The session must already hold the protocol tables. `mended` are rows set aside by earlier
/// loads that are among the staged rows now.
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
    };
    let through = order.through;
    let mut data_ends = work.old_data_ends().await?;
    let before = data_ends.clone();
    let (mut steps, keys) = Steps::new(session, &work.site(), staged, order).await?;
    let old_keys = work.site().table_before(keys::TABLE).map_or(0, TableEntry::rows);
    work.is_news |= keys.rows() > old_keys;
    work.add(keys::TABLE, &keys)?;
    let set_aside = work.set_aside(staged, &steps.repeats)?;
    work.store_mended(mended)?;
    work.store_unmapped(staged).await?;
    let mut settled = Vec::new();
    for step in STEPS {
        for of_table in steps.settle(step).await? {
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
    let is_part = work.site().before().is_some() && !order.is_whole;
    let held = work.store_held(&settled, is_part).await?;
    let lines = ledger::balanced(&staged.files, &work.counts)?;
    work.store_ledger(order.loaded_at_s, &lines)?;
    let (to_mend, more_to_mend) = match set_aside.is_empty() && held == 0 {
        true => (Vec::new(), 0),
        false => work.to_mend().await?,
    };
    work.store_data_ends(&data_ends)?;
    let touched = || settled.iter().flat_map(|of| of.touched.iter().cloned());
    Ok(Settled {
        lines,
        set_aside,
        to_mend,
        more_to_mend,
        is_news: work.is_news || data_ends != before,
        earliest_end_s: data_ends.values().chain(before.values()).min().copied(),
        touched: is_part.then(|| touched().collect()),
        data_ends,
    })
}

impl Work<'_> {
    /// Adds a settled table.
    fn keep(&mut self, settled: &TableSettled) -> Result<(), IntakeError> {
        let name = settled.table.name;
        self.add(&format!("versions_{name}"), &settled.versions)?;
        self.add(name, &settled.live)?;
        self.counts.add_all(&settled.counts);
        Ok(())
    }

    /// Stores rows set aside that were not set aside before; counts them by file and by reason.
    fn set_aside(&mut self, staged: &Staged, repeats: &HashSet<i64>) -> Result<Vec<(String, u64)>, IntakeError> {
        let site = self.site();
        let mut writer = site.table("set_aside", &set_aside_schema(), Some("load"))?;
        let mut reasons: BTreeMap<String, u64> = BTreeMap::new();
        if let Some(rows) = &staged.set_aside {
            for batch in rows.read()? {
                let batch = batch?;
                let [files, tables, words] = ["file", "table_name", "reason"].map(|name| texts(&batch, name));
                for (row, seq) in ints(&batch, "seq").values().iter().enumerate() {
                    let (file, table, reason) = (files.value(row), tables.value(row), words.value(row));
                    if repeats.contains(seq) {
                        self.counts.add(file, table, "duplicate", 1);
                        continue;
                    }
                    // Such a row waits for another record, as one of an unknown baby does.
                    let is_held = reason == Reason::AbsentReference.word();
                    self.counts
                        .add(file, table, if is_held { "held" } else { "set_aside" }, 1);
                    *reasons.entry(reason.to_owned()).or_default() += 1;
                }
                push_new(&mut writer, &batch, repeats)?;
            }
        }
        let mut entry = writer.finish()?;
        if let Some(old) = site.carry_over("set_aside")? {
            entry.files.splice(0..0, old.files);
        }
        self.add("set_aside", &entry)?;
        Ok(reasons.into_iter().collect())
    }

    async fn to_mend(&self) -> Result<(Vec<RowToMend>, u64), IntakeError> {
        let load = ("first_load", self.building.site().load().into());
        let listing = listings::rows_to_mend;
        let mut stream = self.session.stream(listing, &[load]).await?;
        let (mut first, mut more) = (Vec::new(), 0);
        while let Some(batch) = next_batch(listing.name, &mut stream).await? {
            let rows: Vec<RowToMend> = typed(listing.name, &batch)?;
            let room = MOST_ROWS_LISTED.saturating_sub(first.len());
            more += rows.len().saturating_sub(room) as u64;
            first.extend(rows.into_iter().take(room));
        }
        Ok((first, more))
    }
}
