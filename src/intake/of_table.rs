//! Settles one source table: which rows are new, what became of each, which stand.
//!
//! Where there was a snapshot before, only ids of which something has changed are
//! looked at: their rows are put among those of all others, month by month, and
//! months that none of them touches are taken over as they are.

use std::collections::BTreeSet;
use std::path::Path;

use arrow::datatypes::SchemaRef;

use crate::engine::Session;
use crate::engine::narrow::Column;
use crate::engine::next_batch;
use crate::engine::values::Cells;
use crate::queries::{catalogue, pour};
use crate::warehouse::tables::{SourceTable, held_schema};
use crate::warehouse::{Site, TableEntry};

use super::IntakeError;
use super::ledger::FateCounts;

/// The order of live rows within their month.
const LIVE_ORDER: [&str; 4] = ["month", "of_infant_id", "event_s", "row_id"];

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
    /// Fates of this load's rows.
    pub(super) counts: FateCounts,
    /// Whether this load brought any row.
    pub(super) is_news: bool,
    /// Latest event not after the load.
    pub(super) latest_s: Option<i64>,
    /// Babies of whom a live row has changed, in the scratch folder; `None` when all were looked at.
    pub(super) touched: Option<TableEntry>,
}

/// A load, as settling a table needs to know it.
#[derive(Clone, Copy, Debug)]
pub(super) struct LoadTerms {
    /// When it happens, epoch seconds.
    pub(super) loaded_at_s: i64,
    /// Look at all rows, also those of which nothing has changed.
    pub(super) is_whole: bool,
}

/// Settles one source table, in a session of its own that holds `births`, `identities`,
/// `changed_babies`, `protocol_limits` and `set_aside`.
pub(super) async fn settle_table(
    session: Session,
    site: Site,
    table: &'static SourceTable,
    staged: Option<TableEntry>,
    terms: LoadTerms,
) -> Result<TableSettled, IntakeError> {
    let mut work = OneTable { session, site, table };
    let schema = table.schema();
    let versions_name = format!("versions_{}", table.name);
    let old = work.site.carry_over(&versions_name)?;
    show(&work.session, "staged", &work.site.scratch(), staged.as_ref(), &schema)?;
    show(&work.session, "versions", work.site.path(), old.as_ref(), &schema)?;
    let mut counts = FateCounts::default();
    count_duplicates(&work.session, table.name, &mut counts).await?;
    let (versions, is_news) = append(&work.session, &work.site, &versions_name, old).await?;
    work.session.add_files("versions", work.site.path(), &versions)?;
    let before = work.site.table_before(table.name).filter(|_| !terms.is_whole).cloned();
    if before.is_some() {
        work.look_at_changes_only().await?;
    }
    let fates = work.scratch("fates").await?;
    work.session.add_files("fates", &work.site.scratch(), &fates)?;
    work.count_fates(&mut counts).await?;
    let (live, touched) = match before {
        None => (work.all_live().await?, None),
        Some(before) => {
            let (live, touched) = work.live_with(&before).await?;
            (live, Some(touched))
        }
    };
    work.session.add_files("live", work.site.path(), &live)?;
    let at = ("loaded_at_s", terms.loaded_at_s.to_string());
    let latest = cells(&work.session, "latest_event", &[at]).await?;
    Ok(TableSettled {
        table,
        versions,
        held: work.held(touched.is_some()).await?,
        live,
        counts,
        is_news,
        latest_s: latest.ints("latest_s").first().copied().flatten(),
        touched,
    })
}

struct OneTable {
    session: Session,
    site: Site,
    table: &'static SourceTable,
}

impl OneTable {
    fn terms(&self) -> Vec<(&'static str, String)> {
        let yes = |flag: bool| if flag { "yes" } else { "no" }.to_owned();
        vec![
            ("table", self.table.name.to_owned()),
            ("load", self.site.load().to_string()),
            ("is_test", yes(self.table.is_test)),
            ("of_a_baby", yes(self.table.is_of_a_baby())),
            ("is_register", yes(self.table.name == "births")),
        ]
    }

    /// Pours a query of intake into the scratch folder.
    async fn scratch(&self, query: &str) -> Result<TableEntry, IntakeError> {
        let name = format!("{query}_{}", self.table.name);
        Ok(
            pour(&self.session, query, catalogue::intake(query), &self.terms(), |rows| {
                self.site.scratch_table(&name, &rows.schema())
            })
            .await?,
        )
    }

    /// Leaves among `versions` only those of ids of which something has changed.
    async fn look_at_changes_only(&mut self) -> Result<(), IntakeError> {
        for (query, table) in [("affected_ids", "affected"), ("affected_versions", "versions")] {
            let entry = self.scratch(query).await?;
            self.session.add_files(table, &self.site.scratch(), &entry)?;
        }
        Ok(())
    }

