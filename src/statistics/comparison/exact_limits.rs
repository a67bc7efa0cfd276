//! Limits of a funnel: how far a unit of n cases strays by chance from the network's proportion.
//!
//! The exact limit at level a, for events of chance c, lies between two whole counts. With r the
//! smallest count for which P(R <= r) >= a,
//!
//! ```text
//! (r - (P(R <= r) - a) / (P(R <= r) - P(R <= r - 1))) / n
//! ```
//!
//! Source: Spiegelhalter DJ (2005) Stat Med 24:1185-1202, appendix. The interpolated limit joins
//! to a smooth curve over n. It is for drawing: at the upper limit the count r itself is drawn
//! outside by a part of one event, though P(R >= r) is more than 1 - a. Whether a unit is beyond
//! a limit is told by the chance of its whole count, see [`super::funnel`].
//!
//! Limits are proportions, kept within 0 to 1: the formula falls below 0 where even no event at
//! all is usual. Degenerate cases: without cases, or with a centre outside 0 to 1, there are no
//! limits; a centre of 0 or 1 is its own limit.

use super::super::{Interval, binomial};

/// Which pair of limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// 95 %: about two standard deviations. One unit in twenty is outside by chance alone.
    Warning,
    /// 99.8 %: about three. One unit in five hundred is outside by chance alone.
    Action,
}

impl Level {
    /// What chance leaves beyond each limit: 0.025 or 0.001.
    pub fn tail(self) -> f64 {
        match self {
            Self::Warning => 0.025,
            Self::Action => 0.001,
        }
    }
}

/// The exact limits for `cases` around `centre`; `None` without cases.
///
/// ```
/// use siskin::statistics::comparison::exact_limits::{Level, limits};
/// let found = limits(0.12, 100, Level::Warning).unwrap();
/// assert!((found.lower - 0.0545).abs() < 1e-4 && (found.upper - 0.1824).abs() < 1e-4);
/// assert_eq!(limits(0.02, 30, Level::Warning).unwrap().lower, 0.0);
/// assert_eq!(limits(0.02, 0, Level::Warning), None);
/// ```
pub fn limits(centre: f64, cases: u64, level: Level) -> Option<Interval> {
    if cases == 0 || !(0.0..=1.0).contains(&centre) {
        return None;
    }
    if centre == 0.0 || centre == 1.0 {
        return Some(Interval {
            lower: centre,
            upper: centre,
        });
    }
    Some(Interval {
        lower: limit(centre, cases, level.tail())?,
        upper: limit(centre, cases, 1.0 - level.tail())?,
    })
}

fn limit(centre: f64, cases: u64, level: f64) -> Option<f64> {
    let count = binomial::quantile(level, cases, centre)?;
    let up_to = binomial::cdf(count, cases, centre)?;
    let below = match count {
        0 => 0.0,
        _ => binomial::cdf(count - 1, cases, centre)?,
    };
    let part = ((up_to - level) / (up_to - below)).clamp(0.0, 1.0);
    Some(((count as f64 - part) / cases as f64).clamp(0.0, 1.0))
}

/// The limits over a range of cases, to draw the funnel: one entry for each of `cases`, those
/// without any left out.
///
/// ```
/// use siskin::statistics::comparison::exact_limits::{Level, curve, spaced};
/// let drawn = curve(0.12, Level::Action, &spaced(400, 50));
/// assert_eq!((drawn[0].0, drawn.last().unwrap().0), (1, 400));
/// ```
pub fn curve(centre: f64, level: Level, cases: &[u64]) -> Vec<(u64, Interval)> {
    let point = |n: &u64| Some((*n, limits(centre, *n, level)?));
    cases.iter().filter_map(point).collect()
}

/// About `points` numbers of cases from 1 to `largest`, closer together where they are few and the
/// funnel is steep: proportional to squares. Each once, in order.
pub fn spaced(largest: u64, points: u64) -> Vec<u64> {
    let last = points.max(2) - 1;
    let at = |i: u64| ((i as f64 / last as f64).powi(2) * largest as f64).round() as u64;
    let mut cases: Vec<u64> = (0..=last).map(|i| at(i).clamp(1, largest.max(1))).collect();
    cases.dedup();
    if largest == 0 {
        cases.clear();
    }
    cases
}
