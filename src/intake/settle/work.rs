//! The snapshot that a load is settled into.

use crate::engine::Session;
use crate::intake::IntakeError;
use crate::intake::ledger::FateCounts;
use crate::warehouse::{Building, Site, TableEntry};

/// What settles a load.
pub(super) struct Work<'a> {
    pub(super) session: &'a Session,
    pub(super) building: &'a mut Building,
    /// What became of the rows so far.
    pub(super) counts: FateCounts,
    /// Whether anything is there that was not there before.
    pub(super) is_news: bool,
}

impl Work<'_> {
    /// Where it is being built.
    pub(super) fn site(&self) -> Site {
        self.building.site().clone()
    }

    /// Adds a finished table to the snapshot and makes it known.
    pub(super) fn add(&mut self, name: &str, entry: &TableEntry) -> Result<(), IntakeError> {
        self.building.add(name, entry.clone())?;
        Ok(self.session.add_files(name, self.building.site().path(), entry)?)
    }
}
