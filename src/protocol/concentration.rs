//! A limit as `protocol.toml` wrote it, in umol/L or mg/dL.

use std::fmt;

use super::units::micro;

/// 1 mg/dL of bilirubin in umol/L: the customary factor (by molar mass,
/// 584.66 g/mol, it is 17.104). The only place it stands; pages print it.
pub const UMOL_L_PER_MG_DL: f64 = 17.1;

/// A bilirubin concentration in the unit it was written in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Concentration {
    /// micromole per litre
    UmolL(f64),
    /// milligram per decilitre
    MgDl(f64),
}

impl Concentration {
    /// The one of two keys that was given; `None` for neither, or for both.
    pub(super) fn either(umol_l: Option<f64>, mg_dl: Option<f64>) -> Option<Self> {
        match (umol_l, mg_dl) {
            (Some(value), None) => Some(Self::UmolL(value)),
            (None, Some(value)) => Some(Self::MgDl(value)),
            _ => None,
        }
    }

    /// The number as it was written.
    pub fn number(self) -> f64 {
        match self {
            Self::UmolL(value) | Self::MgDl(value) => value,
        }
    }

    /// Whether both are written in the same unit.
    pub(super) fn has_unit_of(self, other: Self) -> bool {
        std::mem::discriminant(&self) == std::mem::discriminant(&other)
    }

    /// In whole micro-umol/L, the integer all comparisons use.
    pub fn micro(self) -> i64 {
        match self {
            Self::UmolL(value) => micro(value),
            Self::MgDl(value) => micro(value * UMOL_L_PER_MG_DL),
        }
    }
}

impl fmt::Display for Concentration {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::UmolL(value) => write!(f, "{value} umol/L"),
            Self::MgDl(value) => write!(f, "{value} mg/dL"),
        }
    }
}
