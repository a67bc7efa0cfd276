//! Removes old snapshots. Their files are shared with newer ones by hard links,
//! so only what no newer snapshot holds is freed.

use std::fs::{self, File, TryLockError};
use std::os::unix::fs::MetadataExt;
use std::path::Path;

use super::disk::{remove_folder, sync};
use super::error::{WarehouseError, io};
use super::folder::Warehouse;
use super::leftovers::REMOVING;
use super::lock::WriteLock;
use super::manifest::FILE;

/// What was tidied away.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tidied {
    /// Loads whose snapshots are gone, in order.
    pub removed: Vec<i64>,
    /// Older loads that stay because somebody is reading them.
    pub in_use: Vec<i64>,
    /// Bytes that no other snapshot held.
    pub freed_bytes: u64,
}

impl Warehouse {
    /// Removes all snapshots but the newest `keep`, which is at least 1. Takes the lock as proof.
    ///
    /// # Errors
    /// When a folder cannot be renamed or removed; what was begun is finished by the next writer.
    pub fn tidy(&self, _lock: &WriteLock, keep: usize) -> Result<Tidied, WarehouseError> {
        let loads = self.loads()?;
        let old = &loads[..loads.len().saturating_sub(keep.max(1))];
        let folder = self.snapshots();
        let mut tidied = Tidied::default();
        for (load, name) in self.numbered()?.into_iter().filter(|(load, _)| old.contains(load)) {
            let path = folder.join(&name);
            let manifest = File::open(path.join(FILE)).map_err(io("cannot read", &path))?;
            if let Err(TryLockError::WouldBlock) = manifest.try_lock() {
                tidied.in_use.push(load);
                continue;
            }
            tidied.freed_bytes += held_alone(&path)?;
            // Renamed first: a snapshot is there whole or not at all.
            let leaving = folder.join(format!("{REMOVING}{name}"));
            fs::rename(&path, &leaving).map_err(io("cannot rename", &path))?;
            remove_folder(&leaving)?;
            tidied.removed.push(load);
        }
        if !tidied.removed.is_empty() {
            sync(&folder)?;
        }
        Ok(tidied)
    }
}

/// Bytes in files below a folder that have no other name elsewhere.
fn held_alone(folder: &Path) -> Result<u64, WarehouseError> {
    let mut bytes = 0;
    for entry in fs::read_dir(folder).map_err(io("cannot read", folder))? {
        let below = entry.map_err(io("cannot read", folder))?.path();
        let about = fs::symlink_metadata(&below).map_err(io("cannot read", &below))?;
        if about.is_dir() {
            bytes += held_alone(&below)?;
        } else if about.nlink() == 1 {
            bytes += about.len();
        }
    }
    Ok(bytes)
}
