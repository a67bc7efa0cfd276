//! Values in short: mean, standard deviation, quantiles, and the median's interval.
//!
//! Sums are compensated (Neumaier A (1974) Z Angew Math Mech 54:39-51) and the deviations are
//! taken from the mean in a second pass, with its rounding corrected (Chan TF, Golub GH, LeVeque
//! RJ (1983) Am Stat 37:242-247), so values that differ in their last digits only keep them.
//! Compared with the certified values of NIST's reference datasets.
//!
//! Degenerate cases: no values, or one that is not a finite number, or a sum past the range of a
//! number have no answer; each function says what else has none.

use super::{Interval, binomial};

/// The sum of values, the rounding of each addition added at the end.
fn sum(values: impl Iterator<Item = f64>) -> f64 {
    let (mut sum, mut lost) = (0.0, 0.0);
    for value in values {
        let next: f64 = sum + value;
        lost += if f64::abs(sum) >= value.abs() {
            (sum - next) + value
        } else {
            (value - next) + sum
        };
        sum = next;
    }
    sum + lost
}

/// A number that is one.
fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

/// The values in order; `None` when one is not a finite number, or there are none.
fn sorted(values: &[f64]) -> Option<Vec<f64>> {
    if values.is_empty() || !values.iter().all(|value| value.is_finite()) {
        return None;
    }
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    Some(sorted)
}

/// The mean; `None` without values.
///
/// ```
/// use siskin::statistics::summary::mean;
/// assert_eq!(mean(&[1.0, 2.0, 6.0]), Some(3.0));
/// assert_eq!(mean(&[]), None);
/// ```
pub fn mean(values: &[f64]) -> Option<f64> {
    let mean = finite(sum(values.iter().copied()) / values.len() as f64)?;
    // Rounding must not make a difference of two samples of one value.
    let first = values[0];
    Some(if values.iter().all(|value| *value == first) {
        first
    } else {
        mean
    })
}

/// The standard deviation of values about their mean, the sum of squares divided by so much.
///
/// Deviations are first multiplied by a power of two, which loses nothing, so that the largest is
/// near 1: squares of 1e200 or 1e-200 are past the range of a number.
fn deviation(values: &[f64], mean: f64, divisor: f64) -> Option<f64> {
    let largest = values
        .iter()
        .fold(0.0, |largest: f64, value| largest.max((value - mean).abs()));
    if largest == 0.0 {
        return Some(0.0);
    }
    // Not so far that the power itself leaves the range.
    let scale = finite(largest)?.log2().floor().clamp(-1000.0, 1000.0).exp2();
    let deviations = || values.iter().map(|value| (value - mean) / scale);
    // What is left of the deviations is the rounding of the mean.
    let rounding = sum(deviations());
    let squares = sum(deviations().map(|of| of * of)) - rounding * rounding / values.len() as f64;
    finite((squares.max(0.0) / divisor).sqrt() * scale)
}

/// The standard deviation of a sample, with n - 1; `None` for fewer than two values.
///
/// ```
/// use siskin::statistics::summary::standard_deviation;
/// assert_eq!(standard_deviation(&[1.0, 2.0, 3.0]), Some(1.0));
/// assert_eq!(standard_deviation(&[4.0, 4.0]), Some(0.0));
/// assert_eq!(standard_deviation(&[4.0]), None);
/// ```
pub fn standard_deviation(values: &[f64]) -> Option<f64> {
    if values.len() < 2 {
        return None;
    }
    deviation(values, mean(values)?, (values.len() - 1) as f64)
}

/// The quantile at `p`, from 0 to 1; `None` without values.
///
/// Of n values in order, the one at place 1 + (n-1)·p, straight between two where that is no whole
/// number: type 7 of Hyndman RJ, Fan Y (1996) Am Stat 50:361-365. References offer nine types,
/// which differ most in small samples. This one is the default of R, numpy and spreadsheets, so a
/// reader who computes a quartile again finds the same; and it is the plain median at one half.
///
/// ```
/// use siskin::statistics::summary::quantile;
/// assert_eq!(quantile(&[8.0, 1.0, 2.0, 4.0], 0.5), Some(3.0));
/// assert_eq!(quantile(&[8.0, 1.0, 2.0, 4.0], 1.0), Some(8.0));
/// assert_eq!(quantile(&[1.0], 1.5), None);
/// ```
pub fn quantile(values: &[f64], p: f64) -> Option<f64> {
    if !(0.0..=1.0).contains(&p) {
        return None;
    }
    let sorted = sorted(values)?;
    let place = (sorted.len() - 1) as f64 * p;
    let (below, above) = (sorted[place.floor() as usize], sorted[place.ceil() as usize]);
    let part = place.fract();
    // Each weighed by itself does not overflow; equal ones stay what they are.
    Some((below * (1.0 - part) + above * part).clamp(below, above))
}

/// A median and where it lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Median {
    /// The median.
    pub value: f64,
    /// Its interval, whatever the distribution; `None` for fewer than six values.
    pub interval: Option<Interval>,
}

/// The median with its 95 % interval; `None` without values.
///
/// The limits are the j-th value from below and from above, where j is the 2.5 % quantile of the
/// binomial distribution of n trials at one half. The interval covers at least 95 %, never less.
/// With fewer than six values not even the whole range does, and there is none. Sources: Conover
/// WJ, Practical Nonparametric Statistics; Campbell MJ, Gardner MJ (1988) BMJ 296:1454-1456, whose
/// ranks come from a normal approximation and are mostly the same.
///
/// ```
/// use siskin::statistics::summary::median;
/// let found = median(&[2.0, 4.0, 5.0, 7.0, 8.0, 11.0, 13.0, 17.0, 20.0, 29.0]).unwrap();
/// assert_eq!(found.value, 9.5);
/// assert_eq!(found.interval.unwrap().upper, 20.0);
/// assert_eq!(median(&[1.0, 2.0]).unwrap().interval, None);
/// ```
pub fn median(values: &[f64]) -> Option<Median> {
    Some(Median {
        value: quantile(values, 0.5)?,
        interval: order_interval(&sorted(values)?),
    })
}

fn order_interval(sorted: &[f64]) -> Option<Interval> {
    let from_below = binomial::quantile(0.025, sorted.len() as u64, 0.5)?;
    let rank = (from_below as usize).checked_sub(1)?;
    Some(Interval {
        lower: *sorted.get(rank)?,
        upper: *sorted.get(sorted.len() - from_below as usize)?,
    })
}
