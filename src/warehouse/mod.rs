//! The warehouse on disk: table declarations, snapshots, the lock, and the only
//! writer of Parquet.
//!
//! ```text
//! W/protocol.toml                    the unit's rules, written by people
//! W/notes.toml, W/reviews.csv        what changed, and reviews of cases, where people wrote any
//! W/current -> snapshots/000007      swapped by one atomic rename
//! W/snapshots/000007/manifest.json   tables, columns, files with their hashes
//! W/snapshots/000007/protocol.toml   the rules this snapshot was derived by; notes and reviews beside it
//! W/snapshots/000007/<table>/month=2026-09/rows.parquet
//! W/lock                             held by the one writer
//! ```

mod by_month;
pub mod digest;
mod heaps;
mod lock;
mod manifest;
mod scratch;
mod snapshot;
mod stored;
pub mod tables;
mod tidy;
mod verify;
mod writer;

use std::path::{Path, PathBuf};

pub use by_month::ByMonth;
pub use heaps::{Heap, HeapFile, Heaps};
pub use lock::WriteLock;
pub use manifest::{Column, DataFile, DerivedBy, Manifest, TableEntry, type_word};
pub use scratch::{ScratchRows, ScratchWriter};
pub use snapshot::{Building, Site, Snapshot, Texts};
pub use stored::read_stored;
pub use tidy::Tidied;
pub use verify::{Fault, Verified};
pub use writer::TableWriter;

/// The link to the newest snapshot.
const CURRENT: &str = "current";

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

    /// Where the notes are, when there are any.
    pub fn notes_path(&self) -> PathBuf {
        self.root.join(snapshot::NOTES)
    }

    /// Where the case reviews are, when there are any.
    pub fn reviews_path(&self) -> PathBuf {
        self.root.join(snapshot::REVIEWS)
    }

    fn snapshots(&self) -> PathBuf {
        self.root.join("snapshots")
    }

    fn link(&self) -> PathBuf {
        self.root.join(CURRENT)
    }

    /// Numbers of the loads whose snapshots are there, in order.
    ///
    /// # Errors
    /// When the folder cannot be read.
    pub fn loads(&self) -> Result<Vec<i64>, WarehouseError> {
        let newest = self.current()?.map_or(0, |snapshot| snapshot.manifest().load);
        let numbers = self.numbered()?.into_iter().map(|(load, _)| load);
        Ok(numbers.filter(|load| *load <= newest).collect())
    }

    /// The snapshot that a load made.
    ///
    /// # Errors
    /// When it is not there (any more), or cannot be read.
    pub fn as_of(&self, load: i64) -> Result<Snapshot, WarehouseError> {
        let loads = self.loads()?;
        if loads.is_empty() {
            return Err(WarehouseError::Empty(self.root.clone()));
        }
        if !loads.contains(&load) {
            return Err(self.no_such_load(load, &loads));
        }
        Snapshot::open(&self.snapshots().join(snapshot_name(load)))
    }

    /// The newest snapshot, or `None` when nothing was ever loaded.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn current(&self) -> Result<Option<Snapshot>, WarehouseError> {
        self.current_path()?.map(|path| Snapshot::open(&path)).transpose()
    }

    /// Where `current` points to; `None` when nothing was ever loaded. A link that is lost, or
    /// leads to no snapshot of this warehouse, is refused.
    fn current_path(&self) -> Result<Option<PathBuf>, WarehouseError> {
        let link = self.link();
        let lost = |newest: &String| WarehouseError::LinkLost {
            path: self.root.clone(),
            newest: newest.clone(),
        };
        let numbered = self.numbered()?;
        match std::fs::read_link(&link) {
            Ok(target) => {
                let path = self.root.join(&target);
                let name = target.file_name().map(|name| name.to_string_lossy().into_owned());
                let is_ours = numbered.iter().any(|(_, ours)| Some(ours) == name.as_ref())
                    && path.parent().and_then(|parent| parent.canonicalize().ok())
                        == self.snapshots().canonicalize().ok();
                match numbered.last() {
                    _ if is_ours => Ok(Some(path)),
                    Some((_, newest)) => Err(lost(newest)),
                    None => Err(WarehouseError::LinkAstray { path: link, target }),
                }
            }
            Err(e) => match numbered.last() {
                Some((_, newest)) => Err(lost(newest)),
                None if e.kind() == std::io::ErrorKind::NotFound => Ok(None),
                None => Err(io("cannot read", &link)(e)),
            },
        }
    }

    /// The newest snapshot, or that of a load, whatever has become of its files: for a check.
    ///
    /// # Errors
    /// When there is none, or its manifest cannot be read.
    pub fn as_it_is(&self, load: Option<i64>) -> Result<Snapshot, WarehouseError> {
        self.sweep()?;
        let current = self.current_path()?;
        let current = current.ok_or_else(|| WarehouseError::Empty(self.root.clone()))?;
        match load {
            None => Snapshot::as_it_is(&current),
            Some(load) => {
                let there: Vec<i64> = self.numbered()?.into_iter().map(|(number, _)| number).collect();
                if !there.contains(&load) {
                    return Err(self.no_such_load(load, &there));
                }
                Snapshot::as_it_is(&self.snapshots().join(snapshot_name(load)))
            }
        }
    }

    /// Removes what an interrupted writer left. Who may only read, or meets a writer at
    /// work, leaves it to the next writer.
    fn sweep(&self) -> Result<(), WarehouseError> {
        if self.has_leftovers()? {
            let _ = WriteLock::take(self);
        }
        Ok(())
    }

    fn no_such_load(&self, load: i64, there: &[i64]) -> WarehouseError {
        WarehouseError::NoSuchLoad {
            load,
            path: self.root.clone(),
            there: in_words(there),
        }
    }

    /// Numbers and names of the snapshot folders, in order.
    fn numbered(&self) -> Result<Vec<(i64, String)>, WarehouseError> {
        let names = self.snapshot_folders()?.into_iter();
        let mut found: Vec<(i64, String)> = names.filter_map(|name| Some((name.parse().ok()?, name))).collect();
        found.sort();
        Ok(found)
    }

    /// Names of all folders among the snapshots.
    fn snapshot_folders(&self) -> Result<Vec<String>, WarehouseError> {
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

    /// The newest snapshot. What an interrupted writer left is removed first, where it can be.
    ///
    /// # Errors
    /// When there is none yet, or it cannot be read.
    pub fn newest(&self) -> Result<Snapshot, WarehouseError> {
        self.sweep()?;
        self.current()?.ok_or_else(|| WarehouseError::Empty(self.root.clone()))
    }
}

/// Name of a load's snapshot folder.
fn snapshot_name(load: i64) -> String {
    format!("{load:06}")
}

/// `1 to 24`, or `1, 3, 4` where some are gone.
fn in_words(loads: &[i64]) -> String {
    let has_all = loads.windows(2).all(|pair| pair[1] == pair[0] + 1);
    match loads {
        [first, .., last] if has_all => format!("loads {first} to {last}"),
        _ => {
            let numbers: Vec<String> = loads.iter().map(i64::to_string).collect();
            format!("loads {}", numbers.join(", "))
        }
    }
}
