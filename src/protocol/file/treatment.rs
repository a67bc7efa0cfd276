//! `[version.treatment]` and `[version.rise]`: how soon phototherapy starts, and how fast values rise.

use serde::Deserialize;

use crate::protocol::concentration::Concentration;
use crate::words::words;

/// How soon a serum above the line is to be answered by phototherapy.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Treatment {
    /// A serum counts to this age, days, end included.
    pub age_at_most_d: f64,
    /// A start within this after the result is in time, hours.
    pub in_time_h: f64,
    /// A start within this after the result is late, hours; after it the baby counts as untreated.
    pub follow_up_h: f64,
    /// A first serum above the line this long into a course was drawn beside the lamps, hours.
    pub beside_lamps_h: f64,
    /// A course is below the line without a serum above it in so many hours before its start ...
    pub below_line_within_h: f64,
    /// ... nor in so many after it.
    pub below_line_after_h: f64,
    /// Such a course was just below the line when a serum was by no more than this, umol/L.
    pub near_below_umol_l: Option<f64>,
    /// The same in mg/dL.
    pub near_below_mg_dl: Option<f64>,
    /// Where it comes from.
    pub source: String,
}

impl Treatment {
    /// The margin of just below the line; `None` when neither key, or both, are given.
    pub fn near_below(&self) -> Option<Concentration> {
        Concentration::either(self.near_below_umol_l, self.near_below_mg_dl)
    }
}

/// Which rise between two tests is flagged. Without it none is.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rise {
    /// Tests closer than this are not compared, hours.
    pub apart_at_least_h: f64,
    /// Tests further apart than this are not compared, hours.
    pub apart_at_most_h: f64,
    /// The second test is at this age or before, days.
    pub age_at_most_d: f64,
    /// Whether a rise is flagged at the rate, or above it only.
    pub flagged_when: FlaggedWhen,
    /// Rates by age at the second test, ascending; the last has no age.
    pub rates: Vec<Rate>,
    /// Where it comes from.
    pub source: String,
}

words! {
    /// How a rise is compared with the rate.
    pub FlaggedWhen {
        /// rise > rate
        Above = "above",
        /// rise >= rate
        AtLeast = "at_least",
    }
}

/// A rate that is flagged, at an age.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rate {
    /// To this age at the second test, hours, end included; absent in the last.
    pub age_at_most_h: Option<f64>,
    /// The rate from which a rise is flagged, umol/L per hour.
    pub umol_l_per_h: Option<f64>,
    /// The same in mg/dL per hour.
    pub mg_dl_per_h: Option<f64>,
}

impl Rate {
    /// The rise in one hour; `None` when neither key, or both, are given.
    pub fn per_hour(&self) -> Option<Concentration> {
        Concentration::either(self.umol_l_per_h, self.mg_dl_per_h)
    }
}
