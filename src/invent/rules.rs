//! The clinical numbers that an invention keeps to, as plain data.
//!
//! Values are integers of 1e-6 umol/L (`micro`), ages and spans whole seconds, gestations whole
//! days. Nothing here is a default: whoever invents hands over the rules of a protocol. One
//! version of a protocol holds for the whole invention, and lines do not depend on risk.

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
    pub segments: Vec<LineSegment>,
    /// True: above means greater than the line. False: a value on the line is above it.
    pub strictly_above: bool,
}

/// One straight piece of a line.
#[derive(Debug, Clone)]
pub struct LineSegment {
    /// First and last completed week of gestation it holds for.
    pub gestation_weeks: (i64, i64),
    /// Age at its start.
    pub from_age_s: i64,
    /// Age at its end; none for the flat piece after the last tabled age.
    pub to_age_s: Option<i64>,
    /// Value at its start.
    pub from_micro_umol_l: i64,
    /// Value at its end.
    pub to_micro_umol_l: i64,
}

/// When a screen calls for a serum.
#[derive(Debug, Clone)]
pub struct ReferralRules {
    /// Least gestation the meter is used at.
    pub gestation_at_least_d: i64,
    /// A screen is eligible above (not at) this age.
    pub age_above_s: i64,
    /// A screen is due when any clause holds.
    pub clauses: Vec<Clause>,
    /// Time for the serum; the first window whose age limit holds is used.
    pub windows: Vec<Window>,
    /// No serum by then: missed.
    pub missed_after_s: i64,
}

/// One reason for a screen to be due.
#[derive(Debug, Clone, Copy)]
pub enum Clause {
    /// Greater than the value.
    ValueAbove(i64),
    /// The value or greater.
    ValueAtLeast(i64),
    /// The line less this much, or greater.
    LineAtLeastLess(i64),
    /// Reported as above the meter's range.
    AboveRange,
}

/// A time to answer, by the age at the index.
#[derive(Debug, Clone, Copy)]
pub struct Window {
    /// Holds below (not at) this age; none for every age.
    pub age_below_s: Option<i64>,
    /// The time to answer.
    pub window_s: i64,
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
            (segment.gestation_weeks.0..=segment.gestation_weeks.1).contains(&weeks)
                && segment.from_age_s <= age_s
                && segment.to_age_s.is_none_or(|to| age_s < to)
        })?;
        let rise = segment.to_micro_umol_l - segment.from_micro_umol_l;
        let Some(to_age_s) = segment.to_age_s else {
            return Some(segment.from_micro_umol_l);
        };
        let run = to_age_s - segment.from_age_s;
        let part = (2 * rise * (age_s - segment.from_age_s) + run).div_euclid(2 * run);
        Some(segment.from_micro_umol_l + part)
    }

    /// Whether a value is above the line.
    pub(crate) fn is_above(&self, micro_umol_l: i64, line: i64) -> bool {
        micro_umol_l > line || (!self.strictly_above && micro_umol_l == line)
    }
}

impl ReferralRules {
    /// Whether any clause holds; without a line, those that need none.
    pub(crate) fn is_due(&self, micro_umol_l: i64, above_range: bool, line: Option<i64>) -> bool {
        self.clauses.iter().any(|clause| match *clause {
            Clause::ValueAbove(limit) => micro_umol_l > limit,
            Clause::ValueAtLeast(limit) => micro_umol_l >= limit,
            Clause::LineAtLeastLess(less) => line.is_some_and(|line| micro_umol_l >= line - less),
            Clause::AboveRange => above_range,
        })
    }

    /// The time to answer a referral at an age.
    pub(crate) fn window_s(&self, age_s: i64) -> i64 {
        self.windows
            .iter()
            .find(|window| window.age_below_s.is_none_or(|below| age_s < below))
            .map_or(self.missed_after_s, |window| window.window_s)
    }
}

impl NearLine {
    /// The latest moment after a trigger, by what is known of the baby.
    pub(crate) fn latest_s(&self, at_risk: bool) -> i64 {
        if at_risk { self.risk_latest_s } else { self.latest_s }
    }
}
