//! A straight line between two ways of measuring without assumptions on their errors:
//! Passing and Bablok's.
//!
//! The slope is the median of the slopes between all pairs of points, moved up by K places, K
//! being how many are below -1; so exchanging the methods inverts the slope. The intercept is the
//! median of y - slope x. With N slopes and C = z sqrt(n(n-1)(2n+5)/18), the limits of the slope
//! are the slopes at places M + K and N - M + 1 + K, M being (N - C)/2 rounded.
//!
//! As in the paper, two equal points and slopes of -1 are left out; between points of one x the
//! slope is infinite, with the sign of the later y minus the earlier; of an even number of slopes
//! the two in the middle are averaged. That sign moves K and all places alike, so the line does not
//! depend on the order of the points. Programs differ: one averages the angles of the middle slopes
//! (another ninth digit), one treats ties otherwise. Slopes are compared with -1 as they are
//! computed, as behind the published figures: of decimals, some come out a last digit beside it and
//! stay in. In the creatinine example exact arithmetic leaves out 7 more of 5,764 slopes and gives
//! 1.08791 for 1.08801.
//!
//! Source: Passing H, Bablok W (1983) J Clin Chem Clin Biochem 21:709-720. It holds where both
//! methods rise together along a straight line. Degenerate cases: fewer than 2 different points, or a
//! middle slope that is infinite, have no line; a limit that is infinite or lies beyond the
//! slopes has no interval; points on one line have an interval of no width. Work and memory grow
//! with the square of the points: of more than [`MOST_POINTS`], every second, third and so on in
//! the order of x is used, and the interval is that of the points used.

use statrs::distribution::{ContinuousCDF, Normal};

use super::super::Interval;
use super::super::summary;

/// Of more points, some are left out evenly; this many make 12.5 million slopes, 100 MB.
pub const MOST_POINTS: usize = 5_000;

/// The line between first (x) and second (y).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PassingBablok {
    /// Growth of y with x: the proportional difference.
    pub slope: f64,
    /// Interval of the slope.
    pub slope_interval: Option<Interval>,
    /// Where it meets x = 0, in the unit of y: the constant difference.
    pub intercept: f64,
}

/// The line through (x, y), with an interval at a level such as 0.95; `None` when it is not defined,
/// or for a level not between 0 and 1.
///
/// ```
/// use siskin::statistics::agreement::passing_bablok::passing_bablok;
/// let points = [(1.0, 2.0), (2.0, 4.0), (3.0, 6.0), (4.0, 20.0), (5.0, 10.0)];
/// let line = passing_bablok(&points, 0.95).unwrap();
/// assert_eq!((line.slope, line.intercept), (2.0, 0.0));
/// ```
pub fn passing_bablok(points: &[(f64, f64)], level: f64) -> Option<PassingBablok> {
    let is_finite = points.iter().all(|(x, y)| x.is_finite() && y.is_finite());
    if !(is_finite && level > 0.0 && level < 1.0) {
        return None;
    }
    let points = thinned(points);
    let slopes = slopes(&points);
    let (n, all) = (points.len() as f64, slopes.len());
    let below = slopes.partition_point(|slope| *slope < -1.0);
    let at = |place: usize| slopes.get(place + below - 1).copied();
    let slope = match all {
        0 => return None,
        odd if odd % 2 == 1 => at(odd / 2 + 1)?,
        even => at(even / 2)? / 2.0 + at(even / 2 + 1)? / 2.0,
    };
    let rests: Vec<f64> = points.iter().map(|(x, y)| y - slope * x).collect();
    let z = Normal::standard().inverse_cdf(0.5 + level / 2.0);
    let reach = z * (n * (n - 1.0) * (2.0 * n + 5.0) / 18.0).sqrt();
    let first = ((all as f64 - reach) / 2.0).round();
    let limits = (first >= 1.0).then(|| Some((at(first as usize)?, at(all - first as usize + 1)?)));
    let finite =
        |(lower, upper): (f64, f64)| (lower.is_finite() && upper.is_finite()).then_some(Interval { lower, upper });
    Some(PassingBablok {
        slope: slope.is_finite().then_some(slope)?,
        slope_interval: limits.flatten().and_then(finite),
        intercept: summary::quantile(&rests, 0.5)?,
    })
}

/// As they are; of too many, evenly fewer in the order of x, then y.
fn thinned(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut kept = points.to_vec();
    if kept.len() <= MOST_POINTS {
        return kept;
    }
    kept.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let step = kept.len().div_ceil(MOST_POINTS);
    kept.into_iter().step_by(step).collect()
}

/// The slopes between all pairs of points, in order.
fn slopes(points: &[(f64, f64)]) -> Vec<f64> {
    let mut slopes = Vec::with_capacity(points.len() * points.len().saturating_sub(1) / 2);
    for (i, (x, y)) in points.iter().enumerate() {
        for (later_x, later_y) in &points[i + 1..] {
            let (dx, dy) = (later_x - x, later_y - y);
            let slope = if dx == 0.0 { dy * f64::INFINITY } else { dy / dx };
            // Two equal points have none: 0 times infinity.
            if !slope.is_nan() && slope != -1.0 {
                slopes.push(slope);
            }
        }
    }
    slopes.sort_unstable_by(f64::total_cmp);
    slopes
}
