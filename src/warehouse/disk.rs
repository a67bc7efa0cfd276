//! Files and folders written, linked, removed and flushed.

use std::fs::{self, File};
use std::os::unix::fs::MetadataExt;
use std::path::Path;

use super::error::{WarehouseError, io};

/// Links a file, over one that is there.
pub(super) fn link_over(from: &Path, to: &Path) -> Result<(), WarehouseError> {
    if let Some(folder) = to.parent() {
        fs::create_dir_all(folder).map_err(io("cannot make", folder))?;
    }
    remove_file(to)?;
    fs::hard_link(from, to).map_err(io("cannot link", from))
}

/// Writes a file.
pub(super) fn write(path: &Path, bytes: &[u8]) -> Result<(), WarehouseError> {
    fs::write(path, bytes).map_err(io("cannot write", path))
}

/// Removes a file, where it is there.
pub(super) fn remove_file(path: &Path) -> Result<(), WarehouseError> {
    match fs::remove_file(path) {
        Err(e) if e.kind() != std::io::ErrorKind::NotFound => Err(io("cannot remove", path)(e)),
        _ => Ok(()),
    }
}

/// Removes a folder and all in it, where it is there.
pub(super) fn remove_folder(path: &Path) -> Result<(), WarehouseError> {
    match fs::remove_dir_all(path) {
        Err(e) if e.kind() != std::io::ErrorKind::NotFound => Err(io("cannot remove", path)(e)),
        _ => Ok(()),
    }
}

/// Flushes a file or folder.
pub(super) fn sync(path: &Path) -> Result<(), WarehouseError> {
    File::open(path)
        .and_then(|file| file.sync_all())
        .map_err(io("cannot flush", path))
}

/// Flushes a folder and all below it, but for files that an earlier snapshot holds too: they were
/// flushed with it.
pub(super) fn sync_folder(path: &Path) -> Result<(), WarehouseError> {
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
