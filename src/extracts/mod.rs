//! Readers of what a hospital hands over: raw rows that know their file, line
//! and original text. Nothing is judged here; that is `intake`'s work.

pub mod csv;
pub mod files;
mod records;

use std::path::PathBuf;

/// Why a whole file is refused. Nothing of it is loaded.
#[derive(Debug, thiserror::Error)]
pub enum ExtractError {
    /// The file or folder cannot be read.
    #[error("cannot read {path}: {source}")]
    Unreadable {
        /// Which one.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The name does not say which table the file holds.
    #[error(
        "{path}: the name does not say what it holds\n  to do: name it after its table, for example screens.csv or screens_2026-09.csv; tables: {tables}"
    )]
    UnknownTable {
        /// Which file.
        path: PathBuf,
        /// The names there are.
        tables: String,
    },
    /// The first line lacks columns of the contract.
    #[error(
        "{path}, line 1: column{} missing: {}\n  found: {found}\n  to do: add the column, empty where unknown",
        if missing.len() == 1 { "" } else { "s" },
        missing.join(", ")
    )]
    MissingColumns {
        /// Which file.
        path: PathBuf,
        /// Columns of the contract that are not there.
        missing: Vec<String>,
        /// The header as it is.
        found: String,
    },
    /// A column stands twice in the first line.
    #[error("{path}, line 1: column {column} stands twice\n  to do: keep one of the two")]
    RepeatedColumn {
        /// Which file.
        path: PathBuf,
        /// Which column.
        column: String,
    },
    /// The lines end in carriage returns alone, or another separator is used.
    #[error("{path}, line 1: {what}\n  to do: export as comma-separated text with line feeds")]
    NotCommaSeparated {
        /// Which file.
        path: PathBuf,
        /// What it looks like.
        what: &'static str,
    },
    /// A folder without extracts.
    #[error("{path} holds no .csv file\n  to do: check that this is the folder of the extracts")]
    NothingToLoad {
        /// Which folder.
        path: PathBuf,
    },
    /// The first line is not text in UTF-8, or there is none.
    #[error(
        "{path}, line 1: no header line in UTF-8, or nothing at all\n  to do: export as comma-separated UTF-8 with a header"
    )]
    NoHeader {
        /// Which file.
        path: PathBuf,
    },
    /// A line is too long to be a row.
    #[error("{path}, line {line}: longer than {limit} bytes\n  to do: check that this is a CSV file")]
    LineTooLong {
        /// Which file.
        path: PathBuf,
        /// Which line, counted from 1.
        line: u64,
        /// The limit.
        limit: u64,
    },
}
