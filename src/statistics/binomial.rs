//! The binomial distribution: how many events come of n trials of chance p.
//!
//! The chance of at most k events is the lower tail of the beta distribution of shapes n - k and
//! k + 1 at 1 - p. The quantile is the smallest k whose chance reaches the level, as in R
//! `qbinom`. Source: Abramowitz M, Stegun IA (1964) Handbook of Mathematical Functions, 26.5.24.
//! Degenerate cases: a chance or level outside 0 to 1 has no answer; no trials give 0 events.

use super::incomplete_beta::lower_tail;

/// The chance of at most `events` of `trials`, each of chance `p`.
///
/// ```
/// use siskin::statistics::binomial::cdf;
/// assert!((cdf(1, 10, 0.5).unwrap() - 11.0 / 1024.0).abs() < 1e-15);
/// assert_eq!(cdf(1, 10, 1.5), None);
/// ```
pub fn cdf(events: u64, trials: u64, p: f64) -> Option<f64> {
    if !(0.0..=1.0).contains(&p) {
        return None;
    }
    if events >= trials {
        return Some(1.0);
    }
    let (others, more) = ((trials - events) as f64, events as f64 + 1.0);
    Some(lower_tail(others, more, 1.0 - p, p))
}

/// The smallest number of events that at least `level` of all series of `trials` do not exceed.
///
/// ```
/// use siskin::statistics::binomial::quantile;
/// assert_eq!(quantile(0.025, 10, 0.5), Some(2));
/// assert_eq!(quantile(0.975, 10, 0.5), Some(8));
/// assert_eq!(quantile(0.5, 0, 0.5), Some(0));
/// ```
pub fn quantile(level: f64, trials: u64, p: f64) -> Option<u64> {
    if !(0.0..=1.0).contains(&level) {
        return None;
    }
    // A level that is itself such a chance must not miss it by a rounding.
    let level = level * (1.0 - 64.0 * f64::EPSILON);
    let (mut low, mut high) = (0, trials);
    while low < high {
        let middle = low + (high - low) / 2;
        if cdf(middle, trials, p)? >= level {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    // With no trials nothing was asked of the chance.
    cdf(low, trials, p).map(|_| low)
}
