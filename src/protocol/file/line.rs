//! `[version.line]`: the treatment line.

use serde::Deserialize;

use super::source::local_definition;
use crate::words::words;

/// The treatment line.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// Name of the standard: a built-in one (see [`crate::protocol::lines`]), or the site's own.
    pub standard: String,
    /// The site's own table of lines, a CSV beside `protocol.toml`; absent for a built-in standard.
    pub table: Option<String>,
    /// When a value is above it.
    pub above_when: AboveWhen,
    /// Birth-register risk factors that make the line with risk `present` hold.
    #[serde(default)]
    pub risk_factors: Vec<String>,
    /// How a baby whose risk factors are not recorded is judged.
    #[serde(default)]
    pub unknown_risk: UnknownRisk,
    /// Where the line and its use come from.
    #[serde(default = "local_definition")]
    pub source: String,
}

words! {
    /// When a value is above the line.
    pub AboveWhen {
        /// value > line
        Greater = "greater",
        /// value >= line
        AtLeast = "at_least",
    }
}

words! {
    /// How a baby is judged of whom it is not known whether a risk factor is present.
    pub UnknownRisk {
        /// As one without.
        Absent = "absent",
        /// As one with.
        Present = "present",
        /// Not at all, where it matters.
        LeftOut = "left_out",
    }
}

#[allow(clippy::derivable_impls)]
impl Default for UnknownRisk {
    fn default() -> Self {
        Self::Absent
    }
}
