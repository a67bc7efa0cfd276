//! Which files to read, and which table each holds, by name.

use std::path::{Path, PathBuf};

use super::ExtractError;

/// A file to load and the table it holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ExtractFile {
    /// Where it is.
    pub path: PathBuf,
    /// Name of the table.
    pub table: &'static str,
}

/// The extracts among `paths`, in the order given; of a folder, its `.csv` files by name.
///
/// # Errors
/// When a path cannot be read, or a CSV file's name starts with none of `tables`.
pub fn listed(paths: &[PathBuf], tables: &[&'static str]) -> Result<Vec<ExtractFile>, ExtractError> {
    let mut files = Vec::new();
    for path in paths {
        if path.is_dir() {
            let all = csv_files(path)?;
            if all.is_empty() {
                return Err(ExtractError::NothingToLoad { path: path.clone() });
            }
            for below in all {
                files.push(named(&below, tables)?);
            }
        } else if path.is_file() {
            files.push(named(path, tables)?);
        } else {
            return Err(ExtractError::Unreadable {
                path: path.clone(),
                source: std::io::ErrorKind::NotFound.into(),
            });
        }
    }
    Ok(files)
}

fn csv_files(folder: &Path) -> Result<Vec<PathBuf>, ExtractError> {
    let unreadable = |source| ExtractError::Unreadable {
        path: folder.to_owned(),
        source,
    };
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        if path.extension().is_some_and(|e| e.eq_ignore_ascii_case("csv")) {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

fn named(path: &Path, tables: &[&'static str]) -> Result<ExtractFile, ExtractError> {
    let stem = path
        .file_stem()
        .and_then(|s| s.to_str())
        .unwrap_or_default()
        .to_lowercase();
    let is_table = |table: &&&'static str| {
        stem.strip_prefix(**table)
            .is_some_and(|rest| rest.is_empty() || rest.starts_with(['_', '-', '.', ' ']))
    };
    match tables.iter().find(is_table) {
        Some(table) => Ok(ExtractFile {
            path: path.to_owned(),
            table,
        }),
        None => Err(ExtractError::UnknownTable {
            path: path.to_owned(),
            tables: tables.join(", "),
        }),
    }
}
