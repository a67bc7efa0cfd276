//! The share still without the event: the Kaplan-Meier estimator.
//!
//! At each time with d events among n at risk, S falls by the factor (n-d)/n. Its standard error
//! is Greenwood's, S·sqrt(Σ d / (n(n-d))), and the interval is on the log-log scale,
//! S^exp(±z·se / (S·ln S)), which stays between 0 and 1 and holds up in small groups. Some
//! programs default to the log scale, with other limits.
//!
//! Sources: Kaplan EL, Meier P (1958) J Am Stat Assoc 53:457-481; Greenwood M (1926); Kalbfleisch
//! JD, Prentice RL (1980) for the log-log scale. Times are in any one unit.
//!
//! Every end but the event counts as cut short. With a competing event, 1 - S therefore
//! overstates the share that has the event: use [`super::aalen_johansen`] there.
//!
//! Degenerate cases: nobody at all or all censored gives an empty curve, S = 1. Where S falls to
//! 0, standard error and interval are not defined. After the last follow-up the curve is carried
//! on, though nothing is known there.

use super::{End, Interval, Limits, ROUNDING, Time, log_log_interval, moments};

/// A step of the curve: from this time on, the share without the event is this.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step<T> {
    /// Time, in the unit of the follow-ups.
    pub time: T,
    /// How many were at risk just before it.
    pub at_risk: u64,
    /// How many had the event at it.
    pub events: u64,
    /// Share without the event, 0 to 1.
    pub survival: f64,
    /// Greenwood's standard error; `None` where nobody is left.
    pub standard_error: Option<f64>,
    /// The 95 % interval; `None` where nobody is left.
    pub interval: Option<Interval>,
}

/// The share without the event, one step per time at which it happened.
///
/// ```
/// use siskin::statistics::survival::{End, kaplan_meier};
/// let ends = [(1, End::Event), (2, End::Censored), (3, End::Event), (4, End::Censored)];
/// let steps = kaplan_meier::survival(&ends);
/// assert_eq!(kaplan_meier::by(&steps, 2), 0.75);
/// assert_eq!(kaplan_meier::by(&steps, 3), 0.375);
/// assert_eq!(kaplan_meier::median(&steps), Some(3));
/// ```
pub fn survival<T: Time>(follow_ups: &[(T, End)]) -> Vec<Step<T>> {
    let mut steps = Vec::new();
    let (mut survival, mut greenwood) = (1.0, 0.0);
    for moment in moments(follow_ups).iter().filter(|moment| moment.events > 0) {
        let (n, d) = (moment.at_risk as f64, moment.events as f64);
        survival *= (n - d) / n;
        // All of those at risk had the event: the sum is not defined.
        let standard_error = (moment.events < moment.at_risk).then(|| {
            greenwood += d / (n * (n - d));
            survival * f64::sqrt(greenwood)
        });
        steps.push(Step {
            time: moment.time,
            at_risk: moment.at_risk,
            events: moment.events,
            survival,
            standard_error,
            interval: standard_error.and_then(|se| log_log_interval(survival, se)),
        });
    }
    steps
}

/// The share without the event by `time`, that time included; 1 before the first step.
pub fn by<T: Time>(steps: &[Step<T>], time: T) -> f64 {
    let until = steps.iter().take_while(|step| step.time <= time);
    until.last().map_or(1.0, |step| step.survival)
}

/// The first time at which the share falls to one half; `None` when it never does.
pub fn median<T: Time>(steps: &[Step<T>]) -> Option<T> {
    let reached = |step: &&Step<T>| step.survival <= 0.5 + ROUNDING;
    steps.iter().find(reached).map(|step| step.time)
}

/// The 95 % interval of the median, by inverting the intervals of the curve: from the first time
/// at which the lower limit falls to one half, to the first at which the upper limit does. A step
/// without an interval is passed over.
/// Source: Brookmeyer R, Crowley J (1982) Biometrics 38:29-41.
pub fn median_interval<T: Time>(steps: &[Step<T>]) -> Limits<T> {
    let first = |limit: fn(Interval) -> f64| {
        let reached = |step: &&Step<T>| step.interval.is_some_and(|of| limit(of) <= 0.5);
        steps.iter().find(reached).map(|step| step.time)
    };
    Limits {
        lower: first(|of| of.lower),
        upper: first(|of| of.upper),
    }
}
