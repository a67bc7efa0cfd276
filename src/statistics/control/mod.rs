//! Charts over months: what is expected of a steady process, and what is not.
//!
//! A file a chart. Each gives centre and limits from the months that set them; a value strictly
//! beyond its limit is a signal, one on it is not.

pub mod change_point;
pub mod chart;
pub mod cusum;
pub mod dispersion;
pub mod g;
pub mod individuals;
pub mod laney;
pub mod largest_of_chain;
pub mod p;
pub mod run_chart;
pub mod t;
pub mod u;

/// Share of a normal curve beyond three sigma on one side, to the figures tables print. The exact
/// limits of small counts leave no more than this outside on either side.
pub const TAIL: f64 = 0.00135;

/// With fewer expected events the normal curve fits badly: the customary five.
const ENOUGH: f64 = 5.0;

/// A side of the centre, the median or the limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Above.
    Above,
    /// Below.
    Below,
}

impl Side {
    /// The side of `reference` on which `value` lies; `None` when it lies on it.
    fn of(value: f64, reference: f64) -> Option<Side> {
        if value > reference {
            Some(Side::Above)
        } else if value < reference {
            Some(Side::Below)
        } else {
            None
        }
    }
}

/// Limits within which a value is expected, in its unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Lower limit.
    pub lower: f64,
    /// Upper limit.
    pub upper: f64,
}

impl Limits {
    /// The side on which `value` is beyond these limits; `None` when it is within or on one.
    ///
    /// What differs from a limit by no more than rounding (1e-12 of the limit) is on it.
    ///
    /// ```
    /// use siskin::statistics::control::{Limits, Side};
    /// let limits = Limits { lower: 4.0, upper: 28.0 };
    /// assert_eq!(limits.beyond(28.0), None);
    /// assert_eq!(limits.beyond(31.0), Some(Side::Above));
    /// assert_eq!(limits.beyond(3.0), Some(Side::Below));
    /// ```
    pub fn beyond(&self, value: f64) -> Option<Side> {
        let slack = |limit: f64| 1e-12 * limit.abs();
        if value > self.upper + slack(self.upper) {
            Some(Side::Above)
        } else if value < self.lower - slack(self.lower) {
            Some(Side::Below)
        } else {
            None
        }
    }
}
