//! What an interrupted writer left, known by its names, and removed by the next one.

use std::fs;
use std::path::Path;

use super::disk::{remove_file, remove_folder};
use super::error::WarehouseError;
use super::folder::{CURRENT, Warehouse};

/// What a snapshot in the making is called.
pub(super) const BUILDING: &str = ".building";

/// What the link to a snapshot about to be published is called until it is swapped in.
pub(super) const NEXT: &str = "current.next";

/// How the name of a snapshot on its way out begins.
pub(super) const REMOVING: &str = ".removing-";

impl Warehouse {
    /// Removes what an interrupted writer left: a half-built snapshot, one that was
    /// announced and never made current, and one that was being tidied away.
    ///
    /// # Errors
    /// When something cannot be removed. A snapshot newer than `current` that nobody
    /// announced is no leftover, so it is refused and never removed.
    pub(super) fn remove_leftovers(&self) -> Result<(), WarehouseError> {
        let folder = self.snapshots();
        let current = self.linked_to(CURRENT);
        if let Some(announced) = self.linked_to(NEXT)
            && current.as_ref().is_none_or(|current| announced > *current)
        {
            remove_folder(&folder.join(announced))?;
        }
        remove_file(&self.root().join(NEXT))?;
        remove_folder(&folder.join(BUILDING))?;
        for name in self.on_their_way_out()? {
            remove_folder(&folder.join(name))?;
        }
        let newest = self.numbered()?.pop().map(|(_, name)| name);
        match (current, newest) {
            (Some(current), Some(newest)) if newest > current => Err(WarehouseError::NotNewest {
                path: self.root().to_owned(),
                current,
                newest,
            }),
            _ => Ok(()),
        }
    }

    /// Whether an interrupted writer, or one at work, has left something.
    pub(super) fn has_leftovers(&self) -> Result<bool, WarehouseError> {
        let is_there = |path: &Path| fs::symlink_metadata(path).is_ok();
        Ok(is_there(&self.root().join(NEXT))
            || is_there(&self.snapshots().join(BUILDING))
            || !self.on_their_way_out()?.is_empty())
    }

    /// Name of the snapshot that a link points to.
    fn linked_to(&self, link: &str) -> Option<String> {
        let target = fs::read_link(self.root().join(link)).ok()?;
        let name = target.file_name()?.to_str()?.to_owned();
        name.parse::<i64>().is_ok().then_some(name)
    }

    fn on_their_way_out(&self) -> Result<Vec<String>, WarehouseError> {
        let names = self.snapshot_folders()?.into_iter();
        Ok(names.filter(|name| name.starts_with(REMOVING)).collect())
    }
}
