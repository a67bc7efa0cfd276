//! Overdispersion: whether units differ among themselves by more than chance, and by how much.
//!
//! With z each unit's distance from the centre in standard errors s,
//!
//! ```text
//! phi = Σz² / I                                     over I units; 1 is what chance gives
//! tau² = (I·phi - (I-1)) / (Σw - Σw²/Σw)            w = 1/s², 0 where it would be negative
//! ```
//!
//! where the z of phi are winsorised first, so that one strange unit, which the funnel is to find,
//! does not widen the limits around itself. tau is the standard deviation of the true proportions
//! of units; limits widened by it are centre ± z·sqrt(s² + tau²). Sources: Spiegelhalter DJ (2005)
//! Qual Saf Health Care 14:347-351 and Stat Med 24:1185-1202; Spiegelhalter DJ and others (2012)
//! J R Stat Soc A 175:1-47; DerSimonian R, Laird N (1986) Control Clin Trials 7:177-188.
//!
//! **Winsorising.** A tenth on each side: z below the 10 % quantile become that quantile, those
//! above the 90 % quantile that. The papers do not say which quantile. References differ: the
//! interpolated one (type 7 of Hyndman and Fan), or the order statistic of rank floor(I/10). We
//! take type 7, as [`crate::statistics::summary::quantile`] does.
//!
//! Degenerate cases: no units give no phi; one unit, or weights that are not finite, no tau².

use super::super::{Interval, summary};

/// What is pulled in on each side.
const SHARE: f64 = 0.1;

/// The z with the outer tenth on each side pulled in.
///
/// ```
/// use siskin::statistics::comparison::overdispersion::winsorised;
/// let z: Vec<f64> = (0..=10).map(f64::from).collect();
/// assert_eq!(winsorised(&z), [1.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 9.0]);
/// ```
pub fn winsorised(z: &[f64]) -> Vec<f64> {
    match (summary::quantile(z, SHARE), summary::quantile(z, 1.0 - SHARE)) {
        (Some(low), Some(high)) => z.iter().map(|z| z.clamp(low, high)).collect(),
        _ => Vec::new(),
    }
}

/// The mean of squared z; `None` without units.
pub fn phi(z: &[f64]) -> Option<f64> {
    let phi = z.iter().map(|z| z * z).sum::<f64>() / z.len() as f64;
    phi.is_finite().then_some(phi)
}

/// The variance of the true proportions among units, from phi and the standard error of each
/// unit; 0 where they differ by no more than chance, `None` for fewer than two units.
pub fn tau_squared(phi: f64, errors: &[f64]) -> Option<f64> {
    if errors.len() < 2 {
        return None;
    }
    // Weights relative to the largest: only ratios matter, and squares of small errors vanish.
    let least = errors.iter().copied().fold(f64::INFINITY, f64::min);
    let weights = || errors.iter().map(|s| (least / s).powi(2));
    let (sum, squares) = (weights().sum::<f64>(), weights().map(|w| w * w).sum::<f64>());
    let units = errors.len() as f64;
    let tau2 = (units * phi - (units - 1.0)) / (sum - squares / sum) * least * least;
    tau2.is_finite().then(|| tau2.max(0.0))
}

/// How limits are widened.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Spread {
    /// Variances are multiplied by phi; one under 1 is taken as 1.
    Multiplied(f64),
    /// tau² is added to variances. Units of any size then differ by as much, which is what
    /// differences in patients and customs do; the one we use.
    Added(f64),
}

impl Spread {
    /// The widened standard error.
    pub fn error(self, plain: f64) -> f64 {
        match self {
            Self::Multiplied(phi) => plain * phi.max(1.0).sqrt(),
            Self::Added(tau2) => plain.hypot(tau2.max(0.0).sqrt()),
        }
    }

    /// Limits at the normal quantile `z` for a unit of this plain standard error, kept within
    /// 0 to 1.
    pub fn limits(self, centre: f64, plain: f64, z: f64) -> Interval {
        let half = z * self.error(plain);
        Interval {
            lower: (centre - half).max(0.0),
            upper: (centre + half).min(1.0),
        }
    }
}
