//! A snapshot that is being built, and how it is published.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use super::disk::{link_over, remove_file, remove_folder, sync, sync_folder, write};
use super::error::{WarehouseError, io};
use super::folder::{NOTES, REVIEWS, Warehouse, snapshot_name};
use super::leftovers::{BUILDING, NEXT};
use super::lock::WriteLock;
use super::manifest::{self, DerivedBy, Manifest, TableEntry};
use super::site::Site;
use super::snapshot::{Snapshot, Texts};

/// A snapshot being built under a temporary name. Dropped unpublished, it is removed.
#[derive(Debug)]
pub struct Building {
    site: Site,
    manifest: Manifest,
    published: bool,
}

impl Building {
    /// Begins the snapshot after the current one. Takes the lock as proof.
    ///
    /// # Errors
    /// When the folder cannot be made.
    pub fn begin(warehouse: &Warehouse, _lock: &WriteLock) -> Result<Self, WarehouseError> {
        let before = warehouse.current()?.map(Arc::new);
        let path = warehouse.snapshots().join(BUILDING);
        fs::create_dir_all(&path).map_err(io("cannot make", &path))?;
        let load = before.as_ref().map_or(1, |s| s.manifest().load + 1);
        let manifest = Manifest {
            load,
            siskin: env!("CARGO_PKG_VERSION").to_owned(),
            ..Manifest::default()
        };
        Ok(Self {
            site: Site::new(path, before, load),
            manifest,
            published: false,
        })
    }

    /// Where it is being built.
    pub fn site(&self) -> &Site {
        &self.site
    }

    /// What it holds so far.
    pub fn manifest(&self) -> &Manifest {
        &self.manifest
    }

    /// Adds a finished table. A file equal to the one of the snapshot before is linked to it.
    ///
    /// # Errors
    /// When a link cannot be made.
    pub fn add(&mut self, name: &str, entry: TableEntry) -> Result<(), WarehouseError> {
        let site = &self.site;
        let old = site.before().and_then(|s| Some((s, s.manifest().tables.get(name)?)));
        if let Some((before, old)) = old {
            for file in &entry.files {
                if old.files.contains(file) {
                    link_over(&before.path().join(&file.path), &site.path().join(&file.path))?;
                }
            }
        }
        self.manifest.tables.insert(name.to_owned(), entry);
        Ok(())
    }

    /// Publishes the snapshot: writes its manifest, flushes all to disk, gives the
    /// folder its final name, then swaps `current` by one rename.
    ///
    /// # Errors
    /// When something cannot be written; then nothing has changed.
    pub fn publish(
        mut self,
        warehouse: &Warehouse,
        texts: &Texts<'_>,
        derived_by: DerivedBy,
    ) -> Result<Snapshot, WarehouseError> {
        self.manifest.derived_by = derived_by;
        self.manifest.notes_sha256 = texts.notes_sha256();
        self.manifest.reviews_sha256 = texts.reviews_sha256();
        remove_folder(&self.site.scratch())?;
        write(&self.site.path().join("protocol.toml"), texts.protocol.as_bytes())?;
        for (name, text) in [(NOTES, texts.notes), (REVIEWS, texts.reviews)] {
            if !text.is_empty() {
                write(&self.site.path().join(name), text.as_bytes())?;
            }
        }
        let manifest = self.site.path().join(manifest::FILE);
        let text = serde_json::to_vec_pretty(&self.manifest).map_err(|source| WarehouseError::Manifest {
            path: manifest.clone(),
            source,
        })?;
        write(&manifest, &text)?;
        sync_folder(self.site.path())?;
        let name = snapshot_name(self.manifest.load);
        let path = warehouse.snapshots().join(&name);
        warehouse.announce(&name)?;
        let swapped = fs::rename(self.site.path(), &path)
            .map_err(io("cannot rename", self.site.path()))
            .and_then(|()| sync(&warehouse.snapshots()))
            .and_then(|()| warehouse.make_current());
        if let Err(error) = swapped {
            // Not current, so not published: back under the temporary name, which is removed.
            let _ = fs::rename(&path, self.site.path());
            let _ = fs::remove_file(warehouse.root().join(NEXT));
            return Err(error);
        }
        self.published = true;
        Snapshot::open(&path)
    }
}

impl Drop for Building {
    fn drop(&mut self) {
        if !self.published {
            // The next writer removes what cannot be removed now.
            let _ = fs::remove_dir_all(self.site.path());
        }
    }
}

impl Warehouse {
    /// Says which snapshot is about to get its name, so that it is known for a leftover
    /// should the writer be stopped before it is current.
    fn announce(&self, name: &str) -> Result<(), WarehouseError> {
        let next = self.root().join(NEXT);
        remove_file(&next)?;
        std::os::unix::fs::symlink(Path::new("snapshots").join(name), &next).map_err(io("cannot link", &next))?;
        sync(self.root())
    }

    /// Swaps `current` to the announced snapshot by one rename.
    fn make_current(&self) -> Result<(), WarehouseError> {
        let next = self.root().join(NEXT);
        fs::rename(&next, self.link()).map_err(io("cannot rename", &next))?;
        // The swap is made; a power cut before it is flushed gives back the old state whole.
        let _ = sync(self.root());
        Ok(())
    }
}
