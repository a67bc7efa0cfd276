//! The files of a bulk export: those of a folder, those a manifest lists, or one alone;
//! plain or gzip.

use std::fs::File;
use std::io::{self, BufRead, BufReader, Read};
use std::path::{Path, PathBuf};

use flate2::bufread::MultiGzDecoder;
use serde::Deserialize;

/// Why an export cannot be read at all.
#[derive(Debug, thiserror::Error)]
pub enum FhirError {
    /// The file or folder cannot be read.
    #[error("cannot read {path}: {source}")]
    Unreadable {
        /// Which one.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The manifest is no manifest.
    #[error(
        "{path}, line {line}, column {column}: no Bulk Data manifest: {message}\n  to do: take the manifest as the server gave it, or remove it to load the .ndjson files beside it"
    )]
    Manifest {
        /// Which file.
        path: PathBuf,
        /// Line, counted from 1.
        line: usize,
        /// Column, counted from 1.
        column: usize,
        /// What is wrong.
        message: String,
    },
    /// The manifest lists a file that is not beside it.
    #[error("{manifest} lists {name}, which is not beside it\n  to do: fetch {name}, or the whole export again")]
    ListedFileMissing {
        /// The manifest.
        manifest: PathBuf,
        /// The file's name.
        name: String,
    },
    /// A folder without resources.
    #[error("{path} holds no .ndjson file\n  to do: check that this is the folder of the export")]
    NothingToLoad {
        /// Which folder.
        path: PathBuf,
    },
}

/// Types of resource in the order in which their files are read: what others refer to first.
pub(crate) const TYPES: [&str; 8] = [
    "Patient",
    "RelatedPerson",
    "Device",
    "Encounter",
    "Condition",
    "Specimen",
    "Observation",
    "Procedure",
];

#[derive(Default, Deserialize)]
#[serde(default)]
struct Manifest {
    output: Vec<Listed>,
    deleted: Vec<Listed>,
    error: Vec<Listed>,
}

#[derive(Deserialize)]
struct Listed {
    url: String,
}

/// The files of an export: of a folder, or of its `manifest.json`. A folder with a manifest
/// holds what the manifest lists, no more. Deletions come last.
///
/// # Errors
/// When something cannot be read, the manifest is none, or a file it lists is missing.
pub fn files_in(path: &Path) -> Result<Vec<PathBuf>, FhirError> {
    if path.is_dir() {
        let manifest = path.join("manifest.json");
        if manifest.is_file() {
            return listed_in(&manifest);
        }
        return beside(path);
    }
    listed_in(path)
}

/// Opens a file; gzip is known by its first bytes, and may have several members.
///
/// # Errors
/// When it cannot be read.
pub fn open(path: &Path) -> io::Result<Box<dyn BufRead>> {
    const BUFFER: usize = 1 << 17;
    let mut file = File::open(path)?;
    let mut begins = Vec::with_capacity(2);
    file.by_ref().take(2).read_to_end(&mut begins)?;
    let is_gzip = begins == [0x1f, 0x8b];
    let whole = BufReader::with_capacity(BUFFER, io::Cursor::new(begins).chain(file));
    if is_gzip {
        let plain = MultiGzDecoder::new(whole);
        return Ok(Box::new(BufReader::with_capacity(BUFFER, plain)));
    }
    Ok(Box::new(whole))
}

fn unreadable(path: &Path, source: io::Error) -> FhirError {
    FhirError::Unreadable {
        path: path.to_owned(),
        source,
    }
}

fn beside(folder: &Path) -> Result<Vec<PathBuf>, FhirError> {
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(|source| unreadable(folder, source))? {
        let path = entry.map_err(|source| unreadable(folder, source))?.path();
        let name = name_of(&path).to_lowercase();
        if path.is_file() && (name.ends_with(".ndjson") || name.ends_with(".ndjson.gz")) {
            files.push(path);
        }
    }
    if files.is_empty() {
        return Err(FhirError::NothingToLoad {
            path: folder.to_owned(),
        });
    }
    files.sort();
    files.sort_by_key(|path| (name_of(path).to_lowercase().starts_with("deleted"), place(path)));
    Ok(files)
}

fn listed_in(manifest: &Path) -> Result<Vec<PathBuf>, FhirError> {
    let text = std::fs::read(manifest).map_err(|source| unreadable(manifest, source))?;
    let listed: Manifest = serde_json::from_slice(&text).map_err(|error| FhirError::Manifest {
        path: manifest.to_owned(),
        line: error.line(),
        column: error.column(),
        message: error.to_string(),
    })?;
    let folder = manifest.parent().unwrap_or(Path::new(""));
    let mut files = Vec::new();
    for (list, is_deleted_list) in [(listed.output, false), (listed.error, false), (listed.deleted, true)] {
        for Listed { url } in list {
            let name = last_segment(&url);
            let path = found(folder, name).ok_or_else(|| FhirError::ListedFileMissing {
                manifest: manifest.to_owned(),
                name: if name.is_empty() { url.clone() } else { name.to_owned() },
            })?;
            files.push((is_deleted_list, place(&path), path));
        }
    }
    files.sort_by_key(|(is_deleted_list, place, _)| (*is_deleted_list, *place));
    Ok(files.into_iter().map(|(_, _, path)| path).collect())
}

/// `a.ndjson` of `https://host/export/a.ndjson?token=1`; empty when there is none.
fn last_segment(url: &str) -> &str {
    let path = url.split(['?', '#']).next().unwrap_or_default();
    match path.rsplit(['/', '\\']).next().unwrap_or_default() {
        "." | ".." => "",
        name => name,
    }
}

/// The file of that name, packed or not.
fn found(folder: &Path, name: &str) -> Option<PathBuf> {
    if name.is_empty() {
        return None;
    }
    let unpacked = name.strip_suffix(".gz").unwrap_or(name);
    let names = [name.to_owned(), format!("{name}.gz"), unpacked.to_owned()];
    names.iter().map(|name| folder.join(name)).find(|path| path.is_file())
}

fn name_of(path: &Path) -> &str {
    path.file_name().and_then(|name| name.to_str()).unwrap_or_default()
}

/// The place of a file's type among [`TYPES`]; other types come after them.
fn place(path: &Path) -> usize {
    let mut words = name_of(path).split(|c: char| !c.is_ascii_alphabetic());
    let kind = words.next().unwrap_or_default();
    let place = TYPES.iter().position(|known| known.eq_ignore_ascii_case(kind));
    place.unwrap_or(TYPES.len())
}
