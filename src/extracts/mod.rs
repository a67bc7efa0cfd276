//! Readers of what a hospital hands over: records that know their file, line and
//! original text. Nothing is judged here; that is `intake`'s work.

pub mod codes;
pub mod csv;
pub mod delimited;
pub mod fhir;
pub mod files;
pub mod hl7v2;
pub mod mapped;
pub mod readers;
pub mod reason;
pub mod record;
mod records;
pub mod sources;
pub mod text;

use std::path::PathBuf;

use record::Record;

/// An open file, read record by record.
pub trait Reader {
    /// The next record, or `None` at the end of the file.
    ///
    /// # Errors
    /// When the file cannot be read on. A single bad record is not an error: see
    /// [`Record::fault`] and [`record::SourceRow::fault`].
    fn next_record(&mut self) -> Result<Option<Record>, ExtractError>;

    /// Tables it feeds even where it has no row for them.
    fn tables(&self) -> Vec<&'static str> {
        Vec::new()
    }

    /// The header line; empty when there is none.
    fn header_text(&self) -> &str {
        ""
    }

    /// Columns that nothing is read from.
    fn unread_columns(&self) -> &[String] {
        &[]
    }

    /// Remarks on the file, for the user.
    fn remarks(&self) -> Vec<String> {
        Vec::new()
    }
}

/// Why a whole file is refused. Nothing of it is loaded.
#[derive(Debug, thiserror::Error)]
pub enum ExtractError {
    /// The file or folder cannot be read.
    #[error("cannot read {path}: {source}\n  to do: check the path, and that you may read it")]
    Unreadable {
        /// Which one.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The name does not say which table the file holds.
    #[error(
        "{path}: the name does not say what it holds\n  to do: name it after its table, for example screens.csv or screens_2026-09.csv, or write a source for it in sources.toml; tables: {tables}"
    )]
    UnknownTable {
        /// Which file.
        path: PathBuf,
        /// The names there are.
        tables: String,
    },
    /// A file of a source is refused.
    #[error(transparent)]
    Mapped(#[from] mapped::MappedError),
    /// A bulk export is refused.
    #[error(transparent)]
    Fhir(#[from] fhir::FhirError),
    /// The mapping is refused.
    #[error(transparent)]
    Sources(#[from] sources::SourcesError),
    /// A source that `sources.toml` does not have.
    #[error("{path}: there is no source '{name}' in sources.toml")]
    NoSuchSource {
        /// Which file.
        path: PathBuf,
        /// The source.
        name: String,
    },
    /// Packed CSV.
    #[error("{path}: CSV is not read packed\n  to do: unpack it first; .ndjson.gz and .hl7.gz are read as they are")]
    PackedCsv {
        /// Which file.
        path: PathBuf,
    },
    /// A table of a data model that is not read.
    #[error(
        "{path}: this looks like a table of the OMOP common data model, which siskin does not read\n  to do: export births, screens and serum as CSV, FHIR or HL7 v2"
    )]
    Omop {
        /// Which file.
        path: PathBuf,
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
    #[error(
        "{path} holds no .csv, .ndjson or .hl7 file\n  to do: name the folder that holds the extracts itself, not one above it"
    )]
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
