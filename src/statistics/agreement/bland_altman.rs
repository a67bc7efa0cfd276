//! Limits of agreement between two ways of measuring, one pair per baby.
//!
//! With the mean d̄ and the standard deviation s (n - 1) of the n differences:
//!
//! ```text
//! limits d̄ ± 1.96 s     SE(d̄) = s / sqrt(n)     SE(limit) = s sqrt(1/n + 1.96² / 2(n-1))
//! ```
//!
//! and intervals by t with n - 1. The error of a limit is the form of the 1999 paper; that of
//! 1986 is its approximation sqrt(3 s²/n), 0.7 % smaller for the 17 pairs of the worked example.
//! An interval of a limit is symmetric here, while its true one reaches further outwards: in
//! small samples it covers 94 %, and nearly all misses are limits wider than it says.
//!
//! Proportional bias is the slope of the differences on the means of the pairs. When the two
//! methods differ in their own error the slope is not 0 even where both are right on average:
//! read it beside [`super::deming`].
//!
//! Sources: Bland JM, Altman DG (1986) Lancet i:307-310; (1999) Stat Methods Med Res 8:135-160.
//! Degenerate cases: fewer than 2 pairs have no limits; identical differences have limits and
//! intervals of no width; a slope needs 3 pairs of different means. Pairs of one baby are not
//! independent: pooled here, their limits are too narrow.

use super::super::centred::Sums;
use super::super::line::{self, Line};
use super::super::{Interval, student};
use super::{LIMIT, differences};

/// Bias and limits of agreement, in the unit of the readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Agreement {
    /// How many pairs.
    pub pairs: usize,
    /// Mean difference.
    pub bias: f64,
    /// 95 % interval of the bias.
    pub bias_interval: Interval,
    /// Lower and upper limit of agreement: about 95 % of differences lie between.
    pub limits: Interval,
    /// 95 % interval of the lower limit.
    pub lower_interval: Interval,
    /// 95 % interval of the upper limit.
    pub upper_interval: Interval,
    /// Differences on means: its slope is the proportional bias.
    pub proportional: Option<Line>,
}

/// The agreement of first and second; `None` for fewer than 2 pairs or sums that are not finite.
///
/// ```
/// use siskin::statistics::agreement::bland_altman::agreement;
/// let found = agreement(&[(3.0, 2.0), (5.0, 4.0), (9.0, 6.0), (8.0, 5.0)]).unwrap();
/// assert_eq!(found.bias, 2.0);
/// assert!((found.limits.lower - (2.0 - 1.96 * (4.0_f64 / 3.0).sqrt())).abs() < 1e-12);
/// assert_eq!(agreement(&[(3.0, 2.0)]), None);
/// ```
pub fn agreement(pairs: &[(f64, f64)]) -> Option<Agreement> {
    let differences = differences(pairs);
    let sums = Sums::of_values(&differences)?;
    let sd = sums.variance()?.sqrt();
    let (n, degrees) = (sums.n, pairs.len() - 1);
    let limit_error = sd * (1.0 / n + LIMIT * LIMIT / (2.0 * (n - 1.0))).sqrt();
    let limits = Interval {
        lower: sums.x - LIMIT * sd,
        upper: sums.x + LIMIT * sd,
    };
    let means = pairs.iter().map(|(first, second)| first / 2.0 + second / 2.0);
    let on_means: Vec<(f64, f64)> = means.zip(differences).collect();
    Some(Agreement {
        pairs: pairs.len(),
        bias: sums.x,
        bias_interval: student::interval(sums.x, sd / n.sqrt(), degrees)?,
        limits,
        lower_interval: student::interval(limits.lower, limit_error, degrees)?,
        upper_interval: student::interval(limits.upper, limit_error, degrees)?,
        proportional: line::fit(&on_means),
    })
}
