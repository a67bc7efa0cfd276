//! The numbers of a protocol, as plain data, in versions.

use super::line::{Lines, Standard};
use super::manners::{aap, nice};

/// A protocol: what holds for all of it, and its versions.
#[derive(Clone, Debug)]
pub struct Rules {
    /// Time zone of local times and months.
    pub zone: String,
    /// An admission so long after a transfer continues the stay. The oracle takes this and the
    /// next as one number for all versions.
    pub transfer_h: i64,
    /// Episodes of phototherapy so far apart are one course.
    pub course_join_h: i64,
    /// An episode without a stop ends this long after its start at the latest.
    pub assumed_stop_h: i64,
    /// The versions with the instant from which each holds, in order; never empty.
    versions: Vec<(i64, Version)>,
}

impl Rules {
    /// A protocol of one version.
    fn of(version: Version) -> Self {
        Self {
            zone: "Europe/London".to_string(),
            transfer_h: 6,
            course_join_h: 6,
            assumed_stop_h: 72,
            versions: vec![(i64::MIN, version)],
        }
    }

    /// The NICE manner, with universal screening.
    pub fn nice() -> Self {
        Self::of(nice())
    }

    /// The AAP manner, with the invented table of lines.
    pub fn aap() -> Self {
        Self::of(aap())
    }

    /// The NICE manner without what a protocol may leave out: only visible jaundice is tested, and
    /// a check of a meter holds for its local day.
    pub fn nice_without_options() -> Self {
        Self::of(Version {
            coverage: None,
            check_holds_h: None,
            ..nice()
        })
    }

    /// These, with empty risk factors judged so.
    pub fn with_unknown_risk(mut self, judged: UnknownRisk) -> Self {
        for (_, version) in &mut self.versions {
            version.unknown_line_risk = judged;
            if let Some(near_line) = &mut version.near_line {
                near_line.unknown_risk = judged;
            }
        }
        self
    }

    /// These until an instant, and others from it on.
    pub fn changing(mut self, from: i64, then: &Self) -> Self {
        for (_, version) in &then.versions {
            self.versions.push((from, version.clone()));
        }
        self
    }

    /// "An event is judged by the version in force when it happened"; the first also before.
    pub fn at(&self, moment: i64) -> &Version {
        let mut in_force = &self.versions[0].1;
        for (from, version) in &self.versions {
            if *from <= moment {
                in_force = version;
            }
        }
        in_force
    }

    /// The lines of the first version at an age, by completed weeks and risk factors.
    pub fn lines(&self, gestation_weeks: i64, risk_factors: &str, age_s: i64) -> Option<Lines> {
        let version = &self.versions[0].1;
        let mut factors = risk_factors.split(';').map(str::trim);
        let has_risk = factors.any(|factor| version.line_risk_factors.iter().any(|word| word == factor));
        version.standard.lines(gestation_weeks, has_risk, age_s)
    }

    /// Every version.
    pub fn every(&self) -> impl Iterator<Item = &Version> {
        self.versions.iter().map(|(_, version)| version)
    }
}

impl Default for Rules {
    fn default() -> Self {
        Self::nice()
    }
}

