//! The difference of two means, with Welch's interval.
//!
//! With means m, standard deviations s (n - 1) and v = s²/n of each:
//!
//! ```text
//! m1 - m2 ± t·sqrt(v1 + v2),  t at 0.975 with (v1 + v2)² / (v1²/(n1 - 1) + v2²/(n2 - 1)) degrees of freedom
//! ```
//!
//! The two may vary differently. Above 10,000 degrees of freedom the normal quantile stands for t,
//! with which it agrees to four digits. Source: Welch BL (1947) Biometrika 34:28-35. In the unit
//! of the values. Degenerate cases: fewer than two values on either side, no spread on both, or values
//! that are not finite give `None`.

use statrs::distribution::{ContinuousCDF, StudentsT};

use super::Interval;
use super::proportion::Z_95;
use super::summary::{mean, standard_deviation};

/// With more degrees of freedom t is the normal quantile.
const MANY: f64 = 1e4;

/// A difference of means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference {
    /// First minus second.
    pub value: f64,
    /// Its 95 % interval.
    pub interval: Interval,
}

/// The difference of the means of two independent samples.
///
/// ```
/// use siskin::statistics::means::welch;
/// let difference = welch(&[1.0, 2.0, 3.0], &[4.0, 5.0, 6.0]).unwrap();
/// assert_eq!(difference.value, -3.0);
/// assert!(difference.interval.upper < 0.0);
/// assert_eq!(welch(&[1.0], &[4.0, 5.0]), None);
/// ```
pub fn welch(first: &[f64], second: &[f64]) -> Option<Difference> {
    let (n, m) = (first.len() as f64, second.len() as f64);
    let value = mean(first)? - mean(second)?;
    // The roots of v1 and v2, so that no square leaves the range of a number.
    let v = standard_deviation(first)? / n.sqrt();
    let w = standard_deviation(second)? / m.sqrt();
    let error = v.hypot(w);
    let freedom = 1.0 / ((v / error).powi(4) / (n - 1.0) + (w / error).powi(4) / (m - 1.0));
    let t = match freedom < MANY {
        true => StudentsT::new(0.0, 1.0, freedom).ok()?.inverse_cdf(0.975),
        false => Z_95,
    };
    let half = t * error;
    (error > 0.0 && half.is_finite()).then_some(Difference {
        value,
        interval: Interval {
            lower: value - half,
            upper: value + half,
        },
    })
}
