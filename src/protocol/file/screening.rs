//! `[version.coverage]` and `[version.meter]`: who is screened, and how.

use serde::Deserialize;

/// Who is to be screened, and when. Without it only visible jaundice is tested.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Coverage {
    /// Lowest gestation, weeks+days.
    pub gestation_at_least: String,
    /// First age at which a test counts, hours.
    pub from_age_h: f64,
    /// Last age at which it does, hours; a baby home before needs a test before going.
    pub to_age_h: f64,
    /// First age at which a test before going home counts then, hours; 0 for any.
    pub earliest_age_h: f64,
    /// Where it comes from.
    pub source: String,
}

/// How a meter is to be used.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Meter {
    /// Fewest readings averaged into a screen.
    pub readings_at_least: u32,
    /// An outpatient screen at this age or later is flagged, days.
    pub outpatient_age_at_least_d: f64,
    /// Where outpatients are to be measured.
    pub outpatient_body_site: String,
    /// A passed check holds for so long, its end included, hours; without it, for its local day.
    pub check_holds_h: Option<f64>,
    /// A screen and a serum no further apart than this are a pair, minutes.
    pub paired_within_min: i64,
    /// Where it comes from.
    pub source: String,
}
