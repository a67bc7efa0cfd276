//! Builds the derived tables, each when those it reads are there; several at a time.

use crate::engine::Session;
use crate::warehouse::{Building, Site, TableEntry};

use super::catalogue::{self, Query};
use super::run::{QueryError, Tasks, pour};

/// Derives every table into the snapshot being built and makes each known to the session.
///
/// The session must hold the source tables, their versions, `data_ends` and the
/// protocol tables. `progress` is told each table's name.
///
/// # Errors
/// When a query fails or its rows cannot be stored.
pub async fn derive(
    session: &Session,
    building: &mut Building,
    progress: &mut dyn FnMut(&str),
) -> Result<(), QueryError> {
    let mut waiting: Vec<&'static Query> = catalogue::derived().iter().collect();
    let mut running = Tasks::new();
    let mut missing: Vec<&str> = waiting.iter().map(|query| query.name).collect();
    loop {
        let is_ready = |query: &Query| !query.header.list("reads").iter().any(|read| missing.contains(read));
        let (ready, later): (Vec<_>, Vec<_>) = waiting.into_iter().partition(|query| is_ready(query));
        waiting = later;
        for query in ready {
            progress(query.name);
            running.spawn(one(session.clone(), building.site().clone(), query));
        }
        let Some((name, entry)) = running.next().await? else {
            break;
        };
        if let Err(error) = keep(session, building, name, entry) {
            running.stop().await;
            return Err(error);
        }
        missing.retain(|table| *table != name);
    }
    Ok(())
}

fn keep(session: &Session, building: &mut Building, name: &str, entry: TableEntry) -> Result<(), QueryError> {
    building.add(name, entry.clone())?;
    Ok(session.add_files(name, building.site().path(), &entry)?)
}

async fn one(session: Session, site: Site, query: &'static Query) -> Result<(&'static str, TableEntry), QueryError> {
    let entry = pour(&session, query.name, query.sql, &[], |rows| {
        let schema = rows.schema();
        let by_month = query.name != "table_months" && schema.index_of("month").is_ok();
        site.table(query.name, &schema, by_month.then_some("month"))
    })
    .await?;
    Ok((query.name, entry))
}
