//! Settles one source table: which rows are new, what became of each, which stand.
//!
//! Where there was a snapshot before, only ids of which something has changed are
//! looked at: their rows are put among those of all others, month by month, and
//! months that none of them touches are taken over as they are. Versions are looked at in
//! slices of ids, one after another, so that memory does not grow with the table.

use std::collections::BTreeSet;
use std::path::Path;

use arrow::datatypes::SchemaRef;

use crate::engine::Session;
use crate::engine::narrow::Column;
use crate::engine::values::Cells;
use crate::queries::{catalogue, pour, store};
use crate::warehouse::tables::{SourceTable, held_schema};
use crate::warehouse::{Site, TableEntry};

use super::IntakeError;
use super::ledger::FateCounts;
use super::slices::{cut, slices_of};

/// The order of live rows within their month.
const LIVE_ORDER: [&str; 4] = ["month", "of_infant_id", "event_s", "row_id"];

/// What settling a slice of a table reads besides its versions.
const SEEN_BY_SLICES: [&str; 4] = ["protocol_limits", "set_aside", "births", "identities"];

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
    /// Versions that are settled at a time, about.
    pub(super) slice_rows: u64,
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
    let work = OneTable {
        session,
        site,
        table,
        slice_rows: terms.slice_rows,
    };
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
    let looked_at = match before {
        Some(_) => work.look_at_changes_only().await?,
        None => versions.clone(),
    };
    let new = work.settle_slices(&looked_at, &mut counts).await?;
    let (live, touched) = work.live_with(before.as_ref(), &new).await?;
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
    slice_rows: u64,
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

    /// Pours a query of intake about the whole table into the scratch folder.
    async fn scratch(&self, query: &str) -> Result<TableEntry, IntakeError> {
        self.pour(&self.session, query, self.table.name).await
    }

    async fn pour(&self, session: &Session, query: &str, name: &str) -> Result<TableEntry, IntakeError> {
        let name = format!("{query}_{name}");
        Ok(pour(session, query, catalogue::intake(query), &self.terms(), |rows| {
            self.site.scratch_table(&name, &rows.schema())
        })
        .await?)
    }

    /// Leaves among `versions` only those of ids of which something has changed.
    async fn look_at_changes_only(&self) -> Result<TableEntry, IntakeError> {
        let affected = self.scratch("affected_ids").await?;
        self.session.add_files("affected", &self.site.scratch(), &affected)?;
        let versions = self.scratch("affected_versions").await?;
        self.session.add_files("versions", &self.site.scratch(), &versions)?;
        Ok(versions)
    }

    /// Decides what became of each version that is looked at, and which rows stand; gives
    /// these, in no order. Leaves all fates known as `fates`.
    async fn settle_slices(&self, versions: &TableEntry, counts: &mut FateCounts) -> Result<TableEntry, IntakeError> {
        let (whole, name) = (&self.session, self.table.name);
        let slices = slices_of(versions.rows(), self.slice_rows);
        if slices == 1 {
            let (fates, live) = self.settle_slice(whole, name, counts).await?;
            whole.add_files("fates", &self.site.scratch(), &fates)?;
            return Ok(live);
        }
        let mut settled = Vec::new();
        let cut = cut(whole, &self.site, name, &self.terms(), slices).await?;
        for (i, slice) in cut.iter().enumerate() {
            let own = whole.beside(&SEEN_BY_SLICES).await?;
            own.add_files("versions", &self.site.scratch(), slice)?;
            settled.push(self.settle_slice(&own, &format!("{name}_{i}"), counts).await?);
        }
        let (fates, live): (Vec<_>, Vec<_>) = settled.into_iter().unzip();
        let fates = TableEntry::of_parts(fates).unwrap_or_default();
        whole.add_files("fates", &self.site.scratch(), &fates)?;
        Ok(TableEntry::of_parts(live).unwrap_or_default())
    }

    /// The fates and live rows of the `versions` of a session.
    async fn settle_slice(
        &self,
        session: &Session,
        name: &str,
        counts: &mut FateCounts,
    ) -> Result<(TableEntry, TableEntry), IntakeError> {
        let fates = self.pour(session, "fates", name).await?;
        session.add_files("fates", &self.site.scratch(), &fates)?;
        self.count_fates(session, counts).await?;
        let live = self.pour(session, self.live_query(), name).await?;
        Ok((fates, live))
    }

    async fn count_fates(&self, session: &Session, counts: &mut FateCounts) -> Result<(), IntakeError> {
        let of_load = cells(session, "ledger_counts", &self.terms()).await?;
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

    /// The live rows of the snapshot before with those of changed ids renewed, and the
    /// babies whose rows these are; without one before, the new rows.
    async fn live_with(
        &self,
        before: Option<&TableEntry>,
        new: &TableEntry,
    ) -> Result<(TableEntry, Option<TableEntry>), IntakeError> {
        let (session, site, name) = (&self.session, &self.site, self.table.name);
        session.add_files("live_new", &site.scratch(), new)?;
        let Some(before) = before else {
            let rows = session.in_order("live_new", &LIVE_ORDER).await?;
            let writer = site.table(name, &rows.schema(), Some("month"))?;
            return Ok((store("live_new", rows, writer).await?, None));
        };
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
        let rows = session.put_together("live_new", old, changed, &LIVE_ORDER).await?;
        let writer = site.table(name, &rows.schema(), Some("month"))?;
        let mut live = store("live_new", rows, writer).await?;
        let untouched = site.carry_over_months(name, |month| !months.contains(month))?;
        live.take_in(untouched);
        Ok((live, Some(touched)))
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
