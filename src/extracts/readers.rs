//! Opens each file with the reader of its form, and reads again a record that was
//! kept as text.

use std::io;
use std::path::{Path, PathBuf};

use jiff::tz::TimeZone;

use super::csv::{self, CsvExtract};
use super::fhir::{self, FhirReader, FhirSettings, References};
use super::files::{ExtractFile, Form};
use super::hl7v2::{self, Hl7Reader, Hl7Settings, Visits};
use super::mapped::{self, MappedReader};
use super::record::Record;
use super::sources::{Format, Sources};
use super::{ExtractError, Reader};
use crate::warehouse::tables::SourceTable;

/// The type of the identifier that is a baby's id, unless `sources.toml` says another
/// (HL7 table 0203: medical record number).
const IDENTIFIER_TYPE: &str = "MR";

/// What the readers of one load share: the mappings, and what earlier files said that
/// later ones refer to.
pub struct Readers<'a> {
    sources: &'a Sources,
    zone: &'a TimeZone,
    fhir: FhirSettings,
    references: References,
    hl7v2: Hl7Settings,
    visits: Visits,
}

/// Something a reader learned that files of a later load may refer to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Learned {
    /// `fhir` or `hl7v2`.
    pub format: &'static str,
    /// What it is about.
    pub key: String,
    /// What was learned.
    pub value: String,
}

impl<'a> Readers<'a> {
    /// Readers of the sources of a warehouse, in whose zone times without offset are.
    pub fn new(sources: &'a Sources, zone: &'a TimeZone) -> Self {
        let identifier_type = |said: &Option<String>| said.clone().unwrap_or_else(|| IDENTIFIER_TYPE.to_owned());
        Self {
            sources,
            zone,
            fhir: FhirSettings {
                codes: sources.codes().clone(),
                identifier_type: identifier_type(&sources.fhir().identifier_type),
                identifier_system: sources.fhir().identifier_system.clone(),
            },
            references: References::default(),
            hl7v2: Hl7Settings {
                codes: sources.codes().clone(),
                zone: zone.clone(),
                identifier_type: identifier_type(&sources.hl7v2().identifier_type),
                identifier_authority: sources.hl7v2().identifier_authority.clone(),
                charset: sources.hl7v2().charset.clone(),
            },
            visits: Visits::default(),
        }
    }

    /// Recalls what a reader learned in an earlier load; `false` when it cannot be read.
    pub fn recall(&mut self, format: &str, key: &str, value: &str) -> bool {
        match format {
            "fhir" => self.references.recall(key, value),
            _ => self.visits.recall(key, value),
        }
    }

    /// What was learned in this load.
    pub fn learned(&self) -> impl Iterator<Item = Learned> {
        let of = |format| move |(key, value)| Learned { format, key, value };
        let references = self.references.learned().into_iter().map(of("fhir"));
        references.chain(self.visits.learned().into_iter().map(of("hl7v2")))
    }

    /// Learns what other resources refer to, of a file of a bulk export. All files of a load
    /// are learned before the first is read, as they refer to each other in any order.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn learn(&mut self, file: &ExtractFile) -> Result<(), ExtractError> {
        if matches!(file.form, Form::Fhir) {
            let read = fhir::open(&file.path).and_then(|from| self.references.index(from, &self.fhir));
            read.map_err(unreadable(&file.path))?;
        }
        Ok(())
    }

    /// Opens a file.
    ///
    /// # Errors
    /// When it cannot be read, or is refused as a whole.
    pub fn open(&mut self, file: &ExtractFile) -> Result<Box<dyn Reader + '_>, ExtractError> {
        match &file.form {
            Form::Canonical(table) => Ok(Box::new(CsvExtract::open(&file.path, table)?)),
            Form::Mapped(name) => match self.sources.named(name) {
                Some(source) => Ok(Box::new(MappedReader::open(
                    &file.path,
                    source,
                    self.sources,
                    self.zone,
                )?)),
                None => Err(ExtractError::NoSuchSource {
                    path: file.path.clone(),
                    name: name.clone(),
                }),
            },
            Form::Fhir => {
                let from = fhir::open(&file.path).map_err(unreadable(&file.path))?;
                let mut reader = FhirReader::new(from, &self.fhir, &self.references);
                Ok(Box::new(Records {
                    path: file.path.clone(),
                    next: move || reader.next_record(),
                }))
            }
            Form::Hl7v2 => {
                let from = fhir::open(&file.path).map_err(unreadable(&file.path))?;
                let mut reader = Hl7Reader::new(from, &self.hl7v2, &mut self.visits);
                Ok(Box::new(Records {
                    path: file.path.clone(),
                    next: move || reader.next_record(),
                }))
            }
        }
    }

    /// Reads again a record that was kept as text, by the form it was read in; `None` when
    /// there is no such source any more.
    pub fn again(&mut self, form: &str, header: &str, text: &str, line: u64) -> Option<Record> {
        let (kind, name) = form.split_once(' ').unwrap_or((form, ""));
        match kind {
            "table" => {
                let row = csv::row_of(SourceTable::named(name)?, header, text);
                Some(Record {
                    line,
                    text: text.to_owned(),
                    rows: vec![row],
                    ..Record::default()
                })
            }
            "source" => {
                let source = self.sources.named(name)?;
                Some(mapped::record_of(text, header, line, source, self.sources, self.zone))
            }
            "fhir" => Some(Record {
                line,
                ..fhir::record_of(text, &self.fhir, &self.references)
            }),
            "hl7v2" => Some(Record {
                line,
                ..hl7v2::record_of(text, &self.hl7v2, &mut self.visits)
            }),
            _ => None,
        }
    }
}

/// Records of a file, as a reader gives them one by one.
struct Records<F> {
    path: PathBuf,
    next: F,
}

impl<F: FnMut() -> io::Result<Option<Record>>> Reader for Records<F> {
    fn next_record(&mut self) -> Result<Option<Record>, ExtractError> {
        (self.next)().map_err(unreadable(&self.path))
    }
}

fn unreadable(path: &Path) -> impl FnOnce(io::Error) -> ExtractError {
    let path = path.to_owned();
    move |source| ExtractError::Unreadable { path, source }
}

/// How `sources.toml` says that a file is read, by its name.
pub fn form_of(sources: &Sources, path: &Path) -> Option<Form> {
    let source = sources.for_file(path)?;
    Some(match source.format() {
        Format::Csv => Form::Mapped(source.name().to_owned()),
        Format::Fhir => Form::Fhir,
        Format::Hl7v2 => Form::Hl7v2,
    })
}
