//! `siskin tidy`: removes old snapshots.

use crate::cli::Tidy;
use crate::error::Error;
use crate::warehouse::{Warehouse, WriteLock};

use super::output::Say;

/// Removes all but the newest snapshots.
pub(super) fn run(options: &Tidy, say: &Say) -> Result<(), Error> {
    let warehouse = Warehouse::at(&options.warehouse.warehouse)?;
    let lock = WriteLock::take(&warehouse)?;
    let tidied = warehouse.tidy(&lock, options.keep as usize)?;
    for load in &tidied.in_use {
        say.line(&format!("load {load} is being read: kept"))?;
    }
    let megabytes = tidied.freed_bytes as f64 / 1e6;
    match &tidied.removed[..] {
        [] => say.line("nothing to remove"),
        [only] => say.line(&format!("removed load {only}, freed {megabytes:.1} MB")),
        [first, .., last] => say.line(&format!(
            "removed {} loads, {first} to {last}, freed {megabytes:.1} MB",
            tidied.removed.len()
        )),
    }
}
