//! Indirect standardisation: events observed against those expected at the rates of a standard.
//!
//! ```text
//! expected = Σ exposure · standard rate      ratio = observed / expected
//! rate = ratio · crude rate of the standard
//! ```
//!
//! The 95 % interval is the exact Poisson interval of the observed count over what was expected,
//! which is taken as known. Sources: Breslow NE, Day NE (1987) Statistical Methods in Cancer
//! Research, volume II, chapter 2; interval by Garwood, [`crate::statistics::poisson::exact`]
//! (references that take a normal or lognormal interval differ for few events). Suited to small
//! groups whose own strata are too thin for direct standardisation. Two groups' ratios refer to
//! two mixtures of strata: compare each with 1, not with each other.
//!
//! Degenerate cases: nothing expected, whatever was observed, gives `None`; nothing observed gives
//! a ratio and lower limit of 0. Strata in which the group has no exposure add nothing. A stratum
//! with exposure in which the standard has none has no rate to expect by: `None`.

use super::super::{Interval, poisson};

/// A figure and its 95 % interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    /// The figure.
    pub value: f64,
    /// Its interval.
    pub interval: Interval,
}

impl Figure {
    fn times(self, factor: f64) -> Self {
        Self {
            value: self.value * factor,
            interval: Interval {
                lower: self.interval.lower * factor,
                upper: self.interval.upper * factor,
            },
        }
    }

    fn is_finite(&self) -> bool {
        self.value.is_finite() && self.interval.lower.is_finite() && self.interval.upper.is_finite()
    }
}

/// A stratum, such as a band of gestation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stratum {
    /// Events in the group.
    pub events: u64,
    /// Exposure of the group: cases, births, person-time.
    pub exposure: f64,
    /// Events in the standard population.
    pub standard_events: u64,
    /// Exposure of the standard population.
    pub standard_exposure: f64,
}

/// Observed over expected events; `None` unless some are expected.
///
/// ```
/// use siskin::statistics::comparison::indirect::ratio;
/// let found = ratio(5, 2.5).unwrap();
/// assert_eq!(found.value, 2.0);
/// assert!((found.interval.lower - 0.6494).abs() < 1e-4);
/// assert_eq!(ratio(0, 2.5).unwrap().interval.lower, 0.0);
/// assert_eq!(ratio(5, 0.0), None);
/// ```
pub fn ratio(observed: u64, expected: f64) -> Option<Figure> {
    if !(expected.is_finite() && expected > 0.0) {
        return None;
    }
    let count = Figure {
        value: observed as f64,
        interval: poisson::exact(observed),
    };
    Some(count.times(1.0 / expected)).filter(Figure::is_finite)
}

/// The indirectly standardised rate, per unit of exposure: observed over expected events, times the
/// standard's crude rate.
///
/// ```
/// use siskin::statistics::comparison::indirect::{Stratum, standardise};
/// let stratum = |events, exposure, standard_events, standard_exposure| Stratum {
///     events, exposure, standard_events, standard_exposure,
/// };
/// let found = standardise(&[stratum(4, 20.0, 10, 100.0), stratum(6, 100.0, 40, 900.0)]).unwrap();
/// let expected = 2.0 + 4000.0 / 900.0;
/// assert!((found.value - 10.0 / expected * 0.05).abs() < 1e-15);
/// ```
pub fn standardise(strata: &[Stratum]) -> Option<Figure> {
    let is_amount = |v: f64| v.is_finite() && v >= 0.0;
    let mut expected = 0.0;
    for of in strata {
        let is_known = is_amount(of.exposure) && is_amount(of.standard_exposure);
        let has_rate = |events: u64, exposure: f64| exposure > 0.0 || events == 0;
        if !is_known || !has_rate(of.events, of.exposure) || !has_rate(of.standard_events, of.standard_exposure) {
            return None;
        }
        if of.exposure > 0.0 {
            if of.standard_exposure == 0.0 {
                return None;
            }
            expected += of.exposure * (of.standard_events as f64 / of.standard_exposure);
        }
    }
    let observed = strata.iter().try_fold(0_u64, |sum, of| sum.checked_add(of.events))?;
    let crude = strata.iter().map(|of| of.standard_events as f64).sum::<f64>()
        / strata.iter().map(|of| of.standard_exposure).sum::<f64>();
    Some(ratio(observed, expected)?.times(crude)).filter(Figure::is_finite)
}
