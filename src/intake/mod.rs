//! From raw rows to tables: reads and judges each row, sets aside what cannot be
//! kept, drops repeats, lets the last version of an id stand, and balances.
//!
//! [`stage`](stage::stage) judges row by row and streams to scratch files;
//! [`settle`](settle::settle) decides with SQL what became of each row.

pub mod field;
pub mod judge;
pub mod ledger;
pub mod reason;
pub mod settle;
pub mod stage;
pub mod time;
pub mod value;

use crate::engine::EngineError;
use crate::extracts::ExtractError;
use crate::warehouse::WarehouseError;

/// Why a load is refused or fails. Nothing was changed.
#[derive(Debug, thiserror::Error)]
pub enum IntakeError {
    /// A file is refused as a whole.
    #[error(transparent)]
    Extract(#[from] ExtractError),
    /// The warehouse cannot be written.
    #[error(transparent)]
    Warehouse(#[from] WarehouseError),
    /// A query failed.
    #[error(transparent)]
    Engine(#[from] EngineError),
    /// Rows in and their fates do not add up.
    #[error(
        "the ledger does not balance: {file} has {rows_in} rows, but {accounted} are accounted for\n  this is a fault of siskin; nothing was published"
    )]
    Unbalanced {
        /// Which file.
        file: String,
        /// Rows read.
        rows_in: u64,
        /// Sum of all fates.
        accounted: u64,
    },
    /// Arrow refused rows.
    #[error("rows of {table}: {source}")]
    Rows {
        /// Which table.
        table: &'static str,
        /// What it said.
        source: arrow::error::ArrowError,
    },
}
