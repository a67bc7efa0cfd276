//! Facts about network, load and protocol, for the first line and the footer of a page.

use std::collections::BTreeMap;

use serde::Serialize;

use super::target::Target;

/// Facts about network, load and protocol.
#[derive(Clone, Debug, Serialize)]
pub struct About {
    /// The network's name.
    pub network: String,
    /// Through when the data is complete, in words.
    pub complete_through: String,
    /// The data ends before the month does.
    pub ends_early: bool,
    /// Number of the load.
    pub load: i64,
    /// When it was loaded, in words.
    pub loaded_at: String,
    /// Protocol versions in force in the month.
    pub protocol: String,
    /// More than one.
    pub protocol_changed: bool,
    /// Zone of local times.
    pub zone: String,
    /// umol/L per mg/dL.
    pub factor: String,
    /// Version of the program.
    pub siskin: String,
    /// How long a referral is followed, in words.
    pub follow_up: String,
    /// What the protocol wants a figure to be, by the figure's name.
    pub targets: BTreeMap<String, Target>,
}
