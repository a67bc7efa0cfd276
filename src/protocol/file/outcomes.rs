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
    /// Days after the month's last birth until the figure is final.
    pub provisional_days: u32,
    /// Where it comes from.
    #[serde(default = "local_definition")]
    pub source: String,
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
