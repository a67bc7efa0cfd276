//! Proportions by month: the p-chart.
//!
//! The centre is all events over all trials of the months that set the limits. A month of n
//! trials has the limits
//!
//! ```text
//! centre ± 3·sqrt(centre·(1 - centre) / n)
//! ```
//!
//! cut to 0 and 1. Source: NIST/SEMATECH e-Handbook of Statistical Methods 6.3.3.2; with a
//! varying n Montgomery DC, Introduction to Statistical Quality Control, section 7.2.2.
//!
//! Where fewer than 5 events, or fewer than 5 trials without one, are expected, the normal
//! curve fits badly and [`exact`] limits of the binomial distribution stand instead: a count is
//! beyond when a count so large (or so small) has a probability under 0.00135, the share of a
//! normal curve beyond three sigma on one side. The limits are the outermost counts that are
//! not beyond, over n.
//!
//! Degenerate cases: no trials, more events than trials or a centre outside 0 to 1 give `None`;
//! at a centre of 0 or 1 both limits are the centre.

use statrs::function::beta::checked_beta_reg;

use super::{ENOUGH, Limits, TAIL};

/// All events over all trials; `None` for no trials, or more events than trials in a month.
pub fn centre(months: &[(u64, u64)]) -> Option<f64> {
    if months.iter().any(|(events, trials)| events > trials) {
        return None;
    }
    let sum = |of: fn(&(u64, u64)) -> u64| months.iter().map(|month| of(month) as f64).sum::<f64>();
    let trials = sum(|month| month.1);
    (trials > 0.0).then(|| sum(|month| month.0) / trials)
}

/// Standard deviation of the proportion of `trials`; `None` for no trials or no proportion.
pub fn sigma(centre: f64, trials: u64) -> Option<f64> {
    let is_defined = trials > 0 && (0.0..=1.0).contains(&centre);
    is_defined.then(|| (centre * (1.0 - centre) / trials as f64).sqrt())
}

/// Three-sigma limits of a month of `trials`, cut to 0 and 1.
///
/// ```
/// use siskin::statistics::control::p::three_sigma;
/// let limits = three_sigma(0.1, 100).unwrap();
/// assert!((limits.lower - 0.01).abs() < 1e-12);
/// assert!((limits.upper - 0.19).abs() < 1e-12);
/// assert_eq!(three_sigma(0.1, 0), None);
/// ```
pub fn three_sigma(centre: f64, trials: u64) -> Option<Limits> {
    let reach = 3.0 * sigma(centre, trials)?;
    Some(Limits {
        lower: (centre - reach).max(0.0),
        upper: (centre + reach).min(1.0),
    })
}

/// Limits of a month of `trials` from the binomial distribution.
///
/// ```
/// use siskin::statistics::control::p::exact;
/// // Of 20 with a chance of 0.05 each, 5 or more come with probability 0.0026, 6 or more with 0.0003.
/// let limits = exact(0.05, 20).unwrap();
/// assert_eq!((limits.lower, limits.upper), (0.0, 5.0 / 20.0));
/// ```
pub fn exact(centre: f64, trials: u64) -> Option<Limits> {
    sigma(centre, trials)?;
    let (n, chance) = (trials as f64, centre);
    let is_beyond_above = |count: u64| at_least(count, trials, chance) < TAIL;
    // By symmetry, as many trials without the event as with one of the opposite chance.
    let is_beyond_below = |count: u64| at_least(trials - count, trials, 1.0 - chance) < TAIL;
    Some(Limits {
        lower: first(trials, |count| !is_beyond_below(count)) as f64 / n,
        upper: first(trials, |count| is_beyond_above(count + 1)) as f64 / n,
    })
}

/// Whether too few events, or too few trials without one, are expected for three-sigma limits.
pub fn needs_exact(centre: f64, trials: u64) -> bool {
    let n = trials as f64;
    n * centre < ENOUGH || n * (1.0 - centre) < ENOUGH
}

/// Limits of a month of `trials`: exact ones where they are needed, else of three sigma.
pub fn limits(centre: f64, trials: u64) -> Option<Limits> {
    if needs_exact(centre, trials) {
        exact(centre, trials)
    } else {
        three_sigma(centre, trials)
    }
}

/// Probability of `count` or more events: a regularised incomplete beta function.
fn at_least(count: u64, trials: u64, chance: f64) -> f64 {
    if count == 0 || chance >= 1.0 {
        return 1.0;
    }
    if chance <= 0.0 {
        return 0.0;
    }
    let (a, b) = (count as f64, (trials - count) as f64 + 1.0);
    checked_beta_reg(a, b, chance).unwrap_or(0.0)
}

/// The first of 0, 1, ..., `last` of which `is` holds, for an `is` that stays true; else `last`.
pub(super) fn first(last: u64, is: impl Fn(u64) -> bool) -> u64 {
    let (mut from, mut to) = (0, last);
    while from < to {
        let middle = from + (to - from) / 2;
        if is(middle) {
            to = middle;
        } else {
            from = middle + 1;
        }
    }
    from
}