/// One version: the clinical numbers the oracle needs.
#[derive(Clone, Debug)]
pub struct Version {
    /// The lines.
    pub standard: Standard,
    /// "`value >= line` (AAP manner)"; otherwise `value > line` (NICE manner).
    pub above_is_at_least: bool,
    /// Words of `risk_factors` that raise neurotoxicity risk.
    pub line_risk_factors: Vec<String>,
    /// How the line judges a baby whose risk factors are empty.
    pub unknown_line_risk: UnknownRisk,
    /// Screening coverage, where all are to be screened.
    pub coverage: Option<Coverage>,
    /// "Fewer readings averaged than the protocol asks."
    pub readings_at_least: i64,
    /// Outpatient screens from this age are outside limits.
    pub outpatient_age_d: i64,
    /// The body site of outpatient screens.
    pub outpatient_body_site: String,
    /// A passed check of a meter holds for so long; `None`: for its local day.
    pub check_holds_h: Option<i64>,
    /// A screen and a serum so far apart may be a pair.
    pub pair_within_min: i64,
    /// After a failed specimen the next valid serum is looked for so long.
    pub redraw_follow_up_h: i64,
    /// What makes a screen call for a serum.
    pub clauses: Vec<Clause>,
    /// Gestation from which the meter may be used, in days.
    pub meter_gestation_days: i64,
    /// The meter may be used above this age (not at it), in hours.
    pub meter_age_above_h: i64,
    /// After the end of a course the meter may not be used for so long.
    pub after_phototherapy_h: i64,
    /// A serum within this time answers a referral in time.
    pub referral_window_h: i64,
    /// The same, for an index screen under 24 h of age, where that differs.
    pub referral_window_first_day_h: Option<i64>,
    /// An off-limit screen up to this age is to be answered within the first of the next two.
    pub off_limit_first_day_h: i64,
    /// Its window then.
    pub off_limit_first_day_within_h: i64,
    /// Its window later.
    pub off_limit_within_h: i64,
    /// A serum within this time answers a referral late; also the follow-up of time to serum.
    pub referral_late_h: i64,
    /// A serum so long before the screen belongs to it.
    pub paired_draw_h: i64,
    /// A referral without an answer is left out when a serum so long before it was below the line.
    pub recent_serum_h: i64,
    /// A due screen joins the episode of one less than this before it.
    pub episode_gap_h: i64,
    /// Time to treatment: the serum is at this age or before.
    pub treatment_age_d: i64,
    /// Time to treatment: in time.
    pub treatment_in_time_h: i64,
    /// Time to treatment: late, and none after it.
    pub treatment_late_h: i64,
    /// A course within this time after a serum above the line is a treatment above it.
    pub below_line_within_h: i64,
    /// The same so long after its start; so early, a first serum above the line was drawn beside it.
    pub beside_lamps_h: i64,
    /// A course was just below the line by no more than this, micro-umol/L.
    pub near_below_micro: i64,
    /// Tolerance of the recheck windows, both ends.
    pub tolerance_min: i64,
    /// A recheck sooner than this belongs to the assessment of its trigger.
    pub same_assessment_h: i64,
    /// After the latest moment of a recheck, a test still counts as late for so long.
    pub recheck_late_h: i64,
    /// `near_line`.
    pub near_line: Option<NearLine>,
    /// `treatment_first`.
    pub treatment_first: Option<TreatmentFirst>,
    /// `treatment_next`: from so long into a course, the next serum by so long later.
    pub treatment_next_h: Option<(i64, i64)>,
    /// `rebound`.
    pub rebound: Option<Rebound>,
    /// `first_day`: under this age, the next serum by so long later.
    pub first_day_h: Option<(i64, i64)>,
    /// `discharge_gap`.
    pub discharge_gap: Option<DischargeGap>,
    /// Rate of rise.
    pub rise: Option<Rise>,
    /// Readmission: gestation from which a birth belongs to the cohort, in days.
    pub readmission_gestation_days: i64,
    /// Primary diagnoses that make a readmission one for jaundice (prefixes).
    pub jaundice_codes: Vec<String>,
    /// Prefixes taken out of those again.
    pub not_jaundice_codes: Vec<String>,
    /// Near the exchange line: by at most this, micro-umol/L,
    pub near_exchange_micro: i64,
    /// from this age on.
    pub near_exchange_from_h: i64,
    /// Severe jaundice: the serum is at this age or before.
    pub severe_age_d: i64,
    /// The bands of severe jaundice.
    pub bands: Vec<Band>,
    /// Diagnoses of kernicterus (prefixes), in any position.
    pub kernicterus_codes: Vec<String>,
}

/// "Empty `risk_factors` are judged as the protocol says."
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UnknownRisk {
    /// As none.
    Absent,
    /// As one of them.
    Present,
    /// Left out where it matters.
    LeftOut,
}

