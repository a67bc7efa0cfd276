//! A straight line through points by least squares.
//!
//! With sums about the means, the slope is b = Sxy / Sxx, with standard error s / sqrt(Sxx), where
//! the residual variance s² has n - 2. The interval uses t with n - 2. All error is taken to be in y; where x is measured with
//! error the slope is too flat, see [`super::agreement::deming`]. Source: NIST/SEMATECH
//! e-Handbook of Statistical Methods, 4.4.3. Degenerate cases: fewer than 3 points or a single
//! x have no line; points of a single y have slope 0.

use super::Interval;
use super::centred::Sums;
use super::student;

/// A fitted line and how certain it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Growth of y with x.
    pub slope: f64,
    /// 95 % interval of the slope.
    pub slope_interval: Interval,
}

/// The line of y on x through (x, y); `None` for fewer than 3 points, a single x, or sums that
/// are not finite.
///
/// ```
/// use siskin::statistics::line::fit;
/// let line = fit(&[(0.0, 1.0), (1.0, 3.0), (2.0, 5.0)]).unwrap();
/// assert_eq!((line.slope, line.slope_interval.upper), (2.0, 2.0));
/// assert_eq!(fit(&[(1.0, 1.0), (1.0, 2.0), (1.0, 3.0)]), None);
/// ```
pub fn fit(points: &[(f64, f64)]) -> Option<Line> {
    let sums = Sums::of(points)?;
    if points.len() < 3 || sums.xx <= 0.0 {
        return None;
    }
    let slope = sums.xy / sums.xx;
    let residual = |(x, y): &(f64, f64)| (y - sums.y) - slope * (x - sums.x);
    let left: f64 = points.iter().map(|point| residual(point).powi(2)).sum();
    let degrees = points.len() - 2;
    let residual_sd = (left / degrees as f64).sqrt();
    Some(Line {
        slope,
        slope_interval: student::interval(slope, residual_sd / sums.xx.sqrt(), degrees)?,
    })
}
