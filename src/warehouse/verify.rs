//! Compares a snapshot on disk with its manifest, byte by byte.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use super::digest;
use super::error::{WarehouseError, io};
use super::folder::{NOTES, REVIEWS};
use super::manifest::{self, DataFile};
use super::snapshot::Snapshot;

/// What a comparison found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Verified {
    /// Files compared.
    pub files: usize,
    /// Their size.
    pub bytes: u64,
    /// What is not as it was written.
    pub faults: Vec<Fault>,
}

/// A file that is not as it was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fault {
    /// It is gone or cannot be read.
    Missing(PathBuf),
    /// It has other bytes.
    Changed(PathBuf),
    /// It is in no manifest.
    Stray(PathBuf),
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Missing(path) => write!(f, "{}: missing or not readable", path.display()),
            Self::Changed(path) => write!(f, "{}: not the bytes that were written", path.display()),
            Self::Stray(path) => write!(f, "{}: was not written by siskin", path.display()),
        }
    }
}

impl Snapshot {
    /// Reads every file of the snapshot and compares it with the manifest.
    ///
    /// # Errors
    /// When the folder cannot be listed. Files that cannot be read are faults.
    pub fn verify(&self) -> Result<Verified, WarehouseError> {
        let mut found = Verified::default();
        let mut known: BTreeSet<PathBuf> = [manifest::FILE, "protocol.toml"]
            .map(|name| self.path().join(name))
            .into_iter()
            .collect();
        let written = [
            (NOTES, &self.manifest().notes_sha256),
            (REVIEWS, &self.manifest().reviews_sha256),
        ];
        for (name, sha256) in written.into_iter().filter(|(_, sha256)| !sha256.is_empty()) {
            let path = self.path().join(name);
            if digest::of_file(&path).ok().as_ref() != Some(sha256) {
                found.faults.push(Fault::Changed(path.clone()));
            }
            known.insert(path);
        }
        for file in self.manifest().tables.values().flat_map(|table| &table.files) {
            let path = self.path().join(&file.path);
            found.files += 1;
            found.bytes += file.bytes;
            found.faults.extend(fault(&path, file));
            known.insert(path);
        }
        let protocol = self.protocol_text().map(|text| digest::of_text(&text));
        if protocol.ok().as_ref() != Some(&self.manifest().derived_by.protocol_sha256) {
            found.faults.push(Fault::Changed(self.path().join("protocol.toml")));
        }
        stray(self.path(), &known, &mut found.faults)?;
        Ok(found)
    }
}

fn fault(path: &Path, file: &DataFile) -> Option<Fault> {
    match digest::of_file(path) {
        Err(_) => Some(Fault::Missing(path.to_owned())),
        Ok(hash) if hash != file.sha256 => Some(Fault::Changed(path.to_owned())),
        Ok(_) => None,
    }
}

fn stray(folder: &Path, known: &BTreeSet<PathBuf>, faults: &mut Vec<Fault>) -> Result<(), WarehouseError> {
    for entry in fs::read_dir(folder).map_err(io("cannot read", folder))? {
        let path = entry.map_err(io("cannot read", folder))?.path();
        if path.is_dir() {
            stray(&path, known, faults)?;
        } else if !known.contains(&path) {
            faults.push(Fault::Stray(path));
        }
    }
    Ok(())
}
