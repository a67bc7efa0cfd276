//! Why a whole file of a source is refused. Nothing of it is loaded.

use std::io;
use std::path::{Path, PathBuf};

use super::plan::HeaderFault;
use crate::extracts::delimited::{DelimitedError, Header};
use crate::extracts::sources::Source;
use crate::extracts::text::TextError;

/// Why a file is refused.
#[derive(Debug, thiserror::Error)]
pub enum MappedError {
    /// It cannot be read.
    #[error("cannot read {path}: {source}")]
    Unreadable {
        /// Which file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// It is no text, or not in an encoding that can be found.
    #[error(
        "{path}: {why}\n  to do: declare its encoding in sources.toml, such as encoding = \"utf-16le\", or export it as UTF-8"
    )]
    NoText {
        /// Which file.
        path: PathBuf,
        /// What it looks like.
        why: String,
    },
    /// Its header cannot be read.
    #[error("{path}, line {line}: {why}\n  to do: {remedy}")]
    Header {
        /// Which file.
        path: PathBuf,
        /// Line on which the header is expected, counted from 1.
        line: u64,
        /// What is wrong.
        why: String,
        /// What to do.
        remedy: &'static str,
    },
    /// Its header does not fit the mapping.
    #[error("{path}: {why}\n  found: {found}\n  to do: {remedy}")]
    Columns {
        /// Which file.
        path: PathBuf,
        /// What does not fit.
        why: String,
        /// The header as it is.
        found: String,
        /// What to do.
        remedy: String,
    },
    /// A line is too long to be a row.
    #[error("{path}, {why}\n  to do: check that this is a file of this source")]
    LineTooLong {
        /// Which file.
        path: PathBuf,
        /// Which line.
        why: String,
    },
}

impl MappedError {
    pub(super) fn unreadable(path: &Path, source: io::Error) -> Self {
        let path = path.to_owned();
        Self::Unreadable { path, source }
    }

    pub(super) fn of_text(path: &Path, error: TextError) -> Self {
        match error {
            TextError::Io(source) => Self::unreadable(path, source),
            TextError::ZeroBytes => Self::NoText {
                path: path.to_owned(),
                why: error.to_string(),
            },
        }
    }

    /// While the header is read.
    pub(super) fn of_rows(path: &Path, source: &Source, error: DelimitedError) -> Self {
        let remedy = match error {
            DelimitedError::Io(_) | DelimitedError::LineTooLong { .. } => return Self::of_row(path, error),
            DelimitedError::NoHeader => "check skip_lines and encoding of the source, and that the file is whole",
            DelimitedError::CarriageReturns => "export with line feeds at the line ends",
            DelimitedError::TwoDelimiters(..) => "declare the delimiter of the source in sources.toml",
        };
        Self::Header {
            path: path.to_owned(),
            line: source.said.skip_lines.saturating_add(1),
            why: error.to_string(),
            remedy,
        }
    }

    pub(super) fn of_row(path: &Path, error: DelimitedError) -> Self {
        match error {
            DelimitedError::Io(source) => Self::unreadable(path, source),
            other => Self::LineTooLong {
                path: path.to_owned(),
                why: other.to_string(),
            },
        }
    }

    pub(super) fn of_header(path: &Path, source: &Source, header: &Header, why: HeaderFault) -> Self {
        let name = source.name();
        let remedy = match why {
            HeaderFault::Missing(_) => format!(
                "check skip_lines if this is not the header line; else add the column's new name to its list in source '{name}' of sources.toml, or optional = true if files may lack it"
            ),
            HeaderFault::Repeated(_) => "keep one of the two".to_owned(),
        };
        Self::Columns {
            path: path.to_owned(),
            why: format!("source '{name}': {why}"),
            found: header.text.clone(),
            remedy,
        }
    }
}