/// Screening coverage: from this gestation, a test between these ages.
#[derive(Clone, Debug)]
pub struct Coverage {
    /// Gestation in days.
    pub gestation_days: i64,
    /// From this age.
    pub from_h: i64,
    /// To this age; who goes home before it is to be tested by then,
    pub to_h: i64,
    /// and from this age on.
    pub earliest_h: i64,
}

/// What makes a screen call for a serum.
#[derive(Clone, Copy, Debug)]
pub enum Clause {
    /// The value is above this, in micro-umol/L.
    ValueAbove(i64),
    /// The value is at least this.
    ValueAtLeast(i64),
    /// The value is at least the line minus this.
    LineMinus(i64),
    /// The value was reported above the meter's range.
    AboveRange,
}

/// "Within 50 umol/L below the line, well, >= 38 weeks, > 24 h: repeat within 18 h with risk
/// factors, 24 h without."
#[derive(Clone, Debug)]
pub struct NearLine {
    /// A value this much below the line, or less, is near it; micro-umol/L.
    pub gap_micro: i64,
    /// Gestation from which the rule holds, in days.
    pub gestation_days: i64,
    /// The rule holds above this age (not at it).
    pub age_above_h: i64,
    /// Latest recheck with a risk factor.
    pub latest_at_risk_h: i64,
    /// Latest recheck without one.
    pub latest_h: i64,
    /// Words of `risk_factors` that call for the earlier recheck.
    pub risk_factors: Vec<String>,
    /// Words of `feeding` that do so; an empty one does too.
    pub feeding: Vec<String>,
    /// How a baby whose risk factors are empty is judged, where feeding does not settle it.
    pub unknown_risk: UnknownRisk,
}

/// Serum after the start of a course.
#[derive(Clone, Debug)]
pub struct TreatmentFirst {
    /// Earliest.
    pub earliest_h: i64,
    /// Latest.
    pub latest_h: i64,
    /// Excused when the course ends before this; `None`: never.
    pub excused_before_h: Option<i64>,
}

/// Test after the end of a course; excused when a new course starts by its latest moment.
#[derive(Clone, Debug)]
pub struct Rebound {
    /// Earliest.
    pub earliest_h: i64,
    /// Latest.
    pub latest_h: i64,
    /// Screens will do as well from so long after the end; `None`: no screen will.
    pub screens_from_h: Option<i64>,
}

/// Recheck of who went home below the line.
#[derive(Clone, Debug)]
pub struct DischargeGap {
    /// The last test is at this age or later.
    pub age_at_least_h: i64,
    /// Gaps are rounded to this, micro-umol/L.
    pub rounded_to_micro: i64,
    /// The bands.
    pub bands: Vec<GapBand>,
}

/// One band of the gap at discharge, in steps of the rounding.
#[derive(Clone, Debug)]
pub struct GapBand {
    /// From so many steps.
    pub at_least_steps: i64,
    /// To so many steps.
    pub at_most_steps: i64,
    /// Latest recheck.
    pub latest_h: i64,
    /// Whether a screen will do as well.
    pub accepts_screens: bool,
}

/// Rate of rise between two tests of one kind.
#[derive(Clone, Debug)]
pub struct Rise {
    /// They are at least so far apart,
    pub apart_h: i64,
    /// and at most so far.
    pub apart_at_most_h: i64,
    /// A rise of the rate itself is none.
    pub is_above_only: bool,
    /// While the second is at this age or before ...
    pub early_age_h: i64,
    /// ... a rise of this is flagged, micro-umol/L per hour;
    pub early_micro_per_h: i64,
    /// after it, one of this.
    pub later_micro_per_h: i64,
}

/// A band of severe jaundice.
#[derive(Clone, Debug)]
pub struct Band {
    /// Its name.
    pub name: String,
    /// At least the limit, or above it.
    pub is_at_least: bool,
    /// The limit, micro-umol/L.
    pub limit_micro: i64,
}

impl Band {
    /// Whether a value, as it is compared, lies in the band.
    pub fn holds(&self, compared_micro: i64) -> bool {
        compared_micro > self.limit_micro || (self.is_at_least && compared_micro == self.limit_micro)
    }
}

/// Hours as seconds.
pub fn hours(h: i64) -> i64 {
    h * 3600
}
