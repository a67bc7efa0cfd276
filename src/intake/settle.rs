//! Decides what became of each row, table by table, the birth register first.
//!
//! ```text
//! staged ── not loaded before ──▶ versions_<table>/load=N   every row ever accepted
//! versions ── fates ──▶ <table>/month=YYYY-MM               the last version of each id
//!                   └─▶ held                                rows of unknown babies
//! ```

use std::collections::BTreeMap;
use std::sync::Arc;

use arrow::array::{Int64Array, RecordBatch, StringArray};
use arrow::datatypes::SchemaRef;

use crate::engine::values::Cells;
use crate::engine::{EngineError, Session, next_batch};
use crate::queries::{QueryError, catalogue, pour};
use crate::warehouse::tables::{SOURCE_TABLES, SourceTable, held_schema, set_aside_schema};
use crate::warehouse::{Building, TableEntry, TableWriter};

use super::IntakeError;
use super::ledger::{self, FateCounts, LedgerLine};
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
/// The session must already hold the protocol tables.
///
/// # Errors
/// When a query or file fails, or the ledger does not balance.
pub async fn settle(
    session: &Session,
    building: &mut Building,
    staged: &Staged,
    loaded_at_s: i64,
    through: &Through,
) -> Result<Settled, IntakeError> {
    let mut held = building.table("held", &held_schema(), None)?;
    let mut work = Work {
        session,
        building,
        counts: FateCounts::default(),
        is_news: false,
    };
    let (set_aside_entry, set_aside) = work.set_aside(&staged.set_aside).await?;
    work.session
        .add_files("set_aside", work.building.path(), &set_aside_entry)?;
    let mut data_ends = work.old_data_ends().await?;
    let before = data_ends.clone();
    for table in SOURCE_TABLES {
        work.table(table, staged.tables.get(table.name)).await?;
        work.held(table, &mut held).await?;
        let latest_s = work.latest_event(loaded_at_s).await?;
        let has_file = staged.files.iter().any(|f| f.table == table.name);
        let old = data_ends.get(table.name).copied();
        let of_load = through.all.or(latest_s).filter(|_| has_file);
        if let Some(end_s) = through.tables.get(table.name).copied().or(old.max(of_load)) {
            data_ends.insert(table.name.to_owned(), end_s);
        }
    }
    work.store_held(held)?;
    let (to_mend, more_to_mend) = work.to_mend().await?;
    let lines = ledger::balanced(&staged.files, &work.counts)?;
    work.store_ledger(loaded_at_s, &lines)?;
    work.store_data_ends(&data_ends)?;
    Ok(Settled {
        lines,
        set_aside,
        to_mend,
        more_to_mend,
        is_news: work.is_news || data_ends != before,
        data_ends,
    })
}

struct Work<'a> {
    session: &'a Session,
    building: &'a mut Building,
    counts: FateCounts,
    is_news: bool,
}

