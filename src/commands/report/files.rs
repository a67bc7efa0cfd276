//! Folders and files that only their owner can read, and those that may be passed on.

use std::fs;
use std::io::Write;
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt, PermissionsExt};
use std::path::Path;

use crate::error::Error;

/// Makes a folder that only its owner can open.
pub(super) fn make_private(folder: &Path) -> Result<(), Error> {
    let failed = || Error::write(folder.display().to_string());
    fs::DirBuilder::new()
        .recursive(true)
        .mode(0o700)
        .create(folder)
        .map_err(failed())?;
    fs::set_permissions(folder, fs::Permissions::from_mode(0o700)).map_err(failed())
}

/// Opens a file that only its owner can read.
pub(super) fn private_file(path: &Path) -> std::io::Result<fs::File> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create(true).truncate(true).mode(0o600).open(path)
}

pub(super) fn write_private(path: &Path, text: &str) -> Result<(), Error> {
    let file = private_file(path);
    file.and_then(|mut file| file.write_all(text.as_bytes()))
        .map_err(Error::write(path.display().to_string()))
}

/// Makes a folder as the system makes folders.
pub(super) fn make_shared(folder: &Path) -> Result<(), Error> {
    fs::create_dir_all(folder).map_err(Error::write(folder.display().to_string()))
}

/// Writes a file that may be passed on.
pub(super) fn write_shared(path: &Path, text: &str) -> Result<(), Error> {
    fs::write(path, text).map_err(Error::write(path.display().to_string()))
}
