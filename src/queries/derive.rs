//! Builds the derived tables, in the order in which they read each other.

use crate::engine::Session;
use crate::warehouse::Building;

use super::catalogue;
use super::run::{QueryError, pour};

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
    for query in catalogue::derived() {
        progress(query.name);
        let entry = pour(session, query.name, query.sql, &[], |rows| {
            let schema = rows.schema();
            let by_month = query.name != "table_months" && schema.index_of("month").is_ok();
            building.table(query.name, &schema, by_month.then_some("month"))
        })
        .await?;
        building.add(query.name, entry.clone())?;
        session.add_files(query.name, building.path(), &entry)?;
    }
    Ok(())
}
