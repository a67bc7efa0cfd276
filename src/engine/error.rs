//! What the engine refused.

use datafusion::error::DataFusionError;

/// What the engine refused.
#[derive(Debug, thiserror::Error)]
#[error("{what}: {source}")]
pub struct EngineError {
    /// The query or table.
    pub what: String,
    /// What the engine said.
    pub source: Box<DataFusionError>,
}

impl EngineError {
    /// Whether a limit on memory, or on what is spilled to disk for want of it, was reached.
    pub fn is_out_of_memory(&self) -> bool {
        match self.source.find_root() {
            DataFusionError::ResourcesExhausted(_) => true,
            // One file for each piece that was spilled.
            DataFusionError::IoError(error) => error.to_string().contains("Too many open files"),
            _ => false,
        }
    }
}

/// Names the query or table that was refused.
pub(super) fn refused(what: &str) -> impl FnOnce(DataFusionError) -> EngineError {
    let what = what.to_owned();
    move |source| EngineError {
        what,
        source: Box::new(source),
    }
}
