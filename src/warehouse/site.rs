//! Where a snapshot is being built.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use arrow::datatypes::SchemaRef;

use super::disk::link_over;
use super::error::WarehouseError;
use super::heaps::Heaps;
use super::manifest::TableEntry;
use super::scratch::ScratchWriter;
use super::snapshot::Snapshot;
use super::writer::{self, TableWriter};

/// Where a snapshot is being built: what tables can be written and taken over by, also
/// several at a time. Only its `Building` says which of them belong to the snapshot.
#[derive(Clone, Debug)]
pub struct Site {
    path: PathBuf,
    before: Option<Arc<Snapshot>>,
    load: i64,
}

impl Site {
    /// In a folder; `before` is the snapshot it will replace.
    pub(super) fn new(path: PathBuf, before: Option<Arc<Snapshot>>, load: i64) -> Self {
        Self { path, before, load }
    }

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
        self.before()?.manifest().tables.get(name)
    }

    fn link(&self, entry: &TableEntry) -> Result<TableEntry, WarehouseError> {
        if let Some(before) = &self.before {
            for file in &entry.files {
                link_over(&before.path().join(&file.path), &self.path.join(&file.path))?;
            }
        }
        Ok(entry.clone())
    }
}
