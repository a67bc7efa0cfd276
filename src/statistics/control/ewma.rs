//! Exponentially weighted moving average.
//!
//! From the target on, each value moves the average by the share lambda of its distance:
//! E_i = lambda·x_i + (1 - lambda)·E_(i-1), E_0 = target. Limits after i values:
//!
//! ```text
//! target ± width·sigma·sqrt(lambda/(2 - lambda) · (1 - (1 - lambda)^(2i)))
//! ```
//!
//! which open to those without the last factor. Small lasting shifts show earlier than on a
//! chart of single values. Source: NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.4,
//! which draws the opened limits throughout; the factor is in Montgomery DC, Introduction to
//! Statistical Quality Control, section 9.2.
//!
//! Units: those of the values. Months without a value are left out before.
//! Degenerate cases: a lambda outside (0, 1], a negative sigma or width, or anything not finite
//! gives `None`; no values give an empty list.

use super::Limits;

/// How the average is taken and judged.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ewma {
    /// Share of the newest value, above 0 and at most 1.
    pub lambda: f64,
    /// Where the average starts and is expected to stay.
    pub target: f64,
    /// Standard deviation of a value.
    pub sigma: f64,
    /// Width of the limits in standard deviations of the average; 3 as a rule.
    pub width: f64,
}

/// The average after one value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Average {
    /// The average.
    pub value: f64,
    /// Its limits after so many values.
    pub limits: Limits,
}

impl Ewma {
    /// The average after each of the `values`.
    ///
    /// ```
    /// use siskin::statistics::control::ewma::Ewma;
    /// let of = Ewma { lambda: 0.5, target: 10.0, sigma: 1.0, width: 3.0 };
    /// let averages = of.averages(&[12.0, 10.0]).unwrap();
    /// assert_eq!(averages[1].value, 10.5);
    /// assert_eq!(averages[0].limits.upper, 11.5);
    /// ```
    pub fn averages(&self, values: &[f64]) -> Option<Vec<Average>> {
        self.opened()?;
        let mut value = self.target;
        let mut unweighted = 1.0;
        let step = |x: &f64| {
            value += self.lambda * (x - value);
            unweighted *= (1.0 - self.lambda).powi(2);
            let limits = self.limits(1.0 - unweighted)?;
            value.is_finite().then_some(Average { value, limits })
        };
        values.iter().map(step).collect()
    }

    /// The limits to which those of the first values open.
    pub fn opened(&self) -> Option<Limits> {
        self.limits(1.0)
    }

    fn limits(&self, weight: f64) -> Option<Limits> {
        let is_defined = self.lambda > 0.0 && self.lambda <= 1.0 && self.sigma >= 0.0 && self.width >= 0.0;
        let reach = self.width * self.sigma * (self.lambda / (2.0 - self.lambda) * weight).sqrt();
        (is_defined && reach.is_finite() && self.target.is_finite()).then_some(Limits {
            lower: self.target - reach,
            upper: self.target + reach,
        })
    }
}
