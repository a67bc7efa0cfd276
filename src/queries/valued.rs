//! What counts come to: the value of a figure and its 95 % interval.

use crate::statistics::clustered::clustered;
use crate::statistics::poisson;
use crate::statistics::proportion::wilson;
use crate::statistics::ratio::ratio;
use crate::statistics::summary;
use crate::statistics::survival::{End, aalen_johansen};
use crate::statistics::{Interval, agreement::bland_altman};

/// Rates are given for so many births.
pub const RATE_PER_BIRTHS: f64 = 1000.0;

const HOUR_S: f64 = 3600.0;

/// Stored concentrations are millionths of umol/L.
const MICRO: f64 = 1e6;

/// A value and its interval, each where there is one.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Valued {
    pub value: Option<f64>,
    pub lower: Option<f64>,
    pub upper: Option<f64>,
}

impl Valued {
    fn new(value: Option<f64>, interval: Option<Interval>) -> Self {
        Self {
            value,
            lower: interval.map(|i| i.lower),
            upper: interval.map(|i| i.upper),
        }
    }
}

/// A share, with Wilson's interval.
pub(super) fn share(numerator: u64, denominator: u64) -> Valued {
    Valued::new(ratio(numerator, denominator, 1.0), wilson(numerator, denominator))
}

/// A share of cases that come in clusters: numerator and denominator of each.
pub(super) fn clustered_share(clusters: &[(u64, u64)]) -> Valued {
    let sum = clusters.iter().fold((0, 0), |sum, of| (sum.0 + of.0, sum.1 + of.1));
    Valued {
        value: share(sum.0, sum.1).value,
        ..Valued::new(None, clustered(clusters))
    }
}

/// Cases for each thousand births, with the interval of an exact Poisson count.
pub(super) fn rate(cases: u64, births: u64) -> Valued {
    if births == 0 {
        return Valued::default();
    }
    let per_births = |n: f64| RATE_PER_BIRTHS * n / births as f64;
    let interval = poisson::exact(cases);
    let interval = Interval {
        lower: per_births(interval.lower),
        upper: per_births(interval.upper),
    };
    Valued::new(ratio(cases, births, RATE_PER_BIRTHS), Some(interval))
}

/// The median of times in seconds, as hours, with the interval by order statistics.
pub(super) fn median_h(times_s: &[i64]) -> Valued {
    // Of whole seconds, of which the middle of two is exact: equal medians are equal numbers.
    let seconds: Vec<f64> = times_s.iter().map(|s| *s as f64).collect();
    let hours = |seconds: f64| seconds / HOUR_S;
    match summary::median(&seconds) {
        Some(median) => {
            let interval = median.interval.map(|interval| Interval {
                lower: hours(interval.lower),
                upper: hours(interval.upper),
            });
            Valued::new(Some(hours(median.value)), interval)
        }
        None => Valued::default(),
    }
}

/// The share that ended with the event by a time, the competing event first counting against it.
/// The follow-ups of a cluster stand together.
pub(super) fn share_by(clusters: &[Vec<(i64, End)>], until_s: i64) -> Valued {
    if clusters.is_empty() {
        return Valued::default();
    }
    let steps = aalen_johansen::incidence_of_clusters(clusters);
    let value = aalen_johansen::by(&steps, until_s);
    Valued::new(Some(value), aalen_johansen::interval_by_of_clusters(clusters, until_s))
}

/// The time by which half ended with the event, as hours. Its interval has an end only where the
/// curve reaches it.
/// The follow-ups of a cluster stand together.
pub(super) fn half_by_h(clusters: &[Vec<(i64, End)>]) -> Valued {
    let steps = aalen_johansen::incidence_of_clusters(clusters);
    let hours = |s: i64| s as f64 / HOUR_S;
    let Some(value) = aalen_johansen::median(&steps) else {
        return Valued::default();
    };
    let limits = aalen_johansen::median_interval(&steps);
    Valued {
        value: Some(hours(value)),
        lower: limits.lower.map(hours),
        upper: limits.upper.map(hours),
    }
}

/// The mean of differences in millionths, as umol/L: of whole numbers, so that equal means are equal
/// numbers. The interval about it is that of the same mean, rounded otherwise in the last digit.
fn mean(differences_micro: &[i64]) -> f64 {
    let sum: i128 = differences_micro.iter().map(|d| i128::from(*d)).sum();
    let size = u64::try_from(sum.unsigned_abs()).ok();
    let mean = size.and_then(|size| ratio(size, differences_micro.len() as u64, 1.0));
    mean.map_or(f64::NAN, |mean| mean.copysign(sum as f64) / MICRO)
}

/// Which number of the differences of pairs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Agreement {
    Bias,
    LowerLimit,
    UpperLimit,
}

/// Bias or a limit of agreement of differences in millionths of umol/L, as umol/L. A single
/// difference has a bias without an interval, and no limits.
pub(super) fn agreement(differences_micro: &[i64], which: Agreement) -> Valued {
    let pairs: Vec<(f64, f64)> = differences_micro.iter().map(|d| (*d as f64 / MICRO, 0.0)).collect();
    match (bland_altman::agreement(&pairs), which, pairs.as_slice()) {
        (Some(found), Agreement::Bias, _) => Valued::new(Some(mean(differences_micro)), Some(found.bias_interval)),
        (Some(found), Agreement::LowerLimit, _) => Valued::new(Some(found.limits.lower), Some(found.lower_interval)),
        (Some(found), Agreement::UpperLimit, _) => Valued::new(Some(found.limits.upper), Some(found.upper_interval)),
        (None, Agreement::Bias, [(difference, _)]) => Valued::new(Some(*difference), None),
        (None, ..) => Valued::default(),
    }
}
