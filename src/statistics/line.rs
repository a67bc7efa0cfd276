//! A straight line through points by least squares.
//!
//! With sums about the means, slope b = Sxy / Sxx and intercept a = ȳ - b x̄. The residual
//! variance s² has n - 2; the standard errors are
//!
//! ```text
//! SE(b) = s / sqrt(Sxx)      SE(a) = s sqrt(1/n + x̄²/Sxx)
//! ```
//!
//! Intervals and p use t with n - 2. All error is taken to be in y; where x is measured with
//! error the slope is too flat, see [`super::agreement::deming`]. Source: NIST/SEMATECH
//! e-Handbook of Statistical Methods, 4.4.3. Degenerate cases: fewer than 3 points or a single
//! x have no line; points of a single y have slope 0 with p = 1 and no r².

use super::Interval;
use super::centred::Sums;
use super::student;

/// A fitted line and how certain it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// How many points.
    pub points: usize,
    /// Where it meets x = 0, in the unit of y.
    pub intercept: f64,
    /// Standard error of the intercept.
    pub intercept_error: f64,
    /// 95 % interval of the intercept.
    pub intercept_interval: Interval,
    /// Growth of y with x.
    pub slope: f64,
    /// Standard error of the slope.
    pub slope_error: f64,
    /// 95 % interval of the slope.
    pub slope_interval: Interval,
    /// p of no slope, two-sided.
    pub slope_p: f64,
    /// Standard deviation of y about the line, with n - 2.
    pub residual_sd: f64,
    /// Share of the spread of y that the line explains; `None` when y has none.
    pub r2: Option<f64>,
}

/// The line of y on x through (x, y); `None` for fewer than 3 points, a single x, or sums that
/// are not finite.
///
/// ```
/// use siskin::statistics::line::fit;
/// let line = fit(&[(0.0, 1.0), (1.0, 3.0), (2.0, 5.0)]).unwrap();
/// assert_eq!((line.intercept, line.slope, line.residual_sd), (1.0, 2.0, 0.0));
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
    let slope_error = residual_sd / sums.xx.sqrt();
    let intercept = sums.y - slope * sums.x;
    let intercept_error = (residual_sd / sums.n.sqrt()).hypot(slope_error * sums.x);
    Some(Line {
        points: points.len(),
        intercept,
        intercept_error,
        intercept_interval: student::interval(intercept, intercept_error, degrees)?,
        slope,
        slope_error,
        slope_interval: student::interval(slope, slope_error, degrees)?,
        slope_p: student::p_value(slope, slope_error, degrees)?,
        residual_sd,
        r2: (sums.yy > 0.0).then(|| (1.0 - left / sums.yy).max(0.0)),
    })
}
