//! A straight line between two ways of measuring whose errors are known for each pair:
//! weighted Deming regression by York's iteration.
//!
//! With standard deviations σx, σy of each point and W = 1 / (σy² + b² σx²), the slope solves
//!
//! ```text
//! b = Σ W β (y - Y) / Σ W β (x - X)     β = W (σy² (x - X) + b σx² (y - Y))
//! ```
//!
//! where X, Y are the means weighted by W; the errors of a point are independent. It starts from
//! the line of least squares and ends when the slope stands still to 13 digits. Standard errors
//! and intervals (normal) rest on the known deviations alone, so they hold only where the
//! misfit is near 1. Sources: York D, Evensen NM, López Martínez M, De Basabe Delgado J (2004)
//! Am J Phys 72:367-375; Ripley BD, Thompson M (1987) Analyst 112:377-383.
//! Degenerate cases: fewer than 2 points, a single x, a point without any error, or a slope that
//! does not settle have no line; 2 points have no misfit.

use super::super::Interval;
use super::super::centred::Sums;
use super::super::proportion::Z_95;

/// Steps after which a slope that still moves is given up.
const STEPS: usize = 500;

/// A pair of readings with the standard deviation of the error of each.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// First reading.
    pub x: f64,
    /// Standard deviation of its error.
    pub x_sd: f64,
    /// Second reading.
    pub y: f64,
    /// Standard deviation of its error.
    pub y_sd: f64,
}

/// The line and how certain it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weighted {
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
    /// Weighted squares about the line over n - 2: near 1 where the known errors explain them.
    pub misfit: Option<f64>,
}

/// The line through points of known error; `None` when it is not defined.
pub fn weighted(points: &[Point]) -> Option<Weighted> {
    let plain: Vec<(f64, f64)> = points.iter().map(|point| (point.x, point.y)).collect();
    let sums = Sums::of(&plain)?;
    let are_known = points.iter().all(|of| of.x_sd >= 0.0 && of.y_sd >= 0.0);
    if points.len() < 2 || sums.xx <= 0.0 || !are_known {
        return None;
    }
    let scale = (sums.yy / sums.xx).sqrt();
    let mut fit = Fit::at(points, sums.xy / sums.xx)?;
    let mut settled = false;
    for _ in 0..STEPS {
        let slope = fit.next_slope(points);
        settled = (slope - fit.slope).abs() <= 1e-13 * scale.max(slope.abs());
        fit = Fit::at(points, slope)?;
        if settled {
            break;
        }
    }
    settled.then(|| fit.finished(points))?
}

/// Weighted means at a slope.
struct Fit {
    slope: f64,
    weight: f64,
    x: f64,
    y: f64,
}

impl Fit {
    fn at(points: &[Point], slope: f64) -> Option<Self> {
        let mut fit = Self {
            slope,
            weight: 0.0,
            x: 0.0,
            y: 0.0,
        };
        for point in points {
            let weight = fit.weight_of(point);
            fit.weight += weight;
            fit.x += weight * point.x;
            fit.y += weight * point.y;
        }
        fit.x /= fit.weight;
        fit.y /= fit.weight;
        (fit.x.is_finite() && fit.y.is_finite() && slope.is_finite()).then_some(fit)
    }

    fn weight_of(&self, point: &Point) -> f64 {
        1.0 / (point.y_sd.powi(2) + (self.slope * point.x_sd).powi(2))
    }

    /// How far the true x of a point lies from the mean.
    fn beta(&self, point: &Point) -> f64 {
        let (u, v) = (point.x - self.x, point.y - self.y);
        self.weight_of(point) * (point.y_sd.powi(2) * u + self.slope * point.x_sd.powi(2) * v)
    }

    fn next_slope(&self, points: &[Point]) -> f64 {
        let (mut above, mut below) = (0.0, 0.0);
        for point in points {
            let weight = self.weight_of(point) * self.beta(point);
            above += weight * (point.y - self.y);
            below += weight * (point.x - self.x);
        }
        above / below
    }

    fn finished(&self, points: &[Point]) -> Option<Weighted> {
        let weighted = |of: &dyn Fn(&Point) -> f64| points.iter().map(|p| self.weight_of(p) * of(p)).sum::<f64>();
        let mean = weighted(&|point| self.beta(point)) / self.weight;
        let spread = weighted(&|point| (self.beta(point) - mean).powi(2));
        let left = weighted(&|point| (point.y - self.y - self.slope * (point.x - self.x)).powi(2));
        let slope_error = 1.0 / spread.sqrt();
        let intercept = self.y - self.slope * self.x;
        let intercept_error = (1.0 / self.weight.sqrt()).hypot((self.x + mean) * slope_error);
        let interval = |value: f64, error: f64| Interval {
            lower: value - Z_95 * error,
            upper: value + Z_95 * error,
        };
        let is_finite = [intercept, intercept_error, slope_error, left]
            .iter()
            .all(|v| v.is_finite());
        is_finite.then(|| Weighted {
            points: points.len(),
            intercept,
            intercept_error,
            intercept_interval: interval(intercept, intercept_error),
            slope: self.slope,
            slope_error,
            slope_interval: interval(self.slope, slope_error),
            misfit: (points.len() > 2).then(|| left / (points.len() - 2) as f64),
        })
    }
}
