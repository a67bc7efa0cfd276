//! The warehouse on disk: table declarations, snapshots, the lock, and the only
//! writer of Parquet.
//!
//! ```text
//! W/protocol.toml                    the unit's rules, written by people
//! W/current -> snapshots/000007      swapped by one atomic rename
//! W/snapshots/000007/manifest.json   tables, columns, files with their hashes
//! W/snapshots/000007/protocol.toml   the rules this snapshot was derived by
//! W/snapshots/000007/<table>/month=2026-09/rows.parquet
//! W/lock                             held by the one writer
//! ```

mod lock;
mod manifest;
mod snapshot;
pub mod tables;
mod writer;

use std::path::{Path, PathBuf};

pub use lock::WriteLock;
pub use manifest::{Column, DataFile, Manifest, TableEntry};
pub use snapshot::{Building, Snapshot};
pub use writer::TableWriter;

/// A warehouse folder.
#[derive(Clone, Debug)]
pub struct Warehouse {
    root: PathBuf,
}

/// What can go wrong on disk.
#[derive(Debug, thiserror::Error)]
pub enum WarehouseError {
    /// The folder is not there.
    #[error("there is no warehouse at {0}\n  to do: make the folder and put a protocol.toml into it")]
    NotThere(PathBuf),
    /// Nothing was ever loaded.
    #[error(
        "the warehouse {0} is empty\n  to do: load extracts with `siskin load`, or run `siskin demo` for the sample"
    )]
    Empty(PathBuf),
    /// Snapshots are there, but nothing says which is current.
    #[error(
        "{path} holds snapshots but no link `current`, as after a copy that dropped or followed links\n  to do: make {path}/current a symbolic link to snapshots/{newest}; remove what stands in its place"
    )]
    LinkLost {
        /// The warehouse.
        path: PathBuf,
        /// The newest snapshot's folder.
        newest: String,
    },
    /// A file of the snapshot is gone or has another size.
    #[error(
        "the snapshot is damaged: {path} is missing or not the file that was written\n  to do: restore it from a copy, or load the extracts into a new warehouse"
    )]
    Damaged {
        /// Which file.
        path: PathBuf,
    },
    /// Another writer is at work.
    #[error("the warehouse {path} is being written to ({holder})\n  to do: wait until it has finished")]
    Locked {
        /// The warehouse.
        path: PathBuf,
        /// What the holder wrote about itself.
        holder: String,
    },
    /// A file or folder cannot be read or written.
    #[error("{doing} {path}: {source}")]
    Io {
        /// What was being done.
        doing: &'static str,
        /// To what.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The manifest cannot be read.
    #[error(
        "{path} is not a manifest: {source}\n  to do: the snapshot is damaged; load the extracts into a new warehouse"
    )]
    Manifest {
        /// Which file.
        path: PathBuf,
        /// What is wrong.
        source: serde_json::Error,
    },
    /// Rows came in an order that would split a partition.
    #[error("table {table}: rows of {partition} are not together; this is a fault of siskin")]
    Unsorted {
        /// Which table.
        table: String,
        /// Which partition came twice.
        partition: String,
    },
    /// Arrow or Parquet refused.
    #[error("table {table}: {source}")]
    Parquet {
        /// Which table.
        table: String,
        /// What it said.
        source: parquet::errors::ParquetError,
    },
    /// Arrow refused.
    #[error("table {table}: {source}")]
    Arrow {
        /// Which table.
        table: String,
        /// What it said.
        source: arrow::error::ArrowError,
    },
}

/// Names what was being done when the system refused.
fn io(doing: &'static str, path: &Path) -> impl FnOnce(std::io::Error) -> WarehouseError {
    let path = path.to_owned();
    move |source| WarehouseError::Io { doing, path, source }
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

    fn snapshots(&self) -> PathBuf {
        self.root.join("snapshots")
    }

    fn link(&self) -> PathBuf {
        self.root.join("current")
    }

    /// The newest snapshot, or `None` when nothing was ever loaded.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn current(&self) -> Result<Option<Snapshot>, WarehouseError> {
        let link = self.link();
        match std::fs::read_link(&link) {
            Ok(target) => Snapshot::open(&self.root.join(target)).map(Some),
            Err(e) => match self.numbered()?.last() {
                Some((_, newest)) => Err(WarehouseError::LinkLost {
                    path: self.root.clone(),
                    newest: newest.clone(),
                }),
                None if e.kind() == std::io::ErrorKind::NotFound => Ok(None),
                None => Err(io("cannot read", &link)(e)),
            },
        }
    }

    /// Numbers and names of the snapshot folders, in order.
    fn numbered(&self) -> Result<Vec<(i64, String)>, WarehouseError> {
        let folder = self.snapshots();
        let entries = match std::fs::read_dir(&folder) {
            Ok(entries) => entries,
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
            Err(e) => return Err(io("cannot read", &folder)(e)),
        };
        let mut found = Vec::new();
        for entry in entries {
            let name = entry.map_err(io("cannot read", &folder))?.file_name();
            let name = name.to_string_lossy().into_owned();
            found.extend(name.parse::<i64>().ok().map(|number| (number, name)));
        }
        found.sort();
        Ok(found)
    }

    /// The newest snapshot.
    ///
    /// # Errors
    /// When there is none yet, or it cannot be read.
    pub fn newest(&self) -> Result<Snapshot, WarehouseError> {
        self.current()?.ok_or_else(|| WarehouseError::Empty(self.root.clone()))
    }
}
