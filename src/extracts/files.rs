//! Which files to read, and how each is read: by its name, or by a source of
//! `sources.toml` that it fits.

use std::path::{Path, PathBuf};

use crate::warehouse::tables::{SOURCE_TABLES, SourceTable};

use super::sources::Format;
use super::{ExtractError, fhir};

/// A file to load and how it is read.
#[derive(Clone, Debug)]
pub struct ExtractFile {
    /// Where it is.
    pub path: PathBuf,
    /// How it is read.
    pub form: Form,
}

/// How a file is read.
#[derive(Clone, Debug)]
pub enum Form {
    /// CSV with the columns of the contract, named after its table.
    Canonical(&'static SourceTable),
    /// CSV mapped by the source of that name.
    Mapped(String),
    /// Resources of a FHIR R4 bulk export.
    Fhir,
    /// HL7 v2 messages.
    Hl7v2,
}

impl Form {
    /// What it takes to read a row of it again: stored with rows set aside.
    pub fn word(&self) -> String {
        match self {
            Self::Canonical(table) => format!("table {}", table.name),
            Self::Mapped(source) => format!("source {source}"),
            Self::Fhir => "fhir".to_owned(),
            Self::Hl7v2 => "hl7v2".to_owned(),
        }
    }
}

/// The files among `paths`, in the order given; of a folder, those of a known kind, by name.
///
/// `source` says which source of `sources.toml` a file fits; `format` overrides the format
/// that follows from a file's name.
///
/// # Errors
/// When a path cannot be read, a folder holds nothing to load, or a file's name does not
/// show what it holds.
pub fn listed(
    paths: &[PathBuf],
    source: &dyn Fn(&Path) -> Option<Form>,
    format: Option<Format>,
) -> Result<Vec<ExtractFile>, ExtractError> {
    let mut files = Vec::new();
    for path in paths {
        if is_export(path, format)? {
            for path in fhir::files_in(path)? {
                files.push(ExtractFile { path, form: Form::Fhir });
            }
        } else if path.is_dir() {
            let below = files_of(path, source)?;
            if below.is_empty() {
                return Err(ExtractError::NothingToLoad { path: path.clone() });
            }
            for path in below {
                files.push(of(&path, source, format)?);
            }
        } else if path.is_file() {
            files.push(of(path, source, format)?);
        } else {
            return Err(ExtractError::Unreadable {
                path: path.clone(),
                source: std::io::ErrorKind::NotFound.into(),
            });
        }
    }
    Ok(files)
}

/// Whether this is a FHIR bulk export: its manifest, or a folder of nothing but resources.
fn is_export(path: &Path, format: Option<Format>) -> Result<bool, ExtractError> {
    let is_manifest = path
        .extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case("json"));
    if path.is_file() {
        return Ok(is_manifest && format.is_none_or(|asked| asked == Format::Fhir));
    }
    if !path.is_dir() {
        return Ok(false);
    }
    if let Some(asked) = format {
        return Ok(asked == Format::Fhir);
    }
    if path.join("manifest.json").is_file() {
        return Ok(true);
    }
    let formats: Vec<Option<Format>> = names_in(path)?.iter().map(|path| ending(path)).collect();
    let has = |wanted: Format| formats.contains(&Some(wanted));
    Ok(has(Format::Fhir) && !has(Format::Csv) && !has(Format::Hl7v2))
}

fn names_in(folder: &Path) -> Result<Vec<PathBuf>, ExtractError> {
    let unreadable = |source| ExtractError::Unreadable {
        path: folder.to_owned(),
        source,
    };
    let mut names = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        if path.is_file() {
            names.push(path);
        }
    }
    names.sort();
    Ok(names)
}

/// Files of a folder that can be extracts, by name.
fn files_of(folder: &Path, source: &dyn Fn(&Path) -> Option<Form>) -> Result<Vec<PathBuf>, ExtractError> {
    let is_extract = |path: &PathBuf| ending(path).is_some() || source(path).is_some();
    Ok(names_in(folder)?.into_iter().filter(is_extract).collect())
}

/// The format by the end of a name.
fn ending(path: &Path) -> Option<Format> {
    let name = path.file_name()?.to_str()?.to_lowercase();
    let name = name.strip_suffix(".gz").unwrap_or(&name);
    match Path::new(name).extension()?.to_str()? {
        "csv" => Some(Format::Csv),
        "ndjson" => Some(Format::Fhir),
        "hl7" => Some(Format::Hl7v2),
        _ => None,
    }
}

fn of(
    path: &Path,
    source: &dyn Fn(&Path) -> Option<Form>,
    format: Option<Format>,
) -> Result<ExtractFile, ExtractError> {
    let form = match format.or_else(|| ending(path)) {
        Some(Format::Fhir) => Form::Fhir,
        Some(Format::Hl7v2) => Form::Hl7v2,
        Some(Format::Csv) | None => match source(path) {
            Some(form) => form,
            None => Form::Canonical(table_of(path)?),
        },
    };
    Ok(ExtractFile {
        path: path.to_owned(),
        form,
    })
}

/// Names of the tables of the OMOP common data model that an export of newborns holds.
const OMOP_TABLES: [&str; 6] = [
    "person",
    "measurement",
    "visit_occurrence",
    "fact_relationship",
    "condition_occurrence",
    "procedure_occurrence",
];

fn table_of(path: &Path) -> Result<&'static SourceTable, ExtractError> {
    if path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("gz")) {
        return Err(ExtractError::PackedCsv { path: path.to_owned() });
    }
    let stem = path.file_stem().and_then(|s| s.to_str());
    let stem = stem.unwrap_or_default().to_lowercase();
    let is_of = |table: &str| {
        stem.strip_prefix(table)
            .is_some_and(|rest| rest.is_empty() || rest.starts_with(['_', '-', '.', ' ']))
    };
    if let Some(table) = SOURCE_TABLES.iter().find(|table| is_of(table.name)) {
        return Ok(table);
    }
    if OMOP_TABLES.contains(&stem.as_str()) {
        return Err(ExtractError::Omop { path: path.to_owned() });
    }
    let names: Vec<&str> = SOURCE_TABLES.iter().map(|table| table.name).collect();
    Err(ExtractError::UnknownTable {
        path: path.to_owned(),
        tables: names.join(", "),
    })
}
