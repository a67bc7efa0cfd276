//! A published snapshot, and one that is being built beside it.

use std::fs::{self, File};
use std::path::{Path, PathBuf};

use arrow::datatypes::SchemaRef;

use super::manifest::{self, Manifest, TableEntry};
use super::writer::TableWriter;
use super::{Warehouse, WarehouseError, WriteLock, io};

const BUILDING: &str = ".building";

/// A published snapshot: it never changes.
#[derive(Clone, Debug)]
pub struct Snapshot {
    path: PathBuf,
    manifest: Manifest,
}

impl Snapshot {
    pub(super) fn open(path: &Path) -> Result<Self, WarehouseError> {
        let manifest = Manifest::read(path)?;
        for file in manifest.tables.values().flat_map(|table| &table.files) {
            let path = path.join(&file.path);
            if fs::metadata(&path).map(|found| found.len()).ok() != Some(file.bytes) {
                return Err(WarehouseError::Damaged { path });
            }
        }
        Ok(Self {
            path: path.to_owned(),
            manifest,
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
}

/// A snapshot being built under a temporary name. Dropped unpublished, it is removed.
#[derive(Debug)]
pub struct Building {
    path: PathBuf,
    before: Option<Snapshot>,
    manifest: Manifest,
    published: bool,
}

impl Building {
    /// Begins the snapshot after the current one. Takes the lock as proof.
    ///
    /// # Errors
    /// When the folder cannot be made.
    pub fn begin(warehouse: &Warehouse, _lock: &WriteLock) -> Result<Self, WarehouseError> {
        let before = warehouse.current()?;
        let path = warehouse.snapshots().join(BUILDING);
        fs::create_dir_all(&path).map_err(io("cannot make", &path))?;
        let load = before.as_ref().map_or(1, |s| s.manifest.load + 1);
        let manifest = Manifest {
            load,
            siskin: env!("CARGO_PKG_VERSION").to_owned(),
            ..Manifest::default()
        };
        Ok(Self {
            path,
            before,
            manifest,
            published: false,
        })
    }

    /// Number of the load.
    pub fn load(&self) -> i64 {
        self.manifest.load
    }

    /// The snapshot it will replace.
    pub fn before(&self) -> Option<&Snapshot> {
        self.before.as_ref()
    }

    /// Its folder, under the temporary name.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// A folder for files that are not part of the snapshot.
    pub fn scratch(&self) -> PathBuf {
        self.path.join(".scratch")
    }

    /// What it holds so far.
    pub fn manifest(&self) -> &Manifest {
        &self.manifest
    }

    /// Opens a table for writing; `partition` names the column that splits it into files.
    ///
    /// # Errors
    /// When a file cannot be made.
    pub fn table(
        &self,
        name: &str,
        schema: &SchemaRef,
        partition: Option<&str>,
    ) -> Result<TableWriter, WarehouseError> {
        TableWriter::new(&self.path, name, schema, partition)
    }

    /// Opens a table in the scratch folder.
    ///
    /// # Errors
    /// When a file cannot be made.
    pub fn scratch_table(&self, name: &str, schema: &SchemaRef) -> Result<TableWriter, WarehouseError> {
        TableWriter::new(&self.scratch(), name, schema, None)
    }

    /// Adds a finished table. A file equal to the one of the snapshot before is linked to it.
    ///
    /// # Errors
    /// When a link cannot be made.
    pub fn add(&mut self, name: &str, entry: TableEntry) -> Result<(), WarehouseError> {
        let old = self
            .before
            .as_ref()
            .and_then(|s| Some((s, s.manifest.tables.get(name)?)));
        if let Some((before, old)) = old {
            for file in &entry.files {
                if old.files.contains(file) {
                    link_over(&before.path.join(&file.path), &self.path.join(&file.path))?;
                }
            }
        }
        self.manifest.tables.insert(name.to_owned(), entry);
        Ok(())
    }

    /// Links all files of a table of the snapshot before, and returns its entry.
    ///
    /// # Errors
    /// When a link cannot be made.
    pub fn carry_over(&self, name: &str) -> Result<Option<TableEntry>, WarehouseError> {
        let Some(before) = &self.before else {
            return Ok(None);
        };
        let Some(entry) = before.manifest.tables.get(name) else {
            return Ok(None);
        };
        for file in &entry.files {
            link_over(&before.path.join(&file.path), &self.path.join(&file.path))?;
        }
        Ok(Some(entry.clone()))
    }

    /// Publishes the snapshot: writes its manifest, flushes all to disk, gives the
    /// folder its final name, then swaps `current` by one rename.
    ///
    /// # Errors
    /// When something cannot be written; then nothing has changed.
    pub fn publish(
        mut self,
        warehouse: &Warehouse,
        protocol_text: &str,
        protocol_sha256: &str,
        queries_sha256: &str,
    ) -> Result<Snapshot, WarehouseError> {
        self.manifest.protocol_sha256 = protocol_sha256.to_owned();
        self.manifest.queries_sha256 = queries_sha256.to_owned();
        remove_folder(&self.scratch())?;
        write(&self.path.join("protocol.toml"), protocol_text.as_bytes())?;
        let manifest = self.path.join(manifest::FILE);
        let text = serde_json::to_vec_pretty(&self.manifest).map_err(|source| WarehouseError::Manifest {
            path: manifest.clone(),
            source,
        })?;
        write(&manifest, &text)?;
        sync_folder(&self.path)?;
        let name = format!("{:06}", self.manifest.load);
        let path = warehouse.snapshots().join(&name);
        fs::rename(&self.path, &path).map_err(io("cannot rename", &self.path))?;
        self.published = true;
        sync(&warehouse.snapshots())?;
        warehouse.make_current(&name)?;
        Snapshot::open(&path)
    }
}

impl Drop for Building {
    fn drop(&mut self) {
        if !self.published {
            // The next writer removes what cannot be removed now.
            let _ = fs::remove_dir_all(&self.path);
        }
    }
}

impl Warehouse {
    /// Removes what an interrupted writer left: a half-built snapshot, one that was
    /// never made current, and a link that was never swapped in. The very first
    /// snapshot is made current if it was complete; a lost link is refused, so that
    /// no snapshot is ever taken for a leftover by mistake.
    pub(super) fn remove_leftovers(&self) -> Result<(), WarehouseError> {
        remove_file(&self.root.join("current.next"))?;
        let folder = self.snapshots();
        remove_folder(&folder.join(BUILDING))?;
        let numbered = self.numbered()?;
        if let [(1, first)] = &numbered[..]
            && fs::symlink_metadata(self.link()).is_err()
        {
            return self.make_current(first);
        }
        let newest = self.current()?.map_or(0, |s| s.manifest.load);
        for (_, name) in numbered.iter().filter(|(load, _)| *load > newest) {
            remove_folder(&folder.join(name))?;
        }
        Ok(())
    }

    /// Swaps `current` to a snapshot by one rename.
    fn make_current(&self, name: &str) -> Result<(), WarehouseError> {
        let next = self.root.join("current.next");
        remove_file(&next)?;
        std::os::unix::fs::symlink(Path::new("snapshots").join(name), &next).map_err(io("cannot link", &next))?;
        fs::rename(&next, self.link()).map_err(io("cannot rename", &next))?;
        sync(&self.root)
    }
}

fn link_over(from: &Path, to: &Path) -> Result<(), WarehouseError> {
    if let Some(folder) = to.parent() {
        fs::create_dir_all(folder).map_err(io("cannot make", folder))?;
    }
    remove_file(to)?;
    fs::hard_link(from, to).map_err(io("cannot link", from))
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), WarehouseError> {
    fs::write(path, bytes).map_err(io("cannot write", path))
}

fn remove_file(path: &Path) -> Result<(), WarehouseError> {
    match fs::remove_file(path) {
        Err(e) if e.kind() != std::io::ErrorKind::NotFound => Err(io("cannot remove", path)(e)),
        _ => Ok(()),
    }
}

fn remove_folder(path: &Path) -> Result<(), WarehouseError> {
    match fs::remove_dir_all(path) {
        Err(e) if e.kind() != std::io::ErrorKind::NotFound => Err(io("cannot remove", path)(e)),
        _ => Ok(()),
    }
}

fn sync(path: &Path) -> Result<(), WarehouseError> {
    File::open(path)
        .and_then(|file| file.sync_all())
        .map_err(io("cannot flush", path))
}

/// Flushes a folder and all below it.
fn sync_folder(path: &Path) -> Result<(), WarehouseError> {
    for entry in fs::read_dir(path).map_err(io("cannot read", path))? {
        let below = entry.map_err(io("cannot read", path))?.path();
        if below.is_dir() {
            sync_folder(&below)?;
        } else {
            sync(&below)?;
        }
    }
    sync(path)
}
