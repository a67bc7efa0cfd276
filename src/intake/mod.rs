//! From raw rows to tables: reads and judges each row, sets aside what cannot be
//! kept, drops repeats, lets the last version of an id stand, and balances.
//!
//! [`Stage`](stage::Stage) judges row by row and streams to scratch files;
//! [`settle`](settle::settle) decides with SQL what became of each row.

pub mod again;
mod columns;
mod fates;
pub mod field;
mod gather;
mod held;
mod identities;
pub mod judge;
mod keys;
pub mod ledger;
pub mod memory;
mod parts;
mod piece;
pub mod place;
pub mod reason;
mod results;
pub mod settle;
pub mod stage;
pub mod time;
pub mod unmapped;
pub mod value;

/// Rows that are settled at a time, about.
pub const SLICE_ROWS: u64 = 50_000;

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
    /// Rows and the keys they are settled by do not belong together.
    #[error(
        "{table}: {rows} rows, but the keys of {keys}; the warehouse was written by an earlier siskin, or is damaged; nothing was published\n  to do: load the extracts into a new warehouse; the siskin that wrote this one can still report its loads"
    )]
    KeysAstray {
        /// Which table.
        table: &'static str,
        /// Rows that should have a key.
        rows: u64,
        /// Rows whose key was found.
        keys: u64,
    },
    /// Keys of an earlier siskin, which do not say what a result of serum measures.
    #[error(
        "the warehouse was written by an earlier siskin, in which a direct bilirubin could replace the total of the same specimen; nothing was published\n  to do: load the extracts into a new warehouse; the siskin that wrote this one can still report its loads"
    )]
    EarlierKeys,
    /// A query gave a fate that there is none of.
    #[error("'{word}' is no fate of a row; this is a fault of siskin; nothing was published")]
    UnknownFate {
        /// The word.
        word: String,
    },
    /// What a reader learned cannot be read any more.
    #[error(
        "what earlier loads told of {key} ({format}) cannot be read\n  to do: load the extracts into a new warehouse"
    )]
    Forgotten {
        /// The format.
        format: String,
        /// What it was about.
        key: String,
    },
    /// Merges that lead back to where they began.
    #[error("merges of babies run in a circle: {ids}\n  to do: withdraw one of these merges; nothing was published")]
    CircularMerge {
        /// The ids.
        ids: String,
    },
    /// Arrow refused rows of a table kept by load.
    #[error("rows of {table}: {source}")]
    Appended {
        /// Which table.
        table: String,
        /// What it said.
        source: arrow::error::ArrowError,
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
