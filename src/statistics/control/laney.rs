//! Proportions and rates whose months differ by more than chance within a month: Laney's p' and
//! u' charts.
//!
//! Each month is standardised, z = (value - centre)/sigma with the sigma of [`super::p`] or
//! [`super::u`]. The spread of z between neighbouring months, sigma_z = mR(z)/1.128, widens
//! the limits:
//!
//! ```text
//! centre ± 3·sigma·sigma_z
//! ```
//!
//! cut to 0 (and 1). Source: Laney DB (2002) Qual Eng 14:531-537; worked for emergency
//! departments by Mohammed MA, Panesar JS, Laney DB, Wilson R (2013) BMJ Qual Saf 22:362-368.
//!
//! Conventions: sigma_z comes from moving ranges, not from the standard deviation of z, so that
//! a lasting step does not hide itself; d2 = 1.128 as in [`super::individuals`] (the exact
//! 2/sqrt(pi) gives a sigma_z 0.03 % smaller). Laney lets sigma_z be under 1; so do the functions
//! here. Charts drawn by [`super::chart`] take no sigma_z under 1: limits narrower than chance
//! within a month would call chance a signal.
//!
//! Degenerate cases: fewer than two months, or a centre of 0 or 1, give no sigma_z.

use super::individuals::Individuals;
use super::{Limits, p, u};

/// Standardised proportions of months of events and trials; `None` when one is not defined.
pub fn standardised_proportions(months: &[(u64, u64)], centre: f64) -> Option<Vec<f64>> {
    let z = |&(events, trials): &(u64, u64)| {
        let sigma = p::sigma(centre, trials).filter(|sigma| *sigma > 0.0)?;
        Some((events as f64 / trials as f64 - centre) / sigma)
    };
    months.iter().map(z).collect()
}

/// Standardised rates of months of events and exposure; `None` when one is not defined.
pub fn standardised_rates(months: &[(u64, f64)], centre: f64) -> Option<Vec<f64>> {
    let z = |&(events, exposure): &(u64, f64)| {
        let sigma = u::sigma(centre, exposure).filter(|sigma| *sigma > 0.0)?;
        Some((events as f64 / exposure - centre) / sigma)
    };
    months.iter().map(z).collect()
}

/// Spread of standardised months between neighbours; `None` for fewer than two.
///
/// ```
/// use siskin::statistics::control::laney::sigma_z;
/// assert!((sigma_z(&[1.0, -1.0, 1.0]).unwrap() - 2.0 / 1.128).abs() < 1e-12);
/// assert_eq!(sigma_z(&[1.0]), None);
/// ```
pub fn sigma_z(z: &[f64]) -> Option<f64> {
    Individuals::of(z).map(|of| of.sigma())
}

/// Limits of the proportion of a month of `trials`.
pub fn proportion_limits(centre: f64, trials: u64, sigma_z: f64) -> Option<Limits> {
    let reach = 3.0 * p::sigma(centre, trials)? * sigma_z;
    reach.is_finite().then_some(Limits {
        lower: (centre - reach).max(0.0),
        upper: (centre + reach).min(1.0),
    })
}

/// Limits of the rate of a month of this `exposure`.
pub fn rate_limits(centre: f64, exposure: f64, sigma_z: f64) -> Option<Limits> {
    let reach = 3.0 * u::sigma(centre, exposure)? * sigma_z;
    reach.is_finite().then_some(Limits {
        lower: (centre - reach).max(0.0),
        upper: centre + reach,
    })
}
