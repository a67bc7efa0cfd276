//! One value a month: the individuals chart (the X of XmR).
//!
//! With the mean moving range mR, the mean distance of each value from the one before,
//!
//! ```text
//! sigma = mR / d2,    limits = mean ± 3·sigma
//! ```
//!
//! Convention: d2 = 1.128, as NIST prints it. The exact 2/sqrt(pi) = 1.12838 and the factor
//! 2.66 = 3/1.128 rounded, both seen in use, give limits that differ in the fourth figure.
//! Source: NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.2.
//!
//! Months without a value are passed over: the values on both sides of a gap make one range.
//! In a steady series that is as good as any other; in a drifting one it widens the limits.
//!
//! Degenerate cases: fewer than two values, or one that is not finite, give `None`; identical
//! values give a sigma of 0 and both limits at the mean.

use super::Limits;

/// Expected range of two values in units of sigma, the rounded figure of the tables.
pub const D2: f64 = 1.128;

/// Mean and mean moving range of a series, in its unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Individuals {
    /// Mean of the values.
    pub centre: f64,
    /// Mean distance of each value from the one before.
    pub mean_range: f64,
}

impl Individuals {
    /// Those of `values`; `None` for fewer than two, or when one or a sum is not finite.
    ///
    /// ```
    /// use siskin::statistics::control::individuals::Individuals;
    /// let of = Individuals::of(&[4.0, 6.0, 5.0]).unwrap();
    /// assert_eq!((of.centre, of.mean_range), (5.0, 1.5));
    /// assert_eq!(Individuals::of(&[4.0]), None);
    /// ```
    pub fn of(values: &[f64]) -> Option<Individuals> {
        if values.len() < 2 {
            return None;
        }
        let ranges: f64 = values.windows(2).map(|pair| (pair[1] - pair[0]).abs()).sum();
        let of = Individuals {
            centre: values.iter().sum::<f64>() / values.len() as f64,
            mean_range: ranges / (values.len() - 1) as f64,
        };
        (of.centre.is_finite() && of.mean_range.is_finite()).then_some(of)
    }

    /// Standard deviation of a value.
    pub fn sigma(&self) -> f64 {
        self.mean_range / D2
    }

    /// Three-sigma limits of a value.
    pub fn limits(&self) -> Limits {
        let reach = 3.0 * self.sigma();
        Limits {
            lower: self.centre - reach,
            upper: self.centre + reach,
        }
    }
}
