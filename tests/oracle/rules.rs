//! The numbers of a protocol, as plain data; the default is the NICE manner.

/// The clinical numbers the oracle needs.
#[derive(Clone, Debug)]
pub struct Rules {
    /// Time zone of local times and months.
    pub zone: String,
    /// A screen above this calls for a serum.
    pub referral_above_umol_l: f64,
    /// Gestation from which the meter may be used, in days.
    pub meter_gestation_days: i64,
    /// The meter may be used above this age (not at it), in hours.
    pub meter_age_above_h: i64,
    /// After the end of a course the meter may not be used for so long.
    pub after_phototherapy_h: i64,
    /// A serum within this time answers a referral in time.
    pub referral_window_h: i64,
    /// The same, for an index screen under 24 h of age.
    pub referral_window_first_day_h: i64,
    /// A serum within this time answers a referral late; also the follow-up of time to serum.
    pub referral_late_h: i64,
    /// A serum so long before the screen belongs to it.
    pub paired_draw_h: i64,
    /// A due screen joins the episode of one less than this before it.
    pub episode_gap_h: i64,
    /// An admission so long after a transfer continues the stay.
    pub transfer_h: i64,
    /// Episodes of phototherapy so far apart are one course.
    pub course_join_h: i64,
    /// Tolerance of the recheck windows, both ends.
    pub tolerance_min: i64,
    /// A recheck sooner than this belongs to the assessment of its trigger.
    pub same_assessment_h: i64,
    /// After the latest moment of a recheck, a test still counts as late for so long.
    pub recheck_late_h: i64,
    /// A value this much below the line, or less, is near it.
    pub near_line_gap_umol_l: f64,
    /// Near-line rule: gestation from which it holds, in days.
    pub near_line_gestation_days: i64,
    /// Near-line rule: holds above this age (not at it).
    pub near_line_age_above_h: i64,
    /// Near-line rule: latest recheck with a risk factor.
    pub near_line_latest_at_risk_h: i64,
    /// Near-line rule: latest recheck without one.
    pub near_line_latest_h: i64,
    /// Words of `risk_factors` that call for the earlier recheck.
    pub recheck_risk_factors: Vec<String>,
    /// Words of `feeding` that do so.
    pub recheck_feeding: Vec<String>,
    /// First serum after the start of a course: earliest and latest.
    pub treatment_first_h: (i64, i64),
    /// Next serum in a course: latest.
    pub treatment_next_h: i64,
    /// Serum after the end of a course: earliest and latest.
    pub rebound_h: (i64, i64),
    /// First-day rule: holds under this age.
    pub first_day_age_below_h: i64,
    /// First-day rule: latest.
    pub first_day_latest_h: i64,
    /// Readmission: gestation from which a birth belongs to the cohort, in days.
    pub readmission_gestation_days: i64,
    /// Primary diagnoses that make a readmission one for jaundice (prefixes).
    pub jaundice_codes: Vec<String>,
    /// Prefixes taken out of those again.
    pub not_jaundice_codes: Vec<String>,
}

impl Default for Rules {
    fn default() -> Self {
        let words = |list: &[&str]| list.iter().map(|word| (*word).to_string()).collect();
        Self {
            zone: "Europe/London".to_string(),
            referral_above_umol_l: 250.0,
            meter_gestation_days: 35 * 7,
            meter_age_above_h: 24,
            after_phototherapy_h: 24,
            referral_window_h: 6,
            referral_window_first_day_h: 2,
            referral_late_h: 24,
            paired_draw_h: 1,
            episode_gap_h: 24,
            transfer_h: 6,
            course_join_h: 6,
            tolerance_min: 0,
            same_assessment_h: 1,
            recheck_late_h: 24,
            near_line_gap_umol_l: 50.0,
            near_line_gestation_days: 38 * 7,
            near_line_age_above_h: 24,
            near_line_latest_at_risk_h: 18,
            near_line_latest_h: 24,
            recheck_risk_factors: words(&["sibling_phototherapy"]),
            recheck_feeding: words(&["breast"]),
            treatment_first_h: (4, 6),
            treatment_next_h: 12,
            rebound_h: (12, 18),
            first_day_age_below_h: 24,
            first_day_latest_h: 6,
            readmission_gestation_days: 35 * 7,
            jaundice_codes: words(&["P55", "P57", "P58", "P59"]),
            not_jaundice_codes: words(&["P59.1", "P59.2"]),
        }
    }
}

/// A limit of the rules as integer micro-umol/L.
pub fn micro(value_umol_l: f64) -> i64 {
    (value_umol_l * 1e6).round() as i64
}

/// Hours as seconds.
pub fn hours(h: i64) -> i64 {
    h * 3600
}
