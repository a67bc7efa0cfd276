//! Builds the derived tables, each when those it reads are there, several at a time; the cases of
//! the measures come last.

use std::path::PathBuf;
use std::sync::Arc;

use crate::engine::{Session, next_batch};
use crate::warehouse::{Building, Site, TableEntry};

use super::cases;
use super::catalogue::{self, Query};
use super::renewed::{OF_BABIES, Renewed, of_babies};
use super::run::{QueryError, Tasks, pour, side_by_side};

/// How many tables and measures are derived; the cases of all measures are one table more.
pub fn steps() -> u64 {
    (catalogue::derived().len() + catalogue::measures().len() + 1) as u64
}

/// Derives every table into the snapshot being built and makes each known to the session.
///
/// The snapshot must hold the source tables, their versions, `data_ends` and the protocol
/// tables. With `renewed`, only of its babies, whose rows are put among those of all others
/// as they were, in the months of these babies. `progress` is called with the name of each table.
///
/// # Errors
/// When a query fails or its rows cannot be stored.
pub async fn derive(
    session: &Session,
    building: &mut Building,
    renewed: Option<Renewed>,
    progress: &mut dyn FnMut(&str),
) -> Result<(), QueryError> {
    let all = session;
    let renewed = renewed.map(Arc::new);
    let session = match &renewed {
        None => {
            for (name, entry) in &building.manifest().tables {
                session.add_files(name, building.site().path(), entry)?;
            }
            session.clone()
        }
        Some(renewed) => of_babies(session, building, renewed).await?,
    };
    let mut waiting: Vec<&'static Query> = catalogue::derived().iter().collect();
    let mut tasks = Tasks::new();
    let at_once = side_by_side(rows_of(building, renewed.as_deref()));
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
            tasks.spawn(one(of.clone(), building.site().clone(), query, renewed.clone()));
        }
        let Some(derived) = tasks.next().await? else {
            break;
        };
        missing.retain(|table| *table != derived.name);
        if let Err(error) = keep(&session, building, derived) {
            tasks.stop().await;
            return Err(error);
        }
    }
    cases::derive(&session, building, renewed.as_deref(), progress).await
}

/// Adds a finished table to the snapshot; later queries see what was derived of it now.
fn keep(session: &Session, building: &mut Building, derived: Derived) -> Result<(), QueryError> {
    building.add(derived.name, derived.whole)?;
    Ok(session.add_files(derived.name, &derived.root, &derived.seen)?)
}

/// How many rows are looked at, about: all of the tables of babies, or the share of the babies.
fn rows_of(building: &Building, renewed: Option<&Renewed>) -> u64 {
    let rows = |table: &str| building.manifest().tables.get(table).map_or(0, TableEntry::rows);
    let all: u64 = OF_BABIES.iter().map(|table| rows(table)).sum();
    let births = rows("births").max(1);
    renewed.map_or(all, |renewed| all / births * renewed.babies())
}

/// A derived table: its name, what later queries see of it and where, and the whole of it.
struct Derived {
    name: &'static str,
    root: PathBuf,
    seen: TableEntry,
    whole: TableEntry,
}

async fn one(
    session: Session,
    site: Site,
    query: &'static Query,
    renewed: Option<Arc<Renewed>>,
) -> Result<Derived, QueryError> {
    let name = query.name;
    if !is_by_month(query) {
        let whole = pour(&session, name, query.sql, &[], |rows| {
            site.table(name, &rows.schema(), None)
        })
        .await?;
        return Ok(Derived {
            name,
            root: site.path().to_owned(),
            seen: whole.clone(),
            whole,
        });
    }
    let mut rows = session.stream(name, query.sql, &[]).await?;
    let mut by_month = site.by_month(name, &rows.schema(), &query.header.list("order"));
    let before = site.table_before(name).cloned();
    let part = renewed.zip(before);
    let mut seen = match part {
        Some(_) => Some(site.scratch_table(&format!("new_{name}"), &rows.schema())?),
        None => None,
    };
    while let Some(batch) = next_batch(name, &mut rows).await? {
        by_month.push(&batch)?;
        if let Some(seen) = &mut seen {
            seen.push(&batch)?;
        }
    }
    let (Some((renewed, before)), Some(seen)) = (part, seen) else {
        let whole = by_month.finish(session.threads())?;
        return Ok(Derived {
            name,
            root: site.path().to_owned(),
            seen: whole.clone(),
            whole,
        });
    };
    let mut months = renewed.months().clone();
    months.extend(by_month.months().map(str::to_owned));
    by_month.push_before(&before, &months, |rows| renewed.are_of_others(rows))?;
    let mut whole = by_month.finish(session.threads())?;
    whole.take_in(site.carry_over_months(name, |month| !months.contains(month))?);
    Ok(Derived {
        name,
        root: site.scratch(),
        seen: seen.finish()?,
        whole,
    })
}

/// Whether a derived table is kept by the month of its rows, each of one baby.
fn is_by_month(query: &Query) -> bool {
    !query.header.get("order").is_empty()
}
