//! What can go wrong on disk.

use std::path::{Path, PathBuf};

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
        "{path} holds snapshots but no link `current` to one of them, as after a copy that dropped or followed links\n  to do: make {path}/current a symbolic link to snapshots/{newest}; remove what stands in its place"
    )]
    LinkLost {
        /// The warehouse.
        path: PathBuf,
        /// The newest snapshot's folder.
        newest: String,
    },
    /// The link leads out of the warehouse, which holds no snapshot.
    #[error(
        "{path} points to {target}, which is no snapshot of this warehouse\n  to do: remove the link; load the extracts again"
    )]
    LinkAstray {
        /// The link.
        path: PathBuf,
        /// Where it points to.
        target: PathBuf,
    },
    /// The link was pointed back to an older snapshot.
    #[error(
        "{path}/current points to {current}, but snapshots up to {newest} are there\n  to do: to look back use --as-of; to go on from {current} remove the newer folders of {path}/snapshots; else link current to snapshots/{newest}"
    )]
    NotNewest {
        /// The warehouse.
        path: PathBuf,
        /// The folder it points to.
        current: String,
        /// The newest folder.
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
    /// There is no such snapshot.
    #[error("there is no load {load} in {path}; it holds {there}\n  to do: choose one of these with --as-of")]
    NoSuchLoad {
        /// The load asked for.
        load: i64,
        /// The warehouse.
        path: PathBuf,
        /// The loads there are, in words.
        there: String,
    },
    /// The snapshot is just being removed.
    #[error("the snapshot {path} is being removed by another siskin\n  to do: choose a newer load")]
    BeingRemoved {
        /// Its folder.
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
pub(super) fn io(doing: &'static str, path: &Path) -> impl FnOnce(std::io::Error) -> WarehouseError {
    let path = path.to_owned();
    move |source| WarehouseError::Io { doing, path, source }
}
