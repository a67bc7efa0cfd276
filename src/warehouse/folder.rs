//! The folder of a warehouse, and where things are in it.

use std::path::{Path, PathBuf};

use super::error::{WarehouseError, io};

/// What people write beside the protocol: in the warehouse, and as it was in each snapshot.
pub(super) const NOTES: &str = "notes.toml";
pub(super) const REVIEWS: &str = "reviews.csv";

/// The link to the newest snapshot.
pub(super) const CURRENT: &str = "current";

/// A warehouse folder.
#[derive(Clone, Debug)]
pub struct Warehouse {
    root: PathBuf,
}

impl Warehouse {
    /// The warehouse in an existing folder.
    ///
    /// # Errors
    /// When the folder is not there.
    pub fn at(root: &Path) -> Result<Self, WarehouseError> {
        if !root.is_dir() {
            return Err(WarehouseError::NotThere(root.to_owned()));
        }
        Ok(Self { root: root.to_owned() })
    }

    /// The folder.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// Where the unit's rules are.
    pub fn protocol_path(&self) -> PathBuf {
        self.root.join("protocol.toml")
    }

    /// Where the notes are, when there are any.
    pub fn notes_path(&self) -> PathBuf {
        self.root.join(NOTES)
    }

    /// Where the case reviews are, when there are any.
    pub fn reviews_path(&self) -> PathBuf {
        self.root.join(REVIEWS)
    }

    /// The folder of the snapshots.
    pub(super) fn snapshots(&self) -> PathBuf {
        self.root.join("snapshots")
    }

    /// Where the link to the newest snapshot is.
    pub(super) fn link(&self) -> PathBuf {
        self.root.join(CURRENT)
    }

    /// Numbers and names of the snapshot folders, in order.
    pub(super) fn numbered(&self) -> Result<Vec<(i64, String)>, WarehouseError> {
        let names = self.snapshot_folders()?.into_iter();
        let mut found: Vec<(i64, String)> = names.filter_map(|name| Some((name.parse().ok()?, name))).collect();
        found.sort();
        Ok(found)
    }

    /// Names of all folders among the snapshots.
    pub(super) fn snapshot_folders(&self) -> Result<Vec<String>, WarehouseError> {
        let folder = self.snapshots();
        let entries = match std::fs::read_dir(&folder) {
            Ok(entries) => entries,
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
            Err(e) => return Err(io("cannot read", &folder)(e)),
        };
        let mut names = Vec::new();
        for entry in entries {
            let name = entry.map_err(io("cannot read", &folder))?.file_name();
            names.push(name.to_string_lossy().into_owned());
        }
        Ok(names)
    }
}

/// Name of a load's snapshot folder.
pub(super) fn snapshot_name(load: i64) -> String {
    format!("{load:06}")
}
