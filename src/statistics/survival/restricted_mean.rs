//! The mean time without the event, up to a limit: the area under the Kaplan-Meier curve.
//!
//! The area from 0 to the limit, in the unit of time. Its variance is the sum over the times
//! with d events among n at risk of A²·d / (n(n-d)), where A is the area from that time to the
//! limit; no small-sample factor, as in R `survival` and `survRM2`. The difference of two
//! independent groups has the sum of both variances, and both have normal 95 % intervals. Unlike
//! a median it is always reached, and unlike a ratio of hazards it is in hours. In small groups the
//! interval is too narrow: of 20 followed it held the truth in 90 of 100 samples, of 80 in 94.
//!
//! Source: Royston P, Parmar MKB (2013) BMC Med Res Methodol 13:152; Uno H and others (2014)
//! J Clin Oncol 32:2380-2385. Every end but the event counts as cut short.
//!
//! Degenerate cases: the mean is not defined where the limit lies past the last follow-up and
//! that one was cut short, for nothing is known there; nor for nobody, a limit not above 0 or a
//! time below 0. Where nothing spreads (no event before the limit, or all at one time) the
//! standard error is 0 and there is no interval.

use super::{End, Interval, Time, kaplan_meier, moments};
use crate::statistics::proportion::Z_95;

/// A mean time or a difference of two.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mean {
    /// The value, in the unit of the follow-ups.
    pub value: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// Its 95 % interval; `None` at a standard error of 0.
    pub interval: Option<Interval>,
}

impl Mean {
    fn new(value: f64, variance: f64, least: f64, most: f64) -> Self {
        let standard_error = variance.sqrt();
        Self {
            value,
            standard_error,
            interval: (standard_error > 0.0).then(|| Interval {
                lower: (value - Z_95 * standard_error).max(least),
                upper: (value + Z_95 * standard_error).min(most),
            }),
        }
    }
}

/// The mean time without the event from 0 to `limit`.
///
/// ```
/// use siskin::statistics::survival::{End, restricted_mean::restricted_mean};
/// let ends = [(1, End::Event), (3, End::Event), (6, End::Censored)];
/// assert!((restricted_mean(&ends, 6.0).unwrap().value - 10.0 / 3.0).abs() < 1e-12);
/// assert_eq!(restricted_mean(&ends, 7.0), None);
/// ```
pub fn restricted_mean<T: Time>(follow_ups: &[(T, End)], limit: f64) -> Option<Mean> {
    let ends = moments(follow_ups);
    let (first, last) = (ends.first()?, ends.last()?);
    if !limit.is_finite() || limit <= 0.0 || first.time.number() < 0.0 {
        return None;
    }
    let all = kaplan_meier::survival(follow_ups);
    let left = all.last().map_or(1.0, |step| step.survival);
    if last.time.number() < limit && left > 0.0 {
        return None;
    }
    let (mut area, mut variance, mut until) = (0.0, 0.0, limit);
    for step in all.iter().rev().filter(|step| step.time.number() < limit) {
        area += step.survival * (until - step.time.number());
        until = step.time.number();
        if step.events < step.at_risk {
            let (n, d) = (step.at_risk as f64, step.events as f64);
            variance += area * area * d / (n * (n - d));
        }
    }
    Some(Mean::new(area + until, variance, 0.0, limit))
}

/// The mean time of the first group minus that of the second, both from 0 to `limit`.
///
/// ```
/// use siskin::statistics::survival::{End, restricted_mean::difference};
/// let slow = [(4, End::Event), (8, End::Event)];
/// let quick = [(1, End::Event), (3, End::Event)];
/// assert_eq!(difference(&slow, &quick, 8.0).unwrap().value, 4.0);
/// assert_eq!(difference(&slow, &[], 8.0), None);
/// ```
pub fn difference<T: Time>(first: &[(T, End)], second: &[(T, End)], limit: f64) -> Option<Mean> {
    let (a, b) = (restricted_mean(first, limit)?, restricted_mean(second, limit)?);
    let variance = a.standard_error.powi(2) + b.standard_error.powi(2);
    Some(Mean::new(a.value - b.value, variance, -limit, limit))
}
