//! Cumulative sums: the tabular cusum.
//!
//! Two sums gather what each value is above or below the target by more than an allowance k,
//! and never fall below 0:
//!
//! ```text
//! above_i = max(0, above_(i-1) + x_i - target - k)
//! below_i = max(0, below_(i-1) + target - k - x_i)
//! ```
//!
//! A sum beyond h is a signal. Source: NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.3.
//!
//! Units: target, k and h in those of the values; k is half the shift one wants to find, h four
//! or five sigma. Months without a value are left out before.
//! Degenerate cases: anything not finite gives `None`; no values give an empty list.

use super::Side;

/// What the sums are taken about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cusum {
    /// Where the values are expected to stay.
    pub target: f64,
    /// Allowance k: what a value may be off without counting.
    pub allowance: f64,
    /// Decision limit h.
    pub limit: f64,
}

/// Both sums after one value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sums {
    /// What has gathered above the target.
    pub above: f64,
    /// What has gathered below the target, as a positive number.
    pub below: f64,
    /// The side whose sum is beyond the limit; the larger when both are.
    pub signal: Option<Side>,
}

impl Cusum {
    /// The sums after each of the `values`.
    ///
    /// ```
    /// use siskin::statistics::control::{Side, cusum::Cusum};
    /// let of = Cusum { target: 10.0, allowance: 0.5, limit: 2.0 };
    /// let sums = of.sums(&[11.0, 12.5]).unwrap();
    /// assert_eq!((sums[1].above, sums[1].below), (2.5, 0.0));
    /// assert_eq!(sums[1].signal, Some(Side::Above));
    /// ```
    pub fn sums(&self, values: &[f64]) -> Option<Vec<Sums>> {
        let (mut above, mut below) = (0.0_f64, 0.0_f64);
        let step = |x: &f64| {
            // In the order of the handbook: the deviation less the allowance, then the sum.
            above = (above + (x - self.target - self.allowance)).max(0.0);
            below = (below + (self.target - self.allowance - x)).max(0.0);
            let signal = if above > self.limit && above >= below {
                Some(Side::Above)
            } else if below > self.limit {
                Some(Side::Below)
            } else {
                None
            };
            // A maximum with 0 swallows what is not a number.
            (x.is_finite() && above.is_finite() && below.is_finite()).then_some(Sums { above, below, signal })
        };
        let is_defined = [self.target, self.allowance, self.limit].iter().all(|x| x.is_finite());
        values
            .iter()
            .map(step)
            .collect::<Option<Vec<Sums>>>()
            .filter(|_| is_defined)
    }
}
