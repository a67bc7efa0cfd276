//! A published snapshot, and one that is being built beside it.

use std::fs::{self, File, TryLockError};
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use arrow::datatypes::SchemaRef;

use super::by_month::ByMonth;
use super::heaps::Heaps;
use super::manifest::{self, DerivedBy, Manifest, TableEntry};
use super::scratch::ScratchWriter;
use super::writer::{self, TableWriter};
use super::{CURRENT, Warehouse, WarehouseError, WriteLock, digest, io, snapshot_name};

/// What people wrote beside the protocol, in a snapshot.
pub(super) const NOTES: &str = "notes.toml";
pub(super) const REVIEWS: &str = "reviews.csv";
pub(super) const BUILDING: &str = ".building";
/// What the link to a snapshot about to be published is called until it is swapped in.
const NEXT: &str = "current.next";
/// How the name of a snapshot on its way out begins.
pub(super) const REMOVING: &str = ".removing-";

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
        // A file system without locks cannot be asked; then nobody can tell that it is in use.
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

/// Where a snapshot is being built: what tables can be written and taken over by, also
/// several at a time. Only its [`Building`] says which of them belong to the snapshot.
#[derive(Clone, Debug)]
pub struct Site {
    path: PathBuf,
    before: Option<Arc<Snapshot>>,
    load: i64,
}

impl Site {
    /// Number of the load.
    pub fn load(&self) -> i64 {
        self.load
    }

    /// The snapshot it will replace.
    pub fn before(&self) -> Option<&Snapshot> {
        self.before.as_deref()
    }

    /// Its folder, under the temporary name.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// A folder for files that are not part of the snapshot.
    pub fn scratch(&self) -> PathBuf {
        self.path.join(".scratch")
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
        TableWriter::new(&self.path, name, schema, partition, writer::lasting())
    }

    /// Opens a table that is kept by month, each month in the order of some columns.
    pub fn by_month(&self, name: &str, schema: &SchemaRef, order: &[&str]) -> ByMonth {
        ByMonth::new(self, name, schema, order)
    }

    /// Heaps of rows by a key; beyond `most_bytes` in memory they go to the scratch folder.
    pub fn heaps<K: Ord + Clone>(&self, name: &str, schema: &SchemaRef, most_bytes: usize) -> Heaps<K> {
        Heaps::new(&self.scratch(), name, schema, most_bytes)
    }

    /// Opens a file of rows in the scratch folder that the engine does not read.
    ///
    /// # Errors
    /// When it cannot be made.
    pub fn scratch_rows(&self, name: &str, schema: &SchemaRef) -> Result<ScratchWriter, WarehouseError> {
        ScratchWriter::new(&self.scratch(), name, schema)
    }

    /// Opens a table in the scratch folder.
    ///
    /// # Errors
    /// When a file cannot be made.
    pub fn scratch_table(&self, name: &str, schema: &SchemaRef) -> Result<TableWriter, WarehouseError> {
        TableWriter::new(&self.scratch(), name, schema, None, writer::passing())
    }

    /// Links all files of a table of the snapshot before, and returns its entry.
    ///
    /// # Errors
    /// When a link cannot be made.
    pub fn carry_over(&self, name: &str) -> Result<Option<TableEntry>, WarehouseError> {
        match self.table_before(name) {
            Some(entry) => self.link(entry).map(Some),
            None => Ok(None),
        }
    }

    /// Links the files of some months of a table of the snapshot before, and returns them.
    ///
    /// # Errors
    /// When a link cannot be made.
    pub fn carry_over_months(
        &self,
        name: &str,
        is_wanted: impl Fn(&str) -> bool,
    ) -> Result<Option<TableEntry>, WarehouseError> {
        match self.table_before(name) {
            Some(entry) => self.link(&entry.of_months(is_wanted)).map(Some),
            None => Ok(None),
        }
    }

    /// A table of the snapshot before.
    pub fn table_before(&self, name: &str) -> Option<&TableEntry> {
        self.before.as_ref()?.manifest.tables.get(name)
    }

