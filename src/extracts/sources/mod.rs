//! `sources.toml`: how the files of a hospital say what the contract asks for.
//!
//! A new source is a new table there, not code. [`Sources::parse`] refuses unknown
//! keys by line and everything that cannot hold; `example.toml` shows all there is.

mod check;
mod column;
mod file;
mod pattern;

use std::path::{Path, PathBuf};

pub(in crate::extracts) use check::kind_of;
pub(in crate::extracts) use column::{Column, Names, Taken};
pub(in crate::extracts) use file::{CheckDigit, Conditions, IdRule, Target};
pub use file::{Fhir, Format, Hl7v2};

use jiff::tz::TimeZone;

use crate::nearest;

use super::codes::{CodeLists, Codes};

/// A commented `sources.toml` with every setting; the tests parse it.
pub const EXAMPLE: &str = include_str!("example.toml");

/// All sources of a warehouse.
#[derive(Clone, Debug, Default)]
pub struct Sources {
    all: Vec<Source>,
    codes: Codes,
    fhir: Fhir,
    hl7v2: Hl7v2,
}

/// One source: which files are its own, and how they are read.
#[derive(Clone, Debug)]
pub struct Source {
    pub(in crate::extracts) said: file::Source,
    pub(in crate::extracts) zone: Option<TimeZone>,
}

/// Why a `sources.toml` is refused. Nothing is loaded.
#[derive(Debug, thiserror::Error)]
pub enum SourcesError {
    /// The file cannot be read.
    #[error("cannot read {path}: {source}\n  to do: check that it may be read")]
    Unreadable {
        /// Which file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The text is no list of sources: syntax, an unknown key, a wrong type.
    #[error("{path} is not valid\n{what}{}", .nearest.as_ref().map_or_else(String::new, |n| format!("  to do: did you mean '{n}'?")))]
    Syntax {
        /// Which file.
        path: PathBuf,
        /// What is wrong, with its line.
        what: Box<toml::de::Error>,
        /// A key that there is and that looks like the one found.
        nearest: Option<String>,
    },
    /// The text is well formed but says something that cannot hold.
    #[error("{path} is not valid: {what}")]
    Meaning {
        /// Which file.
        path: PathBuf,
        /// What cannot hold, and what to do.
        what: String,
    },
}

impl Sources {
    /// Reads the file; `None` when there is none.
    ///
    /// # Errors
    /// When it cannot be read, or is refused by [`Sources::parse`].
    pub fn read(path: &Path) -> Result<Option<Self>, SourcesError> {
        match std::fs::read_to_string(path) {
            Ok(text) => Self::parse(&text, path).map(Some),
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(None),
            Err(source) => Err(SourcesError::Unreadable {
                path: path.to_owned(),
                source,
            }),
        }
    }

    /// Parses and checks the text; `path` is for messages.
    ///
    /// # Errors
    /// Names the line of an unknown key, or says what cannot hold.
    pub fn parse(text: &str, path: &Path) -> Result<Self, SourcesError> {
        let file: file::SourcesFile = toml::from_str(text).map_err(|what| SourcesError::Syntax {
            path: path.to_owned(),
            nearest: nearest::meant_in(what.message()),
            what: Box::new(what),
        })?;
        let refused = |what| SourcesError::Meaning {
            path: path.to_owned(),
            what,
        };
        let lists = CodeLists {
            systems: file.systems,
            codes: file.codes,
            words: file.words,
        };
        let codes = Codes::with(&lists).map_err(refused)?;
        check::names(&file.source).map_err(refused)?;
        let all: Result<Vec<Source>, String> = file.source.into_iter().map(Source::checked).collect();
        Ok(Self {
            all: all.map_err(refused)?,
            codes,
            fhir: file.fhir,
            hl7v2: file.hl7v2,
        })
    }

    /// The source of a file, by its name: the first whose patterns fit.
    pub fn for_file(&self, path: &Path) -> Option<&Source> {
        let name = path.file_name()?.to_str()?;
        let fits = |source: &&Source| source.said.files.iter().any(|pattern| pattern::fits(pattern, name));
        self.all.iter().find(fits)
    }

    /// The source of that name.
    pub fn named(&self, name: &str) -> Option<&Source> {
        self.all.iter().find(|source| source.said.name == name)
    }

    /// All sources, in the order of the file.
    pub fn all(&self) -> &[Source] {
        &self.all
    }

    /// What codes and words mean: the lists that ship, and those of this file.
    pub fn codes(&self) -> &Codes {
        &self.codes
    }

    /// Settings of FHIR files.
    pub fn fhir(&self) -> &Fhir {
        &self.fhir
    }

    /// Settings of HL7 v2 messages.
    pub fn hl7v2(&self) -> &Hl7v2 {
        &self.hl7v2
    }
}

impl Source {
    fn checked(said: file::Source) -> Result<Self, String> {
        check::source(&said).map_err(|what| format!("source '{}': {what}", said.name))?;
        let zone = said.zone.as_deref().map(check::zone).transpose()?;
        Ok(Self { said, zone })
    }

    /// What it is called.
    pub fn name(&self) -> &str {
        &self.said.name
    }

    /// How its files are written.
    pub fn format(&self) -> Format {
        self.said.format
    }

    /// The zone of its times without offset, when it is not the warehouse's.
    pub fn zone(&self) -> Option<&TimeZone> {
        self.zone.as_ref()
    }
}
