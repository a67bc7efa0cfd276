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
        let target = match std::fs::read_link(&link) {
            Ok(target) => target,
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Err(e) => return Err(io("cannot read", &link)(e)),
        };
        Snapshot::open(&self.root.join(target)).map(Some)
    }

    /// The newest snapshot.
    ///
    /// # Errors
    /// When there is none yet, or it cannot be read.
    pub fn newest(&self) -> Result<Snapshot, WarehouseError> {
        self.current()?.ok_or_else(|| WarehouseError::Empty(self.root.clone()))
    }
}
