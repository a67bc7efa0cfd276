//! Builds the derived tables, each when those it reads are there; several at a time.

use std::path::{Path, PathBuf};

use crate::engine::Session;
use crate::engine::narrow::Column;
use crate::warehouse::{Building, Site, TableEntry};

use super::catalogue::{self, Query};
use super::run::{QueryError, Tasks, pour, side_by_side, store};

/// Tables of which a query sees only the rows of the babies that are derived anew.
const OF_BABIES: [&str; 6] = ["births", "screens", "serum", "phototherapy", "stays", "exchanges"];

/// The table of babies that are derived anew.
const BABIES: Column<'static> = Column {
    table: "babies_to_derive",
    column: "infant_id",
};

/// Derives every table into the snapshot being built and makes each known to the session.
///
/// The session must hold the source tables, their versions, `data_ends` and the protocol
/// tables. With `babies`, only theirs are derived, and put among the rows of all others
/// as they were, in the months that theirs touch. `progress` is told each table's name.
///
/// # Errors
/// When a query fails or its rows cannot be stored.
pub async fn derive(
    session: &Session,
    building: &mut Building,
    babies: Option<&TableEntry>,
    progress: &mut dyn FnMut(&str),
) -> Result<(), QueryError> {
    let all = session;
    let session = match babies {
        None => session.clone(),
        Some(babies) => of_babies(session, building, babies).await?,
    };
    let mut waiting: Vec<&'static Query> = catalogue::derived().iter().collect();
    let mut tasks = Tasks::new();
    let at_once = side_by_side(rows_of(building, babies));
    let mut missing: Vec<&str> = waiting.iter().map(|query| query.name).collect();
    loop {
        let is_ready = |query: &Query| !query.header.list("reads").iter().any(|read| missing.contains(read));
        while tasks.running() < at_once {
            let Some(next) = waiting.iter().position(|query| is_ready(query)) else {
                break;
            };
            let query = waiting.remove(next);
            progress(query.name);
            // What is of no baby is derived of all rows.
            let of = if is_by_month(query) { &session } else { all };
            tasks.spawn(one(of.clone(), building.site().clone(), query, babies.is_some()));
        }
        let Some((name, root, seen, entry)) = tasks.next().await? else {
            break;
        };
        if let Err(error) = keep(&session, building, name, (&root, &seen), entry) {
            tasks.stop().await;
            return Err(error);
        }
        missing.retain(|table| *table != name);
    }
    Ok(())
}

/// How many rows are looked at, about: all of the tables of babies, or the babies' share.
fn rows_of(building: &Building, babies: Option<&TableEntry>) -> u64 {
    let rows = |table: &str| building.manifest().tables.get(table).map_or(0, TableEntry::rows);
    let all: u64 = OF_BABIES.iter().map(|table| rows(table)).sum();
    let births = rows("births").max(1);
    babies.map_or(all, |babies| all / births * babies.rows())
}

/// A session that sees of each table of babies only their rows.
async fn of_babies(session: &Session, building: &Building, babies: &TableEntry) -> Result<Session, QueryError> {
    let own = session.beside(&[]).await?;
    for (name, entry) in &building.manifest().tables {
        own.add_files(name, building.site().path(), entry)?;
    }
    own.add_files(BABIES.table, &building.site().scratch(), babies)?;
    for table in OF_BABIES {
        if let Some(entry) = building.manifest().tables.get(table) {
            let column = "infant_id";
            own.add_narrowed(Column { table, column }, building.site().path(), entry, BABIES)
                .await?;
        }
    }
    Ok(own)
}

/// Adds a finished table to the snapshot; later queries see what was derived of it now.
fn keep(
    session: &Session,
    building: &mut Building,
    name: &str,
    seen: (&Path, &TableEntry),
    entry: TableEntry,
) -> Result<(), QueryError> {
    building.add(name, entry)?;
    Ok(session.add_files(name, seen.0, seen.1)?)
}

/// A derived table: its name, what later queries see of it and where, and the whole of it.
type Derived = (&'static str, PathBuf, TableEntry, TableEntry);

async fn one(session: Session, site: Site, query: &'static Query, is_part: bool) -> Result<Derived, QueryError> {
    let before = site.table_before(query.name).filter(|_| is_part && is_by_month(query));
    let Some(before) = before.cloned() else {
        let entry = pour(&session, query.name, query.sql, &[], |rows| {
            let partition = is_by_month(query).then_some("month");
            site.table(query.name, &rows.schema(), partition)
        })
        .await?;
        return Ok((query.name, site.path().to_owned(), entry.clone(), entry));
    };
    let new_name = format!("new_{}", query.name);
    let new = pour(&session, query.name, query.sql, &[], |rows| {
        site.scratch_table(&new_name, &rows.schema())
    })
    .await?;
    session.add_files(&new_name, &site.scratch(), &new)?;
    let old_name = format!("old_{}", query.name);
    let root = site.before().map_or(site.path(), |snapshot| snapshot.path());
    session.add_files(&old_name, root, &before)?;
    let [new_rows, old_rows] = [&new_name, &old_name].map(|table| Column {
        table,
        column: "infant_id",
    });
    let mut months = session.months_of(old_rows, BABIES).await?;
    months.extend(session.months_of(new_rows, new_rows).await?);
    session.add_files(&old_name, root, &before.of_months(|month| months.contains(month)))?;
    let order = query.header.list("order");
    let rows = session.put_together(&new_name, old_rows, BABIES, &order).await?;
    let writer = site.table(query.name, &rows.schema(), Some("month"))?;
    let mut entry = store(query.name, rows, writer).await?;
    entry.take_in(site.carry_over_months(query.name, |month| !months.contains(month))?);
    Ok((query.name, site.scratch(), new, entry))
}

/// Whether a derived table is kept by the month of its rows, each of one baby.
fn is_by_month(query: &Query) -> bool {
    !query.header.get("order").is_empty()
}
