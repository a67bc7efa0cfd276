//! What a span of months is measured from.

use crate::engine::Session;
use crate::month::Month;
use crate::protocol::Protocol;

/// What a span of months is measured from.
pub struct Measuring<'a> {
    /// Tables of the snapshot.
    pub session: &'a Session,
    /// The protocol it was derived by.
    pub protocol: &'a Protocol,
    /// Number of its load.
    pub load: i64,
}

impl Measuring<'_> {
    /// The versions in force in a month by name: `first`, or `first; second from 2026-05-15`.
    pub fn protocol_of(&self, month: Month) -> String {
        let versions = self.protocol.versions_of(month);
        let mut names = versions[0].name.clone();
        for version in &versions[1..] {
            names.push_str(&format!("; {} from {}", version.name, version.in_force_from));
        }
        names
    }
}
