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
//! over those of y). The standard error of the slope is by the jackknife over pairs: of the
//! pseudo-values n b - (n-1) b_without_i, their standard deviation over sqrt(n). The interval is by
//! t with n - 2, about the estimate from all pairs, not about the mean of the pseudo-values. The
//! analytic error that other programs give differs (creatinine example: 0.0353 against 0.0249
//! here); it leans on normal errors of the same size all along the line, the jackknife does not.
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
    /// Where it meets x = 0, in the unit of y: the constant difference.
    pub intercept: f64,
    /// Growth of y with x: the proportional difference.
    pub slope: f64,
    /// 95 % interval of the slope; `None` where the line of all pairs but one is not defined.
    pub slope_interval: Option<Interval>,
}

/// The line through (x, y) for this ratio of error variances, y over x; `None` when it is not
/// defined, or for a ratio that is not above 0.
///
/// ```
/// use siskin::statistics::agreement::deming::deming;
/// let line = deming(&[(1.0, 3.0), (2.0, 5.0), (3.0, 7.0), (4.0, 9.0)], 1.0).unwrap();
/// assert!((line.slope - 2.0).abs() < 1e-12);
/// assert!((line.intercept - 1.0).abs() < 1e-12);
/// assert_eq!(deming(&[(1.0, 3.0), (1.0, 5.0)], 1.0), None);
/// ```
pub fn deming(pairs: &[(f64, f64)], ratio: f64) -> Option<Deming> {
    if pairs.len() < 2 || !ratio.is_finite() || ratio <= 0.0 {
        return None;
    }
    let (intercept, slope) = line(&Sums::of(pairs)?, ratio)?;
    Some(Deming {
        intercept,
        slope,
        slope_interval: jackknife(pairs, ratio, slope),
    })
}

/// The interval of a slope, from what leaving out each pair in turn makes of it.
fn jackknife(pairs: &[(f64, f64)], ratio: f64, slope: f64) -> Option<Interval> {
    let n = pairs.len() as f64;
    let pseudo = |sums: &Sums| Some(n * slope - (n - 1.0) * line(sums, ratio)?.1);
    let pseudo: Option<Vec<f64>> = Sums::without_each(pairs).iter().map(pseudo).collect();
    let variance = Sums::of_values(&pseudo?)?.variance()?;
    student::interval(slope, (variance / n).sqrt(), pairs.len() - 2)
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
