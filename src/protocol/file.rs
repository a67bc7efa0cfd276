//! The shape of `protocol.toml`.

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde::Deserialize;

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ProtocolFile {
    pub network: String,
    pub zone: String,
    pub plausible: Plausible,
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
    /// Which screens call for a serum, and how soon.
    pub referral: Referral,
    /// Hours at which the share drawn is told.
    pub time_to_serum: TimeToSerum,
    /// Recheck rules.
    pub recheck: Recheck,
    /// What counts as a readmission for jaundice.
    pub readmission: Readmission,
}

/// The treatment line.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// Name of the standard: see [`super::lines`].
    pub standard: String,
    /// When a value is above it.
    pub above_when: AboveWhen,
}

/// When a value is above the line.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq)]
#[serde(rename_all = "snake_case")]
pub enum AboveWhen {
    /// value > line
    Greater,
    /// value >= line
    AtLeast,
}

/// Which serum counts.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Serum {
    /// Analyte words and LOINC codes of total bilirubin.
    pub total_bilirubin: Vec<String>,
    /// Specimens that are serum or plasma; empty text for an empty cell.
    pub specimens: Vec<String>,
}

/// What makes one stay, and one course.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stays {
    /// An admission this soon after a transfer continues the stay, hours.
    pub transfer_within_h: f64,
    /// Phototherapy episodes no further apart than this are one course, hours.
    pub course_gap_h: f64,
}

/// Which screens call for a serum, and how soon.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Referral {
    /// Lowest gestation, weeks+days.
    pub gestation_at_least: String,
    /// A screen counts at an age above this, hours.
    pub age_above_h: f64,
    /// Not during phototherapy, nor until this long after it, hours.
    pub not_after_phototherapy_h: f64,
    /// A screen is due when any clause holds.
    pub clauses: Vec<Clause>,
    /// A serum up to this long before the index is a paired draw, hours.
    pub paired_before_h: f64,
    /// Due screens less than this apart are one referral, hours.
    pub same_referral_under_h: f64,
    /// After this the referral is missed, hours.
    pub follow_up_h: f64,
    /// Window by age at the index.
    pub windows: Vec<ReferralWindow>,
}

/// One reason to call for a serum.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Clause {
    /// Which comparison is made.
    pub when: ClauseKind,
    /// The limit, or the margin below the line, umol/L; absent for `above_range`.
    pub umol_l: Option<f64>,
    /// Where the clause comes from.
    pub source: String,
}

/// The closed vocabulary of clauses.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq)]
#[serde(rename_all = "snake_case")]
pub enum ClauseKind {
    /// value > limit
    ValueAbove,
    /// value >= limit
    ValueAtLeast,
    /// value >= line - margin
    LineMinus,
    /// the meter reported "above x"
    AboveRange,
}

impl ClauseKind {
    /// The word used in `protocol.toml` and in SQL.
    pub fn word(self) -> &'static str {
        match self {
            Self::ValueAbove => "value_above",
            Self::ValueAtLeast => "value_at_least",
            Self::LineMinus => "line_minus",
            Self::AboveRange => "above_range",
        }
    }
}

/// How soon a serum is due, for an age span [from, below).
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReferralWindow {
    /// First age, hours; 0 when absent.
    #[serde(default)]
    pub age_from_h: f64,
    /// Age at which the span has ended, hours; open when absent.
    pub age_below_h: Option<f64>,
    /// The window, hours, end included.
    pub within_h: f64,
    /// Where it comes from.
    pub source: String,
}

/// Hours at which the share drawn is told.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TimeToSerum {
    /// Whole hours after the index.
    pub shares_at_h: Vec<u32>,
}

/// Recheck rules and what they share.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Recheck {
    /// Widens both ends of a recheck window, minutes.
    pub tolerance_min: i64,
    /// Soonest accepted test after the trigger, hours.
    pub accept_after_h: f64,
    /// A test later than the window is late until this long after it, hours.
    pub late_until_h: f64,
    /// Birth-register risk factors that make the earlier recheck due.
    pub risk_factors: Vec<String>,
    /// Feeding words that make the earlier recheck due.
    pub risk_feeding: Vec<String>,
    /// The rules.
    pub rules: Vec<RecheckRule>,
}