    fn link(&self, entry: &TableEntry) -> Result<TableEntry, WarehouseError> {
        if let Some(before) = &self.before {
            for file in &entry.files {
                link_over(&before.path.join(&file.path), &self.path.join(&file.path))?;
            }
        }
        Ok(entry.clone())
    }
}

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
        let load = before.as_ref().map_or(1, |s| s.manifest.load + 1);
        let manifest = Manifest {
            load,
            siskin: env!("CARGO_PKG_VERSION").to_owned(),
            ..Manifest::default()
        };
        Ok(Self {
            site: Site { path, before, load },
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
        let old = site.before().and_then(|s| Some((s, s.manifest.tables.get(name)?)));
        if let Some((before, old)) = old {
            for file in &entry.files {
                if old.files.contains(file) {
                    link_over(&before.path.join(&file.path), &site.path.join(&file.path))?;
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
        write(&self.site.path.join("protocol.toml"), texts.protocol.as_bytes())?;
        for (name, text) in [(NOTES, texts.notes), (REVIEWS, texts.reviews)] {
            if !text.is_empty() {
                write(&self.site.path.join(name), text.as_bytes())?;
            }
        }
        let manifest = self.site.path.join(manifest::FILE);
        let text = serde_json::to_vec_pretty(&self.manifest).map_err(|source| WarehouseError::Manifest {
            path: manifest.clone(),
            source,
        })?;
        write(&manifest, &text)?;
        sync_folder(&self.site.path)?;
        let name = snapshot_name(self.manifest.load);
        let path = warehouse.snapshots().join(&name);
        warehouse.announce(&name)?;
        let swapped = fs::rename(&self.site.path, &path)
            .map_err(io("cannot rename", &self.site.path))
            .and_then(|()| sync(&warehouse.snapshots()))
            .and_then(|()| warehouse.make_current());
        if let Err(error) = swapped {
            // Not current, so not published: back under the temporary name, which is removed.
            let _ = fs::rename(&path, &self.site.path);
            let _ = fs::remove_file(warehouse.root.join(NEXT));
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
            let _ = fs::remove_dir_all(&self.site.path);
        }
    }
}

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
        remove_file(&self.root.join(NEXT))?;
        remove_folder(&folder.join(BUILDING))?;
        for name in self.on_their_way_out()? {
            remove_folder(&folder.join(name))?;
        }
        let newest = self.numbered()?.pop().map(|(_, name)| name);
        match (current, newest) {
            (Some(current), Some(newest)) if newest > current => Err(WarehouseError::NotNewest {
                path: self.root.clone(),
                current,
                newest,
            }),
            _ => Ok(()),
        }
    }

    /// Whether an interrupted writer, or one at work, has left something.
    pub(super) fn has_leftovers(&self) -> Result<bool, WarehouseError> {
        let is_there = |path: &Path| fs::symlink_metadata(path).is_ok();
        Ok(is_there(&self.root.join(NEXT))
            || is_there(&self.snapshots().join(BUILDING))
            || !self.on_their_way_out()?.is_empty())
    }

    /// Name of the snapshot that a link points to.
    fn linked_to(&self, link: &str) -> Option<String> {
        let target = fs::read_link(self.root.join(link)).ok()?;
        let name = target.file_name()?.to_str()?.to_owned();
        name.parse::<i64>().is_ok().then_some(name)
    }

    fn on_their_way_out(&self) -> Result<Vec<String>, WarehouseError> {
        let names = self.snapshot_folders()?.into_iter();
        Ok(names.filter(|name| name.starts_with(REMOVING)).collect())
    }

    /// Says which snapshot is about to get its name, so that it is known for a leftover
    /// should the writer be stopped before it is current.
    fn announce(&self, name: &str) -> Result<(), WarehouseError> {
        let next = self.root.join(NEXT);
        remove_file(&next)?;
        std::os::unix::fs::symlink(Path::new("snapshots").join(name), &next).map_err(io("cannot link", &next))?;
        sync(&self.root)
    }

    /// Swaps `current` to the announced snapshot by one rename.
    fn make_current(&self) -> Result<(), WarehouseError> {
        let next = self.root.join(NEXT);
        fs::rename(&next, self.link()).map_err(io("cannot rename", &next))?;
        // The swap is made; a power cut before it is flushed gives back the old state whole.
        let _ = sync(&self.root);
        Ok(())
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

pub(super) fn remove_folder(path: &Path) -> Result<(), WarehouseError> {
    match fs::remove_dir_all(path) {
        Err(e) if e.kind() != std::io::ErrorKind::NotFound => Err(io("cannot remove", path)(e)),
        _ => Ok(()),
    }
}

pub(super) fn sync(path: &Path) -> Result<(), WarehouseError> {
    File::open(path)
        .and_then(|file| file.sync_all())
        .map_err(io("cannot flush", path))
}

/// Flushes a folder and all below it, but for files that an earlier snapshot holds too: they were
/// flushed with it.
fn sync_folder(path: &Path) -> Result<(), WarehouseError> {
    for entry in fs::read_dir(path).map_err(io("cannot read", path))? {
        let below = entry.map_err(io("cannot read", path))?;
        let is = below.metadata().map_err(io("cannot read", path))?;
        if is.is_dir() {
            sync_folder(&below.path())?;
        } else if is.nlink() == 1 {
            sync(&below.path())?;
        }
    }
    sync(path)
}
