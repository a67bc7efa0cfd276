//! A straight line between two ways of measuring that both err: Deming regression.
//!
//! With λ the variance of the errors of y over that of x, and sums about the means:
//!
//! ```text
//! slope = (Syy - λ Sxx + sqrt((Syy - λ Sxx)² + 4 λ Sxy²)) / 2 Sxy
//! intercept = ȳ - slope x̄
//! ```
//!
//! λ = 1 is the orthogonal line. Some programs give the ratio the other way round (errors of x
//! over those of y). Standard errors are by the jackknife over pairs: of the pseudo-values
//! n b - (n-1) b_without_i, their standard deviation over sqrt(n). Intervals are by t with n - 2,
//! about the estimate from all pairs, not about the mean of the pseudo-values. The analytic errors
//! that other programs give differ (creatinine example: slope 0.0353 against 0.0249 here); they
//! lean on normal errors of the same size all along the line, the jackknife does not.
//!
//! Sources: Deming WE (1943) Statistical Adjustment of Data; Linnet K (1990) Stat Med 9:1463-1473;
//! (1993) Clin Chem 39:424-432. Degenerate cases: fewer than 2 pairs, a single x, or a spread of no
//! direction have no line; 2 pairs have a line without error; so has one that hangs on a single
//! pair.

use super::super::centred::Sums;
use super::super::{Interval, student};

/// The line between first (x) and second (y).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Deming {
    /// How many pairs.
    pub pairs: usize,
    /// Where it meets x = 0, in the unit of y: the constant difference.
    pub intercept: Coefficient,
    /// Growth of y with x: the proportional difference.
    pub slope: Coefficient,
}

/// A coefficient of the line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coefficient {
    /// From all pairs.
    pub value: f64,
    /// Its error; `None` where the line of all pairs but one is not defined.
    pub jackknife: Option<Jackknife>,
}

/// What leaving out each pair in turn tells of a coefficient.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Jackknife {
    /// Mean of the pseudo-values; far from the value, a few pairs decide it.
    pub mean: f64,
    /// Standard error.
    pub error: f64,
    /// 95 % interval about the value.
    pub interval: Interval,
}

/// The line through (x, y) for this ratio of error variances, y over x; `None` when it is not
/// defined, or for a ratio that is not above 0.
///
/// ```
/// use siskin::statistics::agreement::deming::deming;
/// let line = deming(&[(1.0, 3.0), (2.0, 5.0), (3.0, 7.0), (4.0, 9.0)], 1.0).unwrap();
/// assert!((line.slope.value - 2.0).abs() < 1e-12);
/// assert!((line.intercept.value - 1.0).abs() < 1e-12);
/// assert_eq!(deming(&[(1.0, 3.0), (1.0, 5.0)], 1.0), None);
/// ```
pub fn deming(pairs: &[(f64, f64)], ratio: f64) -> Option<Deming> {
    if pairs.len() < 2 || !ratio.is_finite() || ratio <= 0.0 {
        return None;
    }
    let (intercept, slope) = line(&Sums::of(pairs)?, ratio)?;
    let without: Option<Vec<(f64, f64)>> = Sums::without_each(pairs)
        .iter()
        .map(|sums| (pairs.len() > 2).then(|| line(sums, ratio))?)
        .collect();
    let jackknife = |value: f64, of: fn(&(f64, f64)) -> f64| {
        let n = pairs.len() as f64;
        let pseudo: Vec<f64> = without
            .iter()
            .flatten()
            .map(|w| n * value - (n - 1.0) * of(w))
            .collect();
        let sums = Sums::of_values(&pseudo)?;
        let error = (sums.variance()? / n).sqrt();
        Some(Jackknife {
            mean: sums.x,
            error,
            interval: student::interval(value, error, pairs.len() - 2)?,
        })
    };
    Some(Deming {
        pairs: pairs.len(),
        intercept: Coefficient {
            value: intercept,
            jackknife: jackknife(intercept, |line| line.0),
        },
        slope: Coefficient {
            value: slope,
            jackknife: jackknife(slope, |line| line.1),
        },
    })
}

/// Intercept and slope.
fn line(sums: &Sums, ratio: f64) -> Option<(f64, f64)> {
    let excess = sums.yy - ratio * sums.xx;
    let product = 2.0 * ratio.sqrt() * sums.xy;
    let root = excess.hypot(product);
    // Two forms of one root: each is free of cancellation on its side.
    let slope = if excess < 0.0 {
        2.0 * ratio * sums.xy / (root - excess)
    } else if sums.xy == 0.0 {
        return None;
    } else {
        (excess + root) / (2.0 * sums.xy)
    };
    let intercept = sums.y - slope * sums.x;
    (slope.is_finite() && intercept.is_finite()).then_some((intercept, slope))
}