/// One row of the recheck table: a trigger, its conditions and its window.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RecheckRule {
    /// The rule it counts under; several rows may share one.
    pub rule: String,
    /// What makes the obligation.
    pub trigger: Trigger,
    /// Whether a recheck risk factor must be present.
    #[serde(default)]
    pub risk: Risk,
    /// Lowest gap to the line, umol/L.
    pub gap_at_least_umol_l: Option<f64>,
    /// Highest gap to the line, umol/L.
    pub gap_at_most_umol_l: Option<f64>,
    /// Lowest gestation, weeks+days.
    pub gestation_at_least: Option<String>,
    /// Age at the trigger above this, hours.
    pub age_above_h: Option<f64>,
    /// Age at the trigger below this, hours.
    pub age_below_h: Option<f64>,
    /// For `serum_in_course`: hours from the start of the course.
    pub into_course_h: Option<f64>,
    /// Window opens, hours after the trigger; 0 when absent.
    #[serde(default)]
    pub earliest_h: f64,
    /// Window closes, hours after the trigger.
    pub latest_h: f64,
    /// Which test answers it.
    pub accepts: Accepts,
    /// What excuses it.
    pub excused_when: Excuse,
    /// How long after the trigger the excuse may come, hours.
    pub excused_within_h: f64,
    /// Where the row comes from; says so when from memory.
    pub source: String,
}

macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq)]
        pub enum $name { $($(#[$vdoc])* #[serde(rename = $word)] $variant),+ }
        impl $name {
            /// The word used in `protocol.toml` and in SQL.
            pub fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }
        }
    };
}

words! {
    /// The closed vocabulary of recheck triggers.
    Trigger {
        /// A test a little below the line.
        NearLine = "near_line",
        /// Phototherapy starts.
        CourseStart = "course_start",
        /// A valid serum while phototherapy runs.
        SerumInCourse = "serum_in_course",
        /// Phototherapy ends (a recorded end).
        CourseEnd = "course_end",
        /// A valid serum above the line.
        SerumAboveLine = "serum_above_line",
    }
}

words! {
    /// Whether a recheck risk factor must be there for the row to apply.
    Risk {
        /// Either way.
        Any = "any",
        /// Only with one.
        Present = "present",
        /// Only without.
        Absent = "absent",
    }
}

#[allow(clippy::derivable_impls)]
impl Default for Risk {
    fn default() -> Self {
        Self::Any
    }
}

words! {
    /// Which test answers an obligation.
    Accepts {
        /// A valid serum only.
        Serum = "serum",
        /// A valid serum or any screen.
        SerumOrScreen = "serum_or_screen",
    }
}

words! {
    /// What excuses an obligation.
    Excuse {
        /// A course starts in (trigger, trigger + excused_within].
        CourseStartsAfterTrigger = "course_starts_after_trigger",
        /// A course starts in [trigger, trigger + excused_within].
        CourseStartsFromTrigger = "course_starts_from_trigger",
        /// The course ends in [trigger, trigger + excused_within).
        CourseEndsBefore = "course_ends_before",
        /// The course ends in (trigger, trigger + excused_within].
        CourseEndsBy = "course_ends_by",
    }
}

/// What counts as a readmission for jaundice.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Readmission {
    /// Lowest gestation, weeks+days.
    pub gestation_at_least: String,
    /// Ages that are counted, days.
    pub within_days: Vec<u32>,
    /// ICD-10 prefixes that count.
    pub codes: Vec<String>,
    /// ICD-10 prefixes that do not, though a shorter one would.
    pub except_codes: Vec<String>,
    /// Days after the month's last birth until the figure is final.
    pub provisional_days: u32,
}
