//! Pours the rows of a query into a stored table, batch by batch.

use datafusion::execution::SendableRecordBatchStream;
use tokio::task::JoinSet;

use crate::engine::{EngineError, FEW_ROWS, Session, Sql, Value, next_batch};
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

/// Runs a query and writes its rows to the table that `open` makes for their schema.
///
/// # Errors
/// When the query fails, or its rows cannot be written.
pub async fn pour(
    session: &Session,
    sql: Sql<'_>,
    parameters: &[(&str, Value)],
    open: impl FnOnce(&SendableRecordBatchStream) -> Result<TableWriter, WarehouseError>,
) -> Result<TableEntry, QueryError> {
    let stream = session.stream(sql, parameters).await?;
    let writer = open(&stream)?;
    store(sql.name, stream, writer).await
}

/// Writes all rows of a stream.
///
/// # Errors
/// When the query fails while running, or its rows cannot be written.
pub async fn store(
    what: &str,
    mut stream: SendableRecordBatchStream,
    mut writer: TableWriter,
) -> Result<TableEntry, QueryError> {
    while let Some(batch) = next_batch(what, &mut stream).await? {
        writer.push(&batch)?;
    }
    Ok(writer.finish()?)
}

/// How many queries over tables of so many rows run side by side at most: they share the memory
/// for queries, of which large sorts need a good part each.
pub fn side_by_side(rows: u64) -> usize {
    if rows > FEW_ROWS { 1 } else { usize::MAX }
}

/// Tasks that run side by side.
///
/// When one fails, the others are stopped and waited for before the failure is returned:
/// after it nothing of theirs writes into a folder that is being removed.
pub struct Tasks<T, E>(JoinSet<Result<T, E>>);

impl<T: Send + 'static, E: Send + 'static> Tasks<T, E> {
    /// None yet.
    pub fn new() -> Self {
        Self(JoinSet::new())
    }

    /// How many run.
    pub fn running(&self) -> usize {
        self.0.len()
    }

    /// Starts one.
    pub fn spawn(&mut self, task: impl Future<Output = Result<T, E>> + Send + 'static) {
        self.0.spawn(task);
    }

    /// What the next one to end came to; `None` when none is left.
    ///
    /// # Errors
    /// As the task.
    pub async fn next(&mut self) -> Result<Option<T>, E> {
        let done = match self.0.join_next().await {
            None => return Ok(None),
            Some(Ok(done)) => done,
            Some(Err(error)) => match error.try_into_panic() {
                Ok(panic) => std::panic::resume_unwind(panic),
                // Tasks are only cancelled together with the one that waits for them.
                Err(_) => unreachable!("a task was cancelled while it was waited for"),
            },
        };
        if done.is_err() {
            self.stop().await;
        }
        done.map(Some)
    }

    /// Stops all that still run, and waits until they have.
    pub async fn stop(&mut self) {
        self.0.shutdown().await;
    }

    /// What all of them came to, in the order in which they ended.
    ///
    /// # Errors
    /// As the first that fails.
    pub async fn all(mut self) -> Result<Vec<T>, E> {
        let mut all = Vec::new();
        while let Some(done) = self.next().await? {
            all.push(done);
        }
        Ok(all)
    }
}

impl<T: Send + 'static, E: Send + 'static> Default for Tasks<T, E> {
    fn default() -> Self {
        Self::new()
    }
}
