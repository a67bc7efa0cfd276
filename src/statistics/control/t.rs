//! Times between rare events: the t-chart.
//!
//! Times between events that come at a steady rate are exponential: skewed, many short and few
//! long. The power y = t^(1/3.6) makes them nearly normal; y is charted as individuals
//! ([`super::individuals`]) and centre and limits are raised back. Source: Nelson LS (1994) J Qual
//! Technol 26:239-240; worked example in Montgomery DC, Introduction to Statistical Quality Control, example 7.6.
//!
//! Convention: the exponent is 1/3.6 exactly. The book's printed figures use 0.2777, which
//! moves the limits in the fourth figure.
//!
//! A point above the upper limit is a long quiet time. The lower limit is nearly always 0 (a
//! negative one on the transformed scale becomes 0), so the chart cannot show by one point
//! that events come too often; runs can.
//!
//! Unit: any unit of time, the same for all. Degenerate cases: a time that is negative or not
//! finite, or fewer than two times, give `None`. A time of 0 (two events on one date) is kept as
//! 0; better give parts of days.

use super::Limits;
use super::individuals::Individuals;

/// Power that makes exponential times nearly normal.
pub const EXPONENT: f64 = 1.0 / 3.6;

/// Times raised to a power; `None` when one is negative or not finite.
pub fn transformed(times: &[f64], exponent: f64) -> Option<Vec<f64>> {
    let power = |time: &f64| (time.is_finite() && *time >= 0.0).then(|| time.powf(exponent));
    times.iter().map(power).collect()
}

/// A transformed value raised back to a time; a negative one becomes 0.
pub fn raised_back(value: f64) -> f64 {
    value.max(0.0).powf(1.0 / EXPONENT).min(f64::MAX)
}

/// Centre and limits on the transformed scale.
///
/// ```
/// use siskin::statistics::control::t;
/// let of = t::individuals(&[4.0, 9.0, 1.0, 30.0, 6.0]).unwrap();
/// assert!(t::limits(&of).upper > 30.0);
/// assert_eq!(t::individuals(&[4.0, -1.0]), None);
/// ```
pub fn individuals(times: &[f64]) -> Option<Individuals> {
    Individuals::of(&transformed(times, EXPONENT)?)
}

/// Limits of a time.
pub fn limits(of: &Individuals) -> Limits {
    let limits = of.limits();
    Limits {
        lower: raised_back(limits.lower),
        upper: raised_back(limits.upper),
    }
}
