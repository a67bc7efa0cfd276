//! `[version.recheck]`: what makes a recheck due, when, and by which test.

use serde::Deserialize;

use super::line::UnknownRisk;
use super::source::local_definition;
use crate::protocol::concentration::Concentration;
use crate::protocol::units::seconds;
use crate::words::words;

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
    /// How a baby whose risk factors are not recorded is judged, unless its feeding settles it. One
    /// whose feeding is not recorded counts as at risk.
    #[serde(default)]
    pub unknown_risk: UnknownRisk,
    /// Gaps are rounded to this before bands are compared, umol/L.
    pub gap_rounded_to_umol_l: Option<f64>,
    /// The same in mg/dL.
    pub gap_rounded_to_mg_dl: Option<f64>,
    /// Where what all rules share comes from.
    #[serde(default = "local_definition")]
    pub source: String,
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
    /// The same in mg/dL.
    pub gap_at_least_mg_dl: Option<f64>,
    /// Highest gap to the line, umol/L.
    pub gap_at_most_umol_l: Option<f64>,
    /// The same in mg/dL.
    pub gap_at_most_mg_dl: Option<f64>,
    /// Lowest gestation, weeks+days.
    pub gestation_at_least: Option<String>,
    /// Age at the trigger above this, hours.
    pub age_above_h: Option<f64>,
    /// Age at the trigger at least this, hours.
    pub age_at_least_h: Option<f64>,
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
    /// Screens are accepted so long after the trigger or later, hours; 0 when absent.
    #[serde(default)]
    pub screens_from_h: f64,
    /// What excuses it.
    pub excused_when: Excuse,
    /// How long after the trigger the excuse may come, hours; absent for `never`.
    pub excused_within_h: Option<f64>,
    /// Where the row comes from; says so when from memory.
    pub source: String,
}

impl Recheck {
    /// What gaps are rounded to; `None` where they are not rounded.
    pub fn gap_rounded_to(&self) -> Option<Concentration> {
        Concentration::either(self.gap_rounded_to_umol_l, self.gap_rounded_to_mg_dl)
    }
}

impl RecheckRule {
    /// The lowest gap to the line, where there is one.
    pub fn gap_at_least(&self) -> Option<Concentration> {
        Concentration::either(self.gap_at_least_umol_l, self.gap_at_least_mg_dl)
    }

    /// The highest gap to the line, where there is one.
    pub fn gap_at_most(&self) -> Option<Concentration> {
        Concentration::either(self.gap_at_most_umol_l, self.gap_at_most_mg_dl)
    }

    /// First and last gap at which the row holds, micro-umol/L, ends included.
    pub(in crate::protocol) fn gaps_micro(&self) -> (i64, i64) {
        (
            self.gap_at_least().map_or(i64::MIN, Concentration::micro),
            self.gap_at_most().map_or(i64::MAX, Concentration::micro),
        )
    }

    /// First and last age at which the row holds, whole seconds, ends included.
    pub(in crate::protocol) fn ages_s(&self) -> (i64, i64) {
        let above = self.age_above_h.map(|h| seconds(h) + 1);
        let from = above.or(self.age_at_least_h.map(seconds)).unwrap_or(i64::MIN);
        (from, self.age_below_h.map_or(i64::MAX, |h| seconds(h) - 1))
    }
}

words! {
    /// The closed vocabulary of recheck triggers.
    pub Trigger {
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
        /// The last test before the baby goes home from its birth stay.
        GoingHome = "going_home",
    }
}

words! {
    /// Whether a recheck risk factor must be there for the row to apply.
    pub Risk {
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
    pub Accepts {
        /// A valid serum only.
        Serum = "serum",
        /// A valid serum or any screen.
        SerumOrScreen = "serum_or_screen",
    }
}

words! {
    /// What excuses an obligation.
    pub Excuse {
        /// A course starts in (trigger, trigger + excused_within].
        CourseStartsAfterTrigger = "course_starts_after_trigger",
        /// A course starts in [trigger, trigger + excused_within].
        CourseStartsFromTrigger = "course_starts_from_trigger",
        /// The course ends in [trigger, trigger + excused_within).
        CourseEndsBefore = "course_ends_before",
        /// The course ends in (trigger, trigger + excused_within].
        CourseEndsBy = "course_ends_by",
        /// Nothing does.
        Never = "never",
    }
}
