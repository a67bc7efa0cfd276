//! Pours the rows of a query into a stored table, batch by batch.

use datafusion::execution::SendableRecordBatchStream;

use crate::engine::{EngineError, Session, next_batch};
use crate::warehouse::{TableEntry, TableWriter, WarehouseError};

/// Why a query's rows could not be had or stored.
#[derive(Debug, thiserror::Error)]
pub enum QueryError {
    /// The query failed.
    #[error(transparent)]
    Engine(#[from] EngineError),
    /// Its rows could not be stored.
    #[error(transparent)]
    Warehouse(#[from] WarehouseError),
    /// A measure returned rows its header does not describe.
    #[error("measure {measure}: {why}")]
    Shape {
        /// Which measure.
        measure: String,
        /// What is wrong.
        why: String,
    },
}

/// Runs `sql` and writes its rows to the table that `open` makes for their schema.
///
/// # Errors
/// When the query fails, or its rows cannot be written.
pub async fn pour(
    session: &Session,
    what: &str,
    sql: &str,
    parameters: &[(&str, String)],
    open: impl FnOnce(&SendableRecordBatchStream) -> Result<TableWriter, WarehouseError>,
) -> Result<TableEntry, QueryError> {
    let mut stream = session.stream(what, sql, parameters).await?;
    let mut writer = open(&stream)?;
    while let Some(batch) = next_batch(what, &mut stream).await? {
        writer.push(&batch)?;
    }
    Ok(writer.finish()?)
}

/// What a task that ran beside others came to; its panic is ours.
pub fn finished<T>(done: Result<T, tokio::task::JoinError>) -> T {
    match done {
        Ok(value) => value,
        Err(error) => match error.try_into_panic() {
            Ok(panic) => std::panic::resume_unwind(panic),
            // Tasks are only cancelled together with the one that waits for them.
            Err(_) => unreachable!("a task was cancelled while it was waited for"),
        },
    }
}
