//! `[version.readmission]`, `[version.severe]` and `[[version.targets]]`: what is hoped never to happen.

use serde::Deserialize;

use super::source::local_definition;
use crate::protocol::concentration::Concentration;
use crate::words::words;

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
    /// Who goes home within this after a test near the line goes home at risk, hours.
    pub home_at_risk_within_h: f64,
    /// A test by no more than this below the line is near it then, umol/L.
    pub home_at_risk_gap_umol_l: Option<f64>,
    /// The same in mg/dL.
    pub home_at_risk_gap_mg_dl: Option<f64>,
    /// Where it comes from.
    #[serde(default = "local_definition")]
    pub source: String,
}

impl Readmission {
    /// The gap of a test near the line; `None` when neither key, or both, are given.
    pub fn home_at_risk_gap(&self) -> Option<Concentration> {
        Concentration::either(self.home_at_risk_gap_umol_l, self.home_at_risk_gap_mg_dl)
    }
}

/// Which serum is near the exchange line: the near miss before harm.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NearExchange {
    /// By no more than this below it, umol/L.
    pub margin_umol_l: Option<f64>,
    /// The same in mg/dL.
    pub margin_mg_dl: Option<f64>,
    /// From this age on, hours.
    pub age_at_least_h: f64,
    /// Where it comes from.
    pub source: String,
}

impl NearExchange {
    /// The margin; `None` when neither key, or both, are given.
    pub fn margin(&self) -> Option<Concentration> {
        Concentration::either(self.margin_umol_l, self.margin_mg_dl)
    }
}

/// What counts as severe jaundice.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Severe {
    /// A serum counts to this age, days, end included.
    pub age_at_most_d: f64,
    /// Bands of serum values; they may overlap.
    pub bands: Vec<Band>,
    /// ICD-10 prefixes of kernicterus, in any place among the diagnoses.
    pub kernicterus_codes: Vec<String>,
    /// Where all but the bands comes from.
    #[serde(default = "local_definition")]
    pub source: String,
}

/// One band of severe jaundice, open above.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Band {
    /// Name; the figure is called after it.
    pub name: String,
    /// How a value is compared with the limit.
    pub when: BandWhen,
    /// The limit, umol/L.
    pub umol_l: Option<f64>,
    /// The same in mg/dL.
    pub mg_dl: Option<f64>,
    /// Where it comes from.
    pub source: String,
}

impl Band {
    /// The limit; `None` when neither key, or both, are given.
    pub fn limit(&self) -> Option<Concentration> {
        Concentration::either(self.umol_l, self.mg_dl)
    }
}

words! {
    /// How a value is compared with the limit of a band.
    pub BandWhen {
        /// value > limit
        Above = "above",
        /// value >= limit
        AtLeast = "at_least",
    }
}

/// What the site wants a figure to be.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Target {
    /// Name of the figure.
    pub figure: String,
    /// The most it may be, percent.
    pub at_most_percent: Option<f64>,
    /// The least it should be, percent.
    pub at_least_percent: Option<f64>,
    /// Where it comes from.
    pub source: String,
}
