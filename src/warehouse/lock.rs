//! One writer at a time. The lock is the system's, so it ends with the process.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, SeekFrom, Write};

use super::error::{WarehouseError, io};
use super::folder::Warehouse;

/// Held while a warehouse is written to; released when dropped or killed.
#[derive(Debug)]
pub struct WriteLock {
    _file: File,
}

impl WriteLock {
    /// Takes the lock, and removes what an interrupted writer left behind.
    ///
    /// # Errors
    /// At once when another writer holds it, or when the folder cannot be written to.
    pub fn take(warehouse: &Warehouse) -> Result<Self, WarehouseError> {
        let path = warehouse.root().join("lock");
        let mut file = OpenOptions::new()
            .create(true)
            .truncate(false)
            .read(true)
            .write(true)
            .open(&path)
            .map_err(io("cannot write", &path))?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                let mut holder = String::new();
                file.read_to_string(&mut holder).map_err(io("cannot read", &path))?;
                return Err(WarehouseError::Locked {
                    path: warehouse.root().to_owned(),
                    holder: holder.trim().to_owned(),
                });
            }
            Err(TryLockError::Error(e)) => return Err(io("cannot lock", &path)(e)),
        }
        let say = |file: &mut File| {
            file.set_len(0)?;
            file.seek(SeekFrom::Start(0))?;
            writeln!(file, "process {}", std::process::id())
        };
        say(&mut file).map_err(io("cannot write", &path))?;
        warehouse.remove_leftovers()?;
        Ok(Self { _file: file })
    }
}
