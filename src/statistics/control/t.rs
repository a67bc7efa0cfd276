//! Values with a long tail upwards, such as times: individuals on a scale of their own.
//!
//! Exponential times, as between events at a steady rate, are skewed: many short and few long. The
//! power y = t^(1/3.6) makes them nearly normal; y is charted as individuals
//! ([`super::individuals`]) and centre and limits are raised back, as on the t-chart. Source: Nelson
//! LS (1994) J Qual Technol 26:239-240; worked example in Montgomery DC, Introduction to
//! Statistical Quality Control, example 7.6.
//!
//! Convention: the exponent is 1/3.6 exactly. The book's printed figures use 0.2777, which
//! moves the limits in the fourth figure.
//!
//! The lower limit is nearly always 0 (a negative one on the transformed scale becomes 0), so one
//! point can hardly show that values have become smaller; runs can.
//!
//! Unit: any, the same for all. Degenerate cases: a value that is negative or not finite, or fewer
//! than two values, give `None`. A value of 0 is kept as 0.

use super::Limits;
use super::individuals::Individuals;

/// Power that makes exponential values nearly normal.
pub const EXPONENT: f64 = 1.0 / 3.6;

/// Values raised to a power; `None` when one is negative or not finite.
pub fn transformed(values: &[f64], exponent: f64) -> Option<Vec<f64>> {
    let power = |value: &f64| (value.is_finite() && *value >= 0.0).then(|| value.powf(exponent));
    values.iter().map(power).collect()
}

/// A transformed value raised back; a negative one becomes 0.
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
pub fn individuals(values: &[f64]) -> Option<Individuals> {
    Individuals::of(&transformed(values, EXPONENT)?)
}

/// Limits of a value.
pub fn limits(of: &Individuals) -> Limits {
    let limits = of.limits();
    Limits {
        lower: raised_back(limits.lower),
        upper: raised_back(limits.upper),
    }
}
