//! A count of events and its exact Poisson interval.
//!
//! For x events the 95 % limits of the expected count are the quantiles of two gamma
//! distributions of rate 1: shape x at 0.025 and shape x + 1 at 0.975 (half the chi-square
//! quantiles of 2x and 2x + 2 degrees of freedom). Source: Garwood F (1936) Biometrika
//! 28:437-442. Degenerate case: for no events the lower limit is 0.

use statrs::distribution::{ContinuousCDF, Gamma};

use super::Interval;

/// Half of what lies outside a 95 % interval.
const TAIL: f64 = 0.025;

/// The exact 95 % interval of the expected count behind `events`, in events.
///
/// ```
/// use siskin::statistics::poisson::exact;
/// let interval = exact(5);
/// assert!((interval.lower - 1.6235).abs() < 1e-4);
/// assert!((interval.upper - 11.6683).abs() < 1e-4);
/// assert_eq!(exact(0).lower, 0.0);
/// ```
pub fn exact(events: u64) -> Interval {
    let quantile = |shape: f64, p: f64| Gamma::new(shape, 1.0).map_or(f64::NAN, |of| of.inverse_cdf(p));
    Interval {
        lower: if events == 0 {
            0.0
        } else {
            quantile(events as f64, TAIL)
        },
        upper: quantile(events as f64 + 1.0, 1.0 - TAIL),
    }
}
