//! What a command failed with, and the exit code that tells.

use crate::engine::EngineError;
use crate::extracts::ExtractError;
use crate::intake::IntakeError;
use crate::month::Month;
use crate::protocol::ProtocolError;
use crate::queries::QueryError;
use crate::warehouse::WarehouseError;

/// Exit code: something failed half way; the warehouse is as it was.
pub const FAILED: u8 = 1;
/// Exit code: the command line makes no sense.
pub const USAGE: u8 = 2;
/// Exit code: refused; nothing was changed.
pub const REFUSED: u8 = 3;

/// Why a command did not do what it was asked.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The command line makes no sense.
    #[error("{0}")]
    Usage(String),
    /// The protocol is refused.
    #[error(transparent)]
    Protocol(#[from] ProtocolError),
    /// An extract is refused.
    #[error(transparent)]
    Extract(#[from] ExtractError),
    /// A load failed or is refused.
    #[error(transparent)]
    Intake(#[from] IntakeError),
    /// The warehouse cannot be read or written.
    #[error(transparent)]
    Warehouse(#[from] WarehouseError),
    /// The engine failed.
    #[error(transparent)]
    Engine(#[from] EngineError),
    /// A derived table or measure failed.
    #[error(transparent)]
    Query(#[from] QueryError),
    /// The month lies outside what was loaded.
    #[error(
        "there is no data for {month}; the warehouse holds {first} to {last}\n  to do: choose a month in between, or load its extracts"
    )]
    NoSuchMonth {
        /// The month asked for.
        month: Month,
        /// First month with rows.
        first: Month,
        /// Last month with rows.
        last: Month,
    },
    /// Extracts cannot be invented.
    #[error(transparent)]
    Invent(#[from] crate::invent::InventError),
    /// A page cannot be made.
    #[error(transparent)]
    Page(#[from] crate::pages::PageError),
    /// A result cannot be written.
    #[error("cannot write {what}: {source}")]
    Write {
        /// What was being written.
        what: String,
        /// What the system said.
        source: std::io::Error,
    },
    /// Results cannot be written as JSON.
    #[error("cannot write results: {0}")]
    Json(#[from] serde_json::Error),
}

impl Error {
    /// Names what could not be written.
    pub fn write(what: impl Into<String>) -> impl FnOnce(std::io::Error) -> Self {
        let what = what.into();
        move |source| Self::Write { what, source }
    }

    /// The exit code.
    pub fn exit_code(&self) -> u8 {
        match self {
            Self::Usage(_) => USAGE,
            Self::Protocol(_)
            | Self::Extract(_)
            | Self::NoSuchMonth { .. }
            | Self::Invent(_)
            | Self::Intake(IntakeError::Extract(_)) => REFUSED,
            Self::Warehouse(error) | Self::Intake(IntakeError::Warehouse(error)) => match error {
                WarehouseError::NotThere(_)
                | WarehouseError::Empty(_)
                | WarehouseError::LinkLost { .. }
                | WarehouseError::Damaged { .. }
                | WarehouseError::Locked { .. } => REFUSED,
                _ => FAILED,
            },
            _ => FAILED,
        }
    }

    /// Whether the reader of our output has gone away, which is no failure.
    pub fn is_broken_pipe(&self) -> bool {
        matches!(self, Self::Write { source, .. } if source.kind() == std::io::ErrorKind::BrokenPipe)
    }
}
