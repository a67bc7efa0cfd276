//! A published snapshot.

use std::fs::{self, File, TryLockError};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::digest;
use super::error::{WarehouseError, io};
use super::folder::{NOTES, REVIEWS};
use super::manifest::{self, Manifest};

/// A published snapshot: it never changes, and is not removed while it is open.
#[derive(Clone, Debug)]
pub struct Snapshot {
    path: PathBuf,
    manifest: Manifest,
    /// Its manifest, locked for sharing.
    _in_use: Arc<File>,
}

impl Snapshot {
    pub(super) fn open(path: &Path) -> Result<Self, WarehouseError> {
        let snapshot = Self::as_it_is(path)?;
        for file in snapshot.manifest.tables.values().flat_map(|table| &table.files) {
            let path = path.join(&file.path);
            if fs::metadata(&path).map(|found| found.len()).ok() != Some(file.bytes) {
                return Err(WarehouseError::Damaged { path });
            }
        }
        Ok(snapshot)
    }

    /// Opens it whatever has become of its files.
    pub(super) fn as_it_is(path: &Path) -> Result<Self, WarehouseError> {
        let in_use = File::open(path.join(manifest::FILE)).map_err(io("cannot read", path))?;
        // A file system without locks cannot be asked; then nobody can know that it is in use.
        if let Err(TryLockError::WouldBlock) = in_use.try_lock_shared() {
            return Err(WarehouseError::BeingRemoved { path: path.to_owned() });
        }
        Ok(Self {
            path: path.to_owned(),
            manifest: Manifest::read(path)?,
            _in_use: Arc::new(in_use),
        })
    }

    /// Its folder.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// What it holds.
    pub fn manifest(&self) -> &Manifest {
        &self.manifest
    }

    /// The protocol it was derived by, as text.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn protocol_text(&self) -> Result<String, WarehouseError> {
        let path = self.path.join("protocol.toml");
        fs::read_to_string(&path).map_err(io("cannot read", &path))
    }

    /// The notes it was made with, as text; empty without any.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn notes_text(&self) -> Result<String, WarehouseError> {
        self.text_of(NOTES, &self.manifest.notes_sha256)
    }

    /// The case reviews it was made with, as text; empty without any.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn reviews_text(&self) -> Result<String, WarehouseError> {
        self.text_of(REVIEWS, &self.manifest.reviews_sha256)
    }

    fn text_of(&self, name: &str, sha256: &str) -> Result<String, WarehouseError> {
        if sha256.is_empty() {
            return Ok(String::new());
        }
        let path = self.path.join(name);
        fs::read_to_string(&path).map_err(io("cannot read", &path))
    }
}

/// What people wrote, kept in a snapshot.
#[derive(Clone, Copy, Debug)]
pub struct Texts<'a> {
    /// The protocol it is derived by.
    pub protocol: &'a str,
    /// The notes; empty without any.
    pub notes: &'a str,
    /// The case reviews; empty without any.
    pub reviews: &'a str,
}

impl Texts<'_> {
    /// The notes' hash, as the manifest holds it; empty without any.
    pub fn notes_sha256(&self) -> String {
        hash_of(self.notes)
    }

    /// The reviews' hash, likewise.
    pub fn reviews_sha256(&self) -> String {
        hash_of(self.reviews)
    }
}

fn hash_of(text: &str) -> String {
    match text.is_empty() {
        true => String::new(),
        false => digest::of_text(text),
    }
}