    async fn count_fates(&self, counts: &mut FateCounts) -> Result<(), IntakeError> {
        let of_load = cells(&self.session, "ledger_counts", &self.terms()).await?;
        let files = of_load.texts("file").into_iter().zip(of_load.texts("fate"));
        for ((file, fate), n) in files.zip(of_load.ints("n")) {
            let file = file.unwrap_or_default();
            counts.add(&file, self.table.name, &fate.unwrap_or_default(), n.unwrap_or(0) as u64);
        }
        Ok(())
    }

    /// The query of the table's live rows.
    fn live_query(&self) -> &'static str {
        match self.table.name {
            "births" => "live_births",
            "stays" => "live_stays",
            _ if self.table.is_of_a_baby() => "live_rows_of_babies",
            _ => "live_rows",
        }
    }

    async fn all_live(&self) -> Result<TableEntry, IntakeError> {
        let (query, name) = (self.live_query(), self.table.name);
        Ok(
            pour(&self.session, query, catalogue::intake(query), &self.terms(), |rows| {
                self.site.table(name, &rows.schema(), Some("month"))
            })
            .await?,
        )
    }

    /// The live rows of the snapshot before with those of changed ids renewed, and the
    /// babies whose rows these are.
    async fn live_with(&self, before: &TableEntry) -> Result<(TableEntry, TableEntry), IntakeError> {
        let (session, site, name) = (&self.session, &self.site, self.table.name);
        let new = self.scratch(self.live_query()).await?;
        session.add_files("live_new", &site.scratch(), &new)?;
        let root = site.before().map_or(site.path(), |snapshot| snapshot.path());
        session.add_files("live_before", root, before)?;
        let touched = self.scratch("touched_babies").await?;
        let [old, changed] = ["live_before", "affected"].map(|table| Column {
            table,
            column: "row_id",
        });
        let mut months = session.months_of(old, changed).await?;
        months.extend(self.months_of_new().await?);
        session.add_files("live_before", root, &before.of_months(|month| months.contains(month)))?;
        let mut rows = session.put_together("live_new", old, changed, &LIVE_ORDER).await?;
        let mut writer = site.table(name, &rows.schema(), Some("month"))?;
        while let Some(batch) = next_batch("live_new", &mut rows).await? {
            writer.push(&batch)?;
        }
        let mut live = writer.finish()?;
        let untouched = site.carry_over_months(name, |month| !months.contains(month))?;
        live.take_in(untouched);
        Ok((live, touched))
    }

    async fn months_of_new(&self) -> Result<BTreeSet<String>, IntakeError> {
        let new = Column {
            table: "live_new",
            column: "row_id",
        };
        Ok(self.session.months_of(new, new).await?)
    }

    /// The rows that wait: of changed ids anew, of all others as before.
    async fn held(&self, changes_only: bool) -> Result<TableEntry, IntakeError> {
        let before = self.site.table_before("held").filter(|_| changes_only);
        let root = self.site.before().map_or(self.site.path(), |snapshot| snapshot.path());
        show(&self.session, "held_before", root, before, &held_schema())?;
        if !changes_only {
            self.session.add_batches("affected", &held_schema(), Vec::new())?;
        }
        self.scratch("held_rows").await
    }
}

/// Makes a table known, empty when there is none.
pub(super) fn show(
    session: &Session,
    name: &str,
    root: &Path,
    entry: Option<&TableEntry>,
    schema: &SchemaRef,
) -> Result<(), IntakeError> {
    match entry {
        Some(entry) => session.add_files(name, root, entry)?,
        None => session.add_batches(name, schema, Vec::new())?,
    }
    Ok(())
}

/// The rows of a query of intake.
pub(super) async fn cells(session: &Session, query: &str, parameters: &[(&str, String)]) -> Result<Cells, IntakeError> {
    let rows = session.rows(query, catalogue::intake(query), parameters).await?;
    Ok(Cells::new(rows))
}

async fn count_duplicates(session: &Session, table: &str, counts: &mut FateCounts) -> Result<(), IntakeError> {
    let found = cells(session, "duplicates", &[]).await?;
    for (file, n) in found.texts("file").into_iter().zip(found.ints("n")) {
        counts.add(&file.unwrap_or_default(), table, "duplicate", n.unwrap_or(0) as u64);
    }
    Ok(())
}

/// Appends the rows of `staged` that `versions` does not hold to a table kept by load;
/// tells whether there were any.
pub(super) async fn append(
    session: &Session,
    site: &Site,
    name: &str,
    old: Option<TableEntry>,
) -> Result<(TableEntry, bool), IntakeError> {
    let new = pour(session, "new_rows", catalogue::intake("new_rows"), &[], |rows| {
        site.table(name, &rows.schema(), Some("load"))
    })
    .await?;
    let is_news = new.rows() > 0;
    let mut entry = new.clone();
    if let Some(old) = old {
        entry.files = old.files;
        entry.files.extend(new.files);
    }
    Ok((entry, is_news))
}
