//! What a command failed with, and its exit code.

use std::io::ErrorKind;

use crate::engine::EngineError;
use crate::engine::door::Refusal;
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
    /// The notes are refused.
    #[error(transparent)]
    Notes(#[from] crate::notes::NotesError),
    /// The case reviews are refused.
    #[error(transparent)]
    Reviews(#[from] crate::reviews::ReviewsError),
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
    /// A question is refused.
    #[error(transparent)]
    Refused(#[from] Refusal),
    /// A check of the records stops the load.
    #[error(
        "the checks of the records stop this load; nothing was published\n{0}\n  to do: mend the files or sources.toml; where the rows are right as they are, load with --despite and the name of the check"
    )]
    Stopped(String),
    /// A check found faults.
    #[error("{what} not in order\n  to do: {remedy}")]
    Faults {
        /// Where, and how many.
        what: String,
        /// What to do.
        remedy: &'static str,
    },
    /// There is no such table.
    #[error("there is no table '{0}'\n  to do: `siskin describe` lists the tables")]
    NoSuchTable(String),
    /// A derived table or measure failed.
    #[error(transparent)]
    Query(#[from] QueryError),
    /// The snapshot is of a siskin that stored no cases.
    #[error(
        "load {load} was made by a siskin ({siskin}) that did not store the cases of its measures\n  to do: report it by that siskin, or load the extracts into a new warehouse"
    )]
    NoCases {
        /// Number of the load.
        load: i64,
        /// Version of the siskin that made it.
        siskin: String,
    },
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
    /// A part of the program gave up, which it never should.
    #[error(
        "a fault of siskin or of its engine: {0}\n  to do: try again with more --memory, or with --threads 1; a load that was not published has changed nothing. If it happens again, report it"
    )]
    Fault(String),
    /// Results cannot be written as JSON.
    #[error("cannot write results: {0}")]
    Json(#[from] serde_json::Error),
}

/// Does something, and reports a panic in it as an error.
///
/// # Errors
/// As what is done, and when it panics.
pub fn not_by_panic<T>(what: impl FnOnce() -> Result<T, Error>) -> Result<T, Error> {
    // The error says what the hook would print.
    std::panic::set_hook(Box::new(|_| {}));
    let done = std::panic::catch_unwind(std::panic::AssertUnwindSafe(what));
    let _ = std::panic::take_hook();
    done.unwrap_or_else(|panic| {
        let text = panic.downcast_ref::<String>().cloned();
        let text = text.or_else(|| panic.downcast_ref::<&str>().map(|text| (*text).to_owned()));
        Err(Error::Fault(text.unwrap_or_else(|| "no reason was given".to_owned())))
    })
}

impl Error {
    /// Names what could not be written.
    pub fn write(what: impl Into<String>) -> impl FnOnce(std::io::Error) -> Self {
        let what = what.into();
        move |source| Self::Write { what, source }
    }

    /// What to do, where the error itself does not say.
    pub fn remedy(&self) -> Option<&'static str> {
        match self.of_the_engine() {
            Some(e) if e.is_out_of_memory() => Some(
                "the queries need more memory than they may use: give more with --memory; a large load may also be split",
            ),
            Some(e) if e.source.to_string().contains("Parquet") => {
                Some("a file of the snapshot may be damaged: `siskin check` tells which")
            }
            _ => self.refused_by_the_system(),
        }
    }

    /// What the engine said, where it is the engine that failed.
    fn of_the_engine(&self) -> Option<&EngineError> {
        match self {
            Self::Engine(e) | Self::Query(QueryError::Engine(e)) | Self::Intake(IntakeError::Engine(e)) => Some(e),
            _ => None,
        }
    }

    /// What to do when the system had no room or gave no right; `None` for anything else.
    fn refused_by_the_system(&self) -> Option<&'static str> {
        match self.of_the_system()? {
            ErrorKind::StorageFull | ErrorKind::QuotaExceeded | ErrorKind::FileTooLarge => {
                Some("there is no room left: free some and try again; the warehouse is as it was")
            }
            ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
                Some("you have no right to it: ask its owner, or use another folder; the warehouse is as it was")
            }
            _ => None,
        }
    }

    /// What the system said, when it is at the bottom of the error.
    fn of_the_system(&self) -> Option<ErrorKind> {
        let mut error: &(dyn std::error::Error + 'static) = self;
        loop {
            if let Some(io) = error.downcast_ref::<std::io::Error>() {
                return Some(io.kind());
            }
            error = error.source()?;
        }
    }

    /// The exit code.
    pub fn exit_code(&self) -> u8 {
        if self.refused_by_the_system().is_some() {
            return REFUSED;
        }
        match self {
            Self::Usage(_) => USAGE,
            Self::Refused(_)
            | Self::Protocol(_)
            | Self::Notes(_)
            | Self::Reviews(_)
            | Self::Extract(_)
            | Self::NoCases { .. }
            | Self::NoSuchMonth { .. }
            | Self::NoSuchTable(_)
            | Self::Invent(_)
            | Self::Intake(IntakeError::Extract(_)) => REFUSED,
            Self::Warehouse(error) | Self::Intake(IntakeError::Warehouse(error)) => match error {
                WarehouseError::NotThere(_)
                | WarehouseError::Empty(_)
                | WarehouseError::LinkLost { .. }
                | WarehouseError::NotNewest { .. }
                | WarehouseError::LinkAstray { .. }
                | WarehouseError::NoSuchLoad { .. }
                | WarehouseError::BeingRemoved { .. }
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
