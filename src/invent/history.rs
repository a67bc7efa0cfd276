//! One baby's history as it is charted: facts with instants, before any extract is cut from it.
//!
//! Instants are seconds since 1970 in UTC, already cut to the precision the extracts write.
//! Units, meters and operators are indices into the network.

use crate::words::words;

use super::rules::NearLine;

/// Everything that is charted about one baby.
#[derive(Debug)]
pub(crate) struct History {
    pub(crate) birth: Birth,
    pub(crate) screens: Vec<Screen>,
    pub(crate) specimens: Vec<Specimen>,
    pub(crate) episodes: Vec<Episode>,
    pub(crate) stays: Vec<Stay>,
    pub(crate) exchanges: Vec<Exchange>,
}

/// A row of the birth register.
#[derive(Debug, Clone)]
pub(crate) struct Birth {
    /// Running number of the baby.
    pub(crate) number: u64,
    /// Running number of the mother.
    pub(crate) mother: u64,
    pub(crate) born_s: i64,
    /// Only the day was charted.
    pub(crate) day_only: bool,
    /// The gestation as charted; the baby's own may differ.
    pub(crate) gestation: ChartedGestation,
    pub(crate) weight_g: i64,
    pub(crate) boy: bool,
    pub(crate) plurality: u32,
    pub(crate) birth_order: u32,
    pub(crate) unit: usize,
    pub(crate) feeding: String,
    pub(crate) risk_factors: Vec<String>,
    pub(crate) skin_tone: String,
    pub(crate) ethnicity: String,
}

/// Gestation as the register holds it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ChartedGestation {
    /// Weeks and days, in days.
    Days(i64),
    /// Completed weeks only.
    Weeks(i64),
    /// Left empty.
    Missing,
}

/// A defect that makes a row unusable: it will be set aside by whoever loads it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Defect {
    /// The row is sound.
    None,
    /// The unit of measure is empty.
    UnitMissing,
    /// The value cannot be true.
    Implausible,
    /// The value is in umol/L and says mg/dL.
    WrongUnit,
}

/// A reading of a meter.
#[derive(Debug, Clone)]
pub(crate) struct Screen {
    pub(crate) measured_s: i64,
    /// As displayed; with `above_range`, the top of the meter's range.
    pub(crate) value_umol_l: i64,
    pub(crate) above_range: bool,
    pub(crate) on_sternum: bool,
    pub(crate) readings: u32,
    pub(crate) meter: usize,
    pub(crate) operator: usize,
    pub(crate) typed: bool,
    pub(crate) setting: &'static str,
    pub(crate) unit: usize,
    pub(crate) defect: Defect,
}

/// A specimen sent to the laboratory.
#[derive(Debug, Clone)]
pub(crate) struct Specimen {
    pub(crate) collected_s: i64,
    pub(crate) resulted_s: i64,
    pub(crate) result: LabResult,
    pub(crate) analyte: String,
    pub(crate) specimen: String,
    pub(crate) unit: usize,
    pub(crate) defect: Defect,
}

/// What the laboratory made of a specimen.
#[derive(Debug, Clone)]
pub(crate) enum LabResult {
    /// A number, and perhaps another one later.
    Number {
        first: LabValue,
        corrected: Option<(i64, LabValue)>,
    },
    /// Reported as final, with a word for a value.
    Haemolysed,
    /// Not analysed.
    Cancelled,
}

/// A number as the laboratory writes it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum LabValue {
    /// Whole umol/L.
    UmolL(i64),
    /// Tenths of mg/dL.
    TenthsMgDl(i64),
}

impl LabValue {
    /// In micro umol/L, by the factor of the rules, rounded half away from zero.
    pub(crate) fn micro_umol_l(self, micro_per_mg_dl: i64) -> i64 {
        match self {
            LabValue::UmolL(value) => value * 1_000_000,
            LabValue::TenthsMgDl(tenths) => {
                let product = tenths * micro_per_mg_dl;
                (product + 5 * product.signum()) / 10
            }
        }
    }
}

/// An episode of phototherapy.
#[derive(Debug, Clone)]
pub(crate) struct Episode {
    pub(crate) started_s: i64,
    /// None while it runs, and when the stop was never charted.
    pub(crate) stopped_s: Option<i64>,
    pub(crate) multiple: bool,
    pub(crate) unit: usize,
}

/// A stay in a unit.
#[derive(Debug, Clone)]
pub(crate) struct Stay {
    pub(crate) unit: usize,
    pub(crate) admitted_s: i64,
    pub(crate) discharged_s: Option<i64>,
    pub(crate) source: Source,
    pub(crate) disposition: Disposition,
    /// Separated by semicolons, the primary first; coded at discharge.
    pub(crate) diagnoses: String,
}

words! {
    /// Where a stay came from.
    pub(crate) Source {
        Birth = "birth",
        Home = "home",
        Transfer = "transfer",
    }
}

words! {
    /// How a stay ended.
    pub(crate) Disposition {
        Home = "home",
        Transfer = "transfer",
        Died = "died",
        /// Still in, or never charted.
        Empty = "",
    }
}

/// An exchange transfusion.
#[derive(Debug, Clone)]
pub(crate) struct Exchange {
    pub(crate) performed_s: i64,
    pub(crate) unit: usize,
}

impl Birth {
    /// Whether a risk factor or the feeding calls for an earlier recheck.
    pub(crate) fn at_recheck_risk(&self, rule: &NearLine) -> bool {
        rule.risk_feeding.contains(&self.feeding)
            || self
                .risk_factors
                .iter()
                .any(|factor| rule.risk_factors.contains(factor))
    }
}
