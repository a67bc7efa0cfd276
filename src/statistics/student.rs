//! Student's t: the quantile of a 95 % interval.
//!
//! t²/d of d degrees of freedom are the odds of a beta variable of shapes 1/2 and d/2
//! (Abramowitz M, Stegun IA (1964) Handbook of Mathematical Functions, 26.5.27), so it comes
//! from the tail of that distribution. Compared with scipy up to ten million degrees of freedom.
//! Degenerate case: no degrees of freedom, no quantile.

use super::Interval;
use super::incomplete_beta::odds_with_above;

/// The quantile of t that leaves 2.5 % above it; `None` for no degrees of freedom.
///
/// ```
/// use siskin::statistics::student::quantile_95;
/// assert!((quantile_95(15).unwrap() - 2.131_449_545_559).abs() < 1e-11);
/// assert_eq!(quantile_95(0), None);
/// ```
pub fn quantile_95(degrees: usize) -> Option<f64> {
    let d = degrees as f64;
    (degrees > 0).then(|| (d * odds_with_above(0.5, d / 2.0, 0.05)).sqrt())
}

/// The 95 % interval of an estimate with its standard error; `None` for no degrees of freedom
/// or where a limit is not finite.
///
/// ```
/// use siskin::statistics::student::interval;
/// let found = interval(10.0, 2.0, 15).unwrap();
/// assert!((found.lower - 5.7371).abs() < 1e-4 && (found.upper - 14.2629).abs() < 1e-4);
/// ```
pub fn interval(estimate: f64, error: f64, degrees: usize) -> Option<Interval> {
    let half = quantile_95(degrees)? * error;
    let (lower, upper) = (estimate - half, estimate + half);
    (lower.is_finite() && upper.is_finite()).then_some(Interval { lower, upper })
}
