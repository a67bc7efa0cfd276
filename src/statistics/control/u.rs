//! Rates by month: the u-chart, and the c-chart as the one of equal exposures.
//!
//! The centre is all events over all exposure of the months that set the limits. A month of
//! exposure e (in thousands, say) has the limits
//!
//! ```text
//! centre ± 3·sqrt(centre / e)
//! ```
//!
//! the lower one not below 0. With an exposure of 1 each this is the c-chart. Source:
//! NIST/SEMATECH e-Handbook of Statistical Methods 6.3.3.1; Montgomery DC, Introduction to
//! Statistical Quality Control, section 7.3.
//!
//! Where fewer than 5 events are expected, [`exact`] limits of the Poisson distribution stand
//! instead, by the same definition as in [`super::p`]: a count is beyond when one so large (or
//! so small) has a probability under 0.00135.
//!
//! Degenerate cases: an exposure or centre that is not a number, not finite or negative, and an
//! exposure of 0, give `None`; at a centre of 0 both limits are 0.

use statrs::function::gamma::{checked_gamma_lr, checked_gamma_ur};

use super::p::first;
use super::{ENOUGH, Limits, TAIL};

/// All events over all exposure; `None` for no exposure at all or one that is not a number.
pub fn centre(months: &[(u64, f64)]) -> Option<f64> {
    let exposure: f64 = months.iter().map(|month| month.1).sum();
    let is_defined = months.iter().all(|month| month.1 >= 0.0) && exposure > 0.0 && exposure.is_finite();
    let rate = months.iter().map(|month| month.0 as f64).sum::<f64>() / exposure;
    (is_defined && rate.is_finite()).then_some(rate)
}

/// Standard deviation of the rate of an `exposure`; `None` for none, or for no rate.
pub fn sigma(centre: f64, exposure: f64) -> Option<f64> {
    let sigma = (centre / exposure).sqrt();
    (centre >= 0.0 && exposure > 0.0 && exposure.is_finite() && sigma.is_finite()).then_some(sigma)
}

/// Three-sigma limits of a month of this `exposure`, the lower one not below 0.
///
/// ```
/// use siskin::statistics::control::u::three_sigma;
/// // The c-chart: an exposure of 1.
/// let limits = three_sigma(16.0, 1.0).unwrap();
/// assert_eq!((limits.lower, limits.upper), (4.0, 28.0));
/// ```
pub fn three_sigma(centre: f64, exposure: f64) -> Option<Limits> {
    let reach = 3.0 * sigma(centre, exposure)?;
    Some(Limits {
        lower: (centre - reach).max(0.0),
        upper: centre + reach,
    })
}

/// Limits of a month of this `exposure` from the Poisson distribution.
///
/// ```
/// use siskin::statistics::control::u::exact;
/// // With 1 expected, 5 or more come with probability 0.0037, 6 or more with 0.0006.
/// let limits = exact(1.0, 1.0).unwrap();
/// assert_eq!((limits.lower, limits.upper), (0.0, 5.0));
/// ```
pub fn exact(centre: f64, exposure: f64) -> Option<Limits> {
    let (fewest, most) = exact_counts(centre, exposure)?;
    Some(Limits {
        lower: fewest as f64 / exposure,
        upper: most as f64 / exposure,
    })
}

/// The fewest and the most events of a month of this `exposure` that are within those limits.
pub(super) fn exact_counts(centre: f64, exposure: f64) -> Option<(u64, u64)> {
    sigma(centre, exposure)?;
    let expected = centre * exposure;
    let is_beyond_above = |count: u64| at_least(count, expected) < TAIL;
    let is_beyond_below = |count: u64| at_most(count, expected) < TAIL;
    // No count so far above the expected one is within the limits.
    let most = (2.0 * expected + 40.0) as u64;
    Some((
        first(most, |count| !is_beyond_below(count)),
        first(most, |count| is_beyond_above(count + 1)),
    ))
}

/// Whether too few events are expected for three-sigma limits.
pub fn needs_exact(centre: f64, exposure: f64) -> bool {
    centre * exposure < ENOUGH
}

/// Limits of a month of this `exposure`: exact ones where they are needed, else of three sigma.
pub fn limits(centre: f64, exposure: f64) -> Option<Limits> {
    if needs_exact(centre, exposure) {
        exact(centre, exposure)
    } else {
        three_sigma(centre, exposure)
    }
}

/// Probability of `count` or more events: a regularised incomplete gamma function.
fn at_least(count: u64, expected: f64) -> f64 {
    match count {
        0 => 1.0,
        _ if expected <= 0.0 => 0.0,
        _ => checked_gamma_lr(count as f64, expected).unwrap_or(0.0),
    }
}

/// Probability of `count` or fewer events.
fn at_most(count: u64, expected: f64) -> f64 {
    if expected <= 0.0 {
        return 1.0;
    }
    checked_gamma_ur(count as f64 + 1.0, expected).unwrap_or(1.0)
}
