//! The clinical numbers that an invention keeps to, as plain data.
//!
//! Values are integers of 1e-6 umol/L (`micro`), ages and spans whole seconds, gestations whole
//! days. Nothing here is a default: whoever invents hands over the rules of a protocol. One
//! version of a protocol holds for the whole invention, and lines do not depend on risk.

use crate::protocol::lines::Piece;
use crate::protocol::{ClauseKind, ReferralWindow, seconds};

/// The rules of one protocol.
#[derive(Debug, Clone)]
pub struct Rules {
    /// IANA name of the warehouse's time zone.
    pub zone: String,
    /// One mg/dL in micro umol/L.
    pub micro_umol_l_per_mg_dl: i64,
    /// The lowest and highest plausible value; anything outside is set aside.
    pub plausible_micro_umol_l: (i64, i64),
    /// Screens and near-line triggers do not count until this long after a course.
    pub course_shadow_s: i64,
    /// The treatment lines.
    pub line: Line,
    /// When a screen calls for a serum, and how soon.
    pub referral: ReferralRules,
    /// A test just below the line.
    pub near_line: NearLine,
}

/// The treatment lines of all gestations.
#[derive(Debug, Clone)]
pub struct Line {
    /// Straight pieces, in any order.
    pub segments: Vec<Piece>,
    /// True: above means greater than the line. False: a value on the line is above it.
    pub strictly_above: bool,
}

/// When a screen calls for a serum.
#[derive(Debug, Clone)]
pub struct ReferralRules {
    /// Least gestation the meter is used at.
    pub gestation_at_least_d: i64,
    /// A screen is eligible above (not at) this age.
    pub age_above_s: i64,
    /// A screen is due when any clause holds; each with its limit or margin in micro umol/L.
    pub clauses: Vec<(ClauseKind, i64)>,
    /// Time for the serum; the first window whose age limit holds is used.
    pub windows: Vec<ReferralWindow>,
    /// No serum by then: missed.
    pub missed_after_s: i64,
}

/// When a value just below the line is measured again.
#[derive(Debug, Clone)]
pub struct NearLine {
    /// At the latest this long after the trigger.
    pub latest_s: i64,
    /// The same when a recheck risk factor is present.
    pub risk_latest_s: i64,
    /// Risk factors that call for it.
    pub risk_factors: Vec<String>,
    /// Ways of feeding that call for it.
    pub risk_feeding: Vec<String>,
    /// From 0 to this far below the line.
    pub gap_micro_umol_l: i64,
    /// Least gestation.
    pub gestation_at_least_d: i64,
    /// Above (not at) this age.
    pub age_above_s: i64,
}

impl Line {
    /// The line at a gestation and age, or none when the rules have none.
    ///
    /// Below age 0 the line is read at 0; between tabled ages it is rounded half up.
    pub(crate) fn at(&self, gestation_d: i64, age_s: i64) -> Option<i64> {
        let weeks = gestation_d.div_euclid(7);
        let age_s = age_s.max(0);
        let segment = self.segments.iter().find(|segment| {
            segment.gestation_weeks == weeks
                && segment.age_from_s <= age_s
                && segment.age_to_s.is_none_or(|to| age_s < to)
        })?;
        let (from_micro, to_micro) = segment.phototherapy_micro;
        let Some(to_age_s) = segment.age_to_s else {
            return Some(from_micro);
        };
        let run = to_age_s - segment.age_from_s;
        let rise = to_micro - from_micro;
        let part = (2 * rise * (age_s - segment.age_from_s) + run).div_euclid(2 * run);
        Some(from_micro + part)
    }

    /// Whether a value is above the line.
    pub(crate) fn is_above(&self, micro_umol_l: i64, line: i64) -> bool {
        micro_umol_l > line || (!self.strictly_above && micro_umol_l == line)
    }
}

impl ReferralRules {
    /// Whether any clause holds; without a line, those that need none.
    pub(crate) fn is_due(&self, micro_umol_l: i64, above_range: bool, line: Option<i64>) -> bool {
        self.clauses.iter().any(|(kind, limit)| match kind {
            ClauseKind::ValueAbove => micro_umol_l > *limit,
            ClauseKind::ValueAtLeast => micro_umol_l >= *limit,
            ClauseKind::LineMinus => line.is_some_and(|line| micro_umol_l >= line - limit),
            ClauseKind::AboveRange => above_range,
        })
    }

    /// The time to answer a referral at an age.
    pub(crate) fn window_s(&self, age_s: i64) -> i64 {
        self.windows
            .iter()
            .find(|window| window.age_below_h.is_none_or(|below| age_s < seconds(below)))
            .map_or(self.missed_after_s, |window| seconds(window.within_h))
    }
}

impl NearLine {
    /// The latest moment after a trigger, by what is known of the baby.
    pub(crate) fn latest_s(&self, at_risk: bool) -> i64 {
        if at_risk { self.risk_latest_s } else { self.latest_s }
    }
}