impl Work<'_> {
    /// Stores rows set aside that were not set aside before; counts them by file.
    async fn set_aside(&mut self, staged: &TableEntry) -> Result<(TableEntry, Vec<(String, u64)>), IntakeError> {
        let old = self.building.carry_over("set_aside")?;
        let schema = set_aside_schema();
        self.show("staged", &self.building.scratch(), Some(staged), &schema)?;
        self.show("versions", self.building.path(), old.as_ref(), &schema)?;
        self.count_duplicates().await?;
        let entry = self.append("set_aside", old).await?;
        self.session.add_files("new_set_aside", self.building.path(), &entry)?;
        let load = ("load", self.building.load().to_string());
        let cells = self.cells("set_aside_counts", &[load]).await?;
        let mut reasons: BTreeMap<String, u64> = BTreeMap::new();
        for ((file, reason), n) in cells
            .texts("file")
            .into_iter()
            .zip(cells.texts("reason"))
            .zip(cells.ints("n"))
        {
            let n = n.unwrap_or(0) as u64;
            self.counts.add(&file.unwrap_or_default(), "set_aside", n);
            *reasons.entry(reason.unwrap_or_default()).or_default() += n;
        }
        Ok((entry, reasons.into_iter().collect()))
    }

    /// Settles one source table.
    async fn table(&mut self, table: &SourceTable, staged: Option<&TableEntry>) -> Result<(), IntakeError> {
        let versions_name = format!("versions_{}", table.name);
        let schema = table.schema();
        let old = self.building.carry_over(&versions_name)?;
        self.show("staged", &self.building.scratch(), staged, &schema)?;
        self.show("versions", self.building.path(), old.as_ref(), &schema)?;
        self.count_duplicates().await?;
        let entry = self.append(&versions_name, old).await?;
        self.session.add_files(&versions_name, self.building.path(), &entry)?;
        self.session.add_files("versions", self.building.path(), &entry)?;
        if table.name == SOURCE_TABLES[0].name {
            // The birth register refers to no other baby's rows.
            self.session.add_batches("births", &schema, Vec::new())?;
        }
        self.fates(table).await?;
        let name = ("table", table.name.to_owned());
        let live = pour(
            self.session,
            "live_rows",
            catalogue::intake("live_rows"),
            std::slice::from_ref(&name),
            |rows| self.building.table(table.name, &rows.schema(), Some("month")),
        )
        .await?;
        self.building.add(table.name, live.clone())?;
        self.session.add_files(table.name, self.building.path(), &live)?;
        self.session.add_files("live", self.building.path(), &live)?;
        Ok(())
    }

    async fn held(&self, table: &SourceTable, writer: &mut TableWriter) -> Result<(), IntakeError> {
        let name = ("table", table.name.to_owned());
        let sql = catalogue::intake("held_rows");
        let mut rows = self.session.stream("held_rows", sql, &[name]).await?;
        while let Some(batch) = next_batch("held_rows", &mut rows).await? {
            writer.push(&batch)?;
        }
        Ok(())
    }

    /// Latest event not after the load, of the table settled last.
    async fn latest_event(&self, loaded_at_s: i64) -> Result<Option<i64>, IntakeError> {
        let at = ("loaded_at_s", loaded_at_s.to_string());
        let latest = self.cells("latest_event", &[at]).await?;
        Ok(latest.ints("latest_s").first().copied().flatten())
    }

    async fn fates(&mut self, table: &SourceTable) -> Result<(), IntakeError> {
        let yes = |flag: bool| if flag { "yes" } else { "no" }.to_owned();
        let about = [
            ("is_test", yes(table.is_test)),
            ("of_a_baby", yes(table.is_of_a_baby())),
        ];
        let name = format!("fates_{}", table.name);
        let fates = pour(self.session, "fates", catalogue::intake("fates"), &about, |rows| {
            self.building.scratch_table(&name, &rows.schema())
        })
        .await?;
        self.session.add_files("fates", &self.building.scratch(), &fates)?;
        let load = ("load", self.building.load().to_string());
        let counts = self.cells("ledger_counts", &[load]).await?;
        for ((file, fate), n) in counts
            .texts("file")
            .into_iter()
            .zip(counts.texts("fate"))
            .zip(counts.ints("n"))
        {
            self.counts.add(
                &file.unwrap_or_default(),
                &fate.unwrap_or_default(),
                n.unwrap_or(0) as u64,
            );
        }
        Ok(())
    }

    async fn count_duplicates(&mut self) -> Result<(), IntakeError> {
        let counts = self.cells("duplicates", &[]).await?;
        for (file, n) in counts.texts("file").into_iter().zip(counts.ints("n")) {
            self.counts
                .add(&file.unwrap_or_default(), "duplicate", n.unwrap_or(0) as u64);
        }
        Ok(())
    }

    /// Appends the rows of `staged` that `versions` does not hold to a table kept by load.
    async fn append(&mut self, name: &str, old: Option<TableEntry>) -> Result<TableEntry, IntakeError> {
        let new = pour(self.session, "new_rows", catalogue::intake("new_rows"), &[], |rows| {
            self.building.table(name, &rows.schema(), Some("load"))
        })
        .await?;
        self.is_news |= new.rows() > 0;
        let mut entry = new.clone();
        if let Some(old) = old {
            entry.files = old.files;
            entry.files.extend(new.files);
        }
        self.building.add(name, entry.clone())?;
        Ok(entry)
    }

    fn show(
        &self,
        name: &str,
        root: &std::path::Path,
        entry: Option<&TableEntry>,
        schema: &SchemaRef,
    ) -> Result<(), IntakeError> {
        match entry {
            Some(entry) => self.session.add_files(name, root, entry)?,
            None => self.session.add_batches(name, schema, Vec::new())?,
        }
        Ok(())
    }

    async fn cells(&self, query: &str, parameters: &[(&str, String)]) -> Result<Cells, IntakeError> {
        let rows = self.session.rows(query, catalogue::intake(query), parameters).await?;
        Ok(Cells::new(rows))
    }

    fn store_held(&mut self, writer: TableWriter) -> Result<(), IntakeError> {
        let entry = writer.finish()?;
        self.building.add("held", entry.clone())?;
        Ok(self.session.add_files("held", self.building.path(), &entry)?)
    }

    async fn to_mend(&self) -> Result<(Vec<RowToMend>, u64), IntakeError> {
        let load = ("first_load", self.building.load().to_string());
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

    fn store_ledger(&mut self, loaded_at_s: i64, lines: &[LedgerLine]) -> Result<(), IntakeError> {
        let load = self.building.load();
        let mut writer = self.building.table("ledger", &ledger::schema(), Some("load"))?;
        writer.push(&ledger::rows(load, loaded_at_s, lines)?)?;
        let new = writer.finish()?;
        let mut entry = new.clone();
        if let Some(old) = self.building.carry_over("ledger")? {
            entry.files = old.files;
            entry.files.extend(new.files);
        }
        self.building.add("ledger", entry)?;
        Ok(())
    }

    async fn old_data_ends(&self) -> Result<BTreeMap<String, i64>, IntakeError> {
        let Some(before) = self.building.before() else {
            return Ok(BTreeMap::new());
        };
        let Some(entry) = before.manifest().tables.get("data_ends") else {
            return Ok(BTreeMap::new());
        };
        self.session.add_files("data_ends", before.path(), entry)?;
        let cells = self.cells("data_ends", &[]).await?;
        let pairs = cells.texts("table_name").into_iter().zip(cells.ints("through_s"));
        Ok(pairs.filter_map(|(name, end)| Some((name?, end?))).collect())
    }

    fn store_data_ends(&mut self, data_ends: &BTreeMap<String, i64>) -> Result<(), IntakeError> {
        let names = StringArray::from_iter_values(data_ends.keys());
        let ends = Int64Array::from_iter_values(data_ends.values().copied());
        let rows =
            RecordBatch::try_from_iter([("table_name", Arc::new(names) as _), ("through_s", Arc::new(ends) as _)])
                .map_err(|source| IntakeError::Rows {
                    table: "data_ends",
                    source,
                })?;
        let mut writer = self.building.table("data_ends", &rows.schema(), None)?;
        writer.push(&rows)?;
        let entry = writer.finish()?;
        self.building.add("data_ends", entry.clone())?;
        self.session.add_files("data_ends", self.building.path(), &entry)?;
        Ok(())
    }
}
