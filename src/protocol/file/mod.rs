//! The shape of `protocol.toml`.

mod line;
mod outcomes;
mod recheck;
mod referral;
mod screening;
mod source;
mod treatment;

pub use line::{AboveWhen, Line, UnknownRisk};
use outcomes::NearExchange;
pub use outcomes::{Band, BandWhen, Readmission, Severe, Target};
pub use recheck::{Accepts, Excuse, Recheck, RecheckRule, Risk, Trigger};
pub use referral::{Clause, ClauseKind, Referral, ReferralWindow, TimeToSerum};
pub use screening::{Coverage, Meter};
pub(super) use treatment::FlaggedWhen;
pub use treatment::{Rate, Rise, Treatment};

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde::Deserialize;

use super::units::gestation_days;
use source::{common_practice, local_definition};

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ProtocolFile {
    pub network: String,
    pub zone: String,
    pub plausible: Plausible,
    #[serde(default)]
    pub suppression: Suppression,
    #[serde(default)]
    pub audiences: Audiences,
    #[serde(default)]
    pub records: BTreeMap<String, i64>,
    pub version: Vec<Version>,
}

/// Bounds outside which a row is set aside.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plausible {
    /// Lowest value kept, umol/L.
    pub umol_l_at_least: f64,
    /// Highest value kept, umol/L.
    pub umol_l_at_most: f64,
    /// A test more than this many minutes before birth is set aside.
    pub test_before_birth_min: i64,
}

/// Which small counts are hidden from those who are not to see a single baby.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Suppression {
    /// Counts from 1 to below this are hidden on the committee's page.
    pub hide_below: u32,
}

impl Default for Suppression {
    /// Common practice: counts of 1 to 4 are hidden.
    fn default() -> Self {
        Self { hide_below: 5 }
    }
}

/// Who sees which measures.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Audiences {
    /// Measures on the committee's page; all when absent.
    pub committee: Option<Vec<String>>,
}

/// One version of the rules, in force from a date until the next one.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Version {
    /// What the unit calls it; printed on pages.
    pub name: String,
    /// Local day from which it holds. The first version also judges what came before.
    pub in_force_from: Date,
    /// The treatment line.
    pub line: Line,
    /// Which serum counts.
    pub serum: Serum,
    /// What makes one stay, and one course.
    pub stays: Stays,
    /// Who is to be screened; absent where only visible jaundice is tested.
    pub coverage: Option<Coverage>,
    /// How a meter is to be used.
    pub meter: Meter,
    /// Which screens call for a serum, and how soon.
    pub referral: Referral,
    /// Hours at which the share drawn is reported.
    pub time_to_serum: TimeToSerum,
    /// How soon a serum above the line is to be treated.
    pub treatment: Treatment,
    /// Recheck rules.
    pub recheck: Recheck,
    /// Which rise is flagged; absent where none is.
    pub rise: Option<Rise>,
    /// What counts as a readmission for jaundice.
    pub readmission: Readmission,
    /// What counts as severe jaundice.
    pub severe: Severe,
    /// What counts as near the exchange line.
    pub near_exchange: NearExchange,
    /// What figures are wanted to be.
    #[serde(default)]
    pub targets: Vec<Target>,
}

impl Version {
    /// The lowest completed week of gestation at which a baby is judged by its line.
    pub(super) fn lowest_gestation_weeks(&self) -> i64 {
        let coverage = self.coverage.as_ref().map(|coverage| &coverage.gestation_at_least);
        let all = [Some(&self.referral.gestation_at_least), coverage];
        let days = all.into_iter().flatten().filter_map(|text| gestation_days(text));
        days.min().map_or(0, |days| i64::from(days / 7))
    }
}

/// Which serum counts.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Serum {
    /// Analyte words and LOINC codes of total bilirubin.
    pub total_bilirubin: Vec<String>,
    /// Specimens that are serum or plasma; empty text for an empty cell.
    pub specimens: Vec<String>,
    /// After a failed specimen the next valid serum is looked for so long, hours.
    pub redraw_follow_up_h: f64,
    /// Where the lists come from.
    #[serde(default = "local_definition")]
    pub source: String,
}

/// What makes one stay, and one course.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stays {
    /// An admission this soon after a transfer continues the stay, hours.
    pub transfer_within_h: f64,
    /// Phototherapy episodes no further apart than this are one course, hours.
    pub course_gap_h: f64,
    /// An episode without a stop ends with its stay, or this long after its start if that is sooner, hours.
    pub assumed_stop_h: f64,
    /// Where the hours come from.
    #[serde(default = "common_practice")]
    pub source: String,
}
