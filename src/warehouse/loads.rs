//! The snapshots of a warehouse: the newest, and those of earlier loads.

use std::path::PathBuf;

use super::error::{WarehouseError, io};
use super::folder::{Warehouse, snapshot_name};
use super::lock::WriteLock;
use super::snapshot::Snapshot;

impl Warehouse {
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
            return Err(WarehouseError::Empty(self.root().to_owned()));
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
            path: self.root().to_owned(),
            newest: newest.clone(),
        };
        let numbered = self.numbered()?;
        match std::fs::read_link(&link) {
            Ok(target) => {
                let path = self.root().join(&target);
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
        let current = current.ok_or_else(|| WarehouseError::Empty(self.root().to_owned()))?;
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
            path: self.root().to_owned(),
            there: in_words(there),
        }
    }

    /// The newest snapshot. What an interrupted writer left is removed first, where it can be.
    ///
    /// # Errors
    /// When there is none yet, or it cannot be read.
    pub fn newest(&self) -> Result<Snapshot, WarehouseError> {
        self.sweep()?;
        self.current()?
            .ok_or_else(|| WarehouseError::Empty(self.root().to_owned()))
    }
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
