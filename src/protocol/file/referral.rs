//! `[version.referral]` and `[version.time_to_serum]`: which screens call for a serum, and how soon.

use serde::Deserialize;

use super::source::local_definition;
use crate::protocol::concentration::Concentration;
use crate::words::words;

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
    /// A referral without an answer, but with a serum below the line this long before the index, is left out, hours.
    pub recent_serum_h: f64,
    /// After this the referral is missed, hours.
    pub follow_up_h: f64,
    /// Where all but clauses and windows comes from.
    #[serde(default = "local_definition")]
    pub source: String,
    /// Window by age at the index.
    pub windows: Vec<ReferralWindow>,
    /// How soon the serum after a screen where the meter is not to be used.
    pub off_limit: OffLimit,
}

/// Windows of screens at or above the line where the meter is not to be used.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OffLimit {
    /// Up to this age the first window holds, hours, end included.
    pub first_day_h: f64,
    /// A serum within this is in time then, hours.
    pub first_day_within_h: f64,
    /// A serum within this is in time later, hours.
    pub within_h: f64,
    /// Where they come from.
    pub source: String,
}

/// One reason to call for a serum.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Clause {
    /// Which comparison is made.
    pub when: ClauseKind,
    /// The limit, or the margin below the line, umol/L; absent for `above_range`.
    pub umol_l: Option<f64>,
    /// The same in mg/dL.
    pub mg_dl: Option<f64>,
    /// Where the clause comes from.
    pub source: String,
}

impl Clause {
    /// The limit, or the margin; `None` when neither key, or both, are given.
    pub fn limit(&self) -> Option<Concentration> {
        Concentration::either(self.umol_l, self.mg_dl)
    }
}

words! {
    /// The closed vocabulary of clauses.
    pub ClauseKind {
        /// value > limit
        ValueAbove = "value_above",
        /// value >= limit
        ValueAtLeast = "value_at_least",
        /// value >= line - margin
        LineMinus = "line_minus",
        /// the meter reported "above x"
        AboveRange = "above_range",
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

/// Hours at which the share drawn is reported.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TimeToSerum {
    /// Whole hours after the index.
    pub shares_at_h: Vec<u32>,
    /// Where the hours come from.
    #[serde(default = "local_definition")]
    pub source: String,
}
