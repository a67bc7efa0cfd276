//! What can go wrong while inventing, each with the place and the remedy.

use std::path::{Path, PathBuf};

/// An invention that could not be finished.
#[derive(Debug, thiserror::Error)]
pub enum InventError {
    /// The out folder holds files already; nothing was written.
    #[error("{} is not empty: name a new folder, or empty this one first", path.display())]
    FolderNotEmpty {
        /// The folder asked for.
        path: PathBuf,
    },
    /// A file or folder could not be written or read.
    #[error("cannot {action} {}: {source}; check free space and permissions, then name a new folder", path.display())]
    Io {
        /// What was attempted, as a verb.
        action: &'static str,
        /// The file or folder.
        path: PathBuf,
        /// The reason the system gave.
        source: std::io::Error,
    },
    /// An option lies outside what can be simulated.
    #[error("{option} is {value}: {remedy}")]
    Option {
        /// The option's name.
        option: &'static str,
        /// The value given.
        value: String,
        /// What to give instead.
        remedy: &'static str,
    },
    /// The protocol has no rule for something the simulated nurses do.
    #[error("the protocol has no recheck rule with the trigger {trigger}: add one, or name another protocol")]
    Protocol {
        /// The trigger that is missing.
        trigger: &'static str,
    },
    /// The simulated laboratory knows lines that are the same with and without risk only.
    #[error("the lines of {standard} are not the same with and without risk: name a protocol whose lines are")]
    Lines {
        /// The standard.
        standard: String,
    },
    /// The rules name a time zone that the bundled database does not hold.
    #[error("time zone {zone:?} is unknown: write an IANA name such as Europe/London in the protocol")]
    Zone {
        /// The name given.
        zone: String,
    },
    /// The simulation parameters cannot be used.
    #[error("scenario.toml: {reason}; correct the scenario and build again")]
    Scenario {
        /// What is wrong, with the line where the parser knows it.
        reason: String,
    },
    /// What was planted could not be written as JSON.
    #[error("cannot write {} as JSON: {source}; report this as a defect", path.display())]
    Json {
        /// The file.
        path: PathBuf,
        /// The reason.
        source: serde_json::Error,
    },
}

impl InventError {
    /// Wraps an input or output error with the path it concerns.
    pub(crate) fn io(action: &'static str, path: &Path) -> impl FnOnce(std::io::Error) -> InventError {
        let path = path.to_path_buf();
        move |source| InventError::Io { action, path, source }
    }
}
