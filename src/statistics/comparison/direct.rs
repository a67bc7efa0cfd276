//! Direct standardisation: the rate a group would have with the strata of a standard population.
//!
//! With x events in exposure n in each stratum, and w the stratum's share of the standard
//! population over n,
//!
//! ```text
//! rate = Σw·x     v = Σw²·x     m = the largest w
//! lower = gamma quantile 0.025 of shape rate²/v and scale v/rate
//! upper = gamma quantile 0.975 of shape (rate+m)²/(v+m²) and scale (v+m²)/(rate+m)
//! ```
//!
//! Source: Fay MP, Feuer EJ (1997) Stat Med 16:791-801. Counts are taken as Poisson, so for
//! proportions the interval errs to the wide side. With a single stratum it is Garwood's.
//! Rates are per unit of exposure.
//!
//! Degenerate cases: no events give a rate and lower limit of 0. A stratum that the standard has
//! and the group has not (no exposure) leaves the standardised rate unknown: `None`. Strata
//! without standard count only in the crude rate. Numbers that are negative, not finite, or all 0
//! give `None`.

use statrs::distribution::{Continuous, ContinuousCDF, Gamma};

use super::super::Interval;

/// A stratum, such as a band of gestation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stratum {
    /// Events in the group.
    pub events: u64,
    /// Exposure of the group: cases, births, person-time.
    pub exposure: f64,
    /// The standard population, in any unit: only shares matter.
    pub standard: f64,
}

/// A rate made comparable.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standardised {
    /// Events over exposure, as it is.
    pub crude: f64,
    /// The standardised rate.
    pub rate: f64,
    /// Its 95 % interval.
    pub interval: Interval,
}

/// The directly standardised rate.
///
/// ```
/// use siskin::statistics::comparison::direct::{Stratum, standardise};
/// let stratum = |events, exposure, standard| Stratum { events, exposure, standard };
/// let found = standardise(&[stratum(10, 100.0, 1.0), stratum(5, 500.0, 3.0)]).unwrap();
/// assert_eq!(found.crude, 0.025);
/// assert!((found.rate - (0.25 * 0.1 + 0.75 * 0.01)).abs() < 1e-15);
/// assert_eq!(standardise(&[stratum(0, 0.0, 1.0), stratum(5, 500.0, 3.0)]), None);
/// ```
pub fn standardise(strata: &[Stratum]) -> Option<Standardised> {
    let is_amount = |v: f64| v.is_finite() && v >= 0.0;
    let is_known = |of: &Stratum| {
        let has_rate = of.exposure > 0.0 || (of.standard == 0.0 && of.events == 0);
        is_amount(of.exposure) && is_amount(of.standard) && has_rate
    };
    if !strata.iter().all(is_known) {
        return None;
    }
    let sum = |of: fn(&Stratum) -> f64| strata.iter().map(of).sum::<f64>();
    let standard = sum(|of| of.standard);
    let (mut rate, mut variance, mut largest) = (0.0, 0.0, 0.0_f64);
    for of in strata.iter().filter(|of| of.standard > 0.0) {
        let weight = of.standard / standard / of.exposure;
        rate += weight * of.events as f64;
        variance += weight * weight * of.events as f64;
        largest = largest.max(weight);
    }
    let interval = Interval {
        lower: if rate == 0.0 {
            0.0
        } else {
            quantile(0.025, rate, variance)?
        },
        upper: quantile(0.975, rate + largest, variance + largest * largest)?,
    };
    let crude = sum(|of| of.events as f64) / sum(|of| of.exposure);
    (crude.is_finite() && rate.is_finite()).then_some(Standardised { crude, rate, interval })
}

/// The quantile of a gamma distribution of this mean and variance.
fn quantile(level: f64, mean: f64, variance: f64) -> Option<f64> {
    let (shape, scale) = (mean * (mean / variance), variance / mean);
    let of = Gamma::new(shape, 1.0).ok()?;
    let rough = of.inverse_cdf(level);
    // The search for it stops at nine digits; a step of Newton's finds the others.
    let step = (of.cdf(rough) - level) / of.pdf(rough);
    let at = if step.abs() < 1e-6 * rough { rough - step } else { rough };
    (at.is_finite() && scale.is_finite()).then_some(at * scale)
}
