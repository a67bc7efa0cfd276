//! The share still without the event: the Kaplan-Meier estimator.
//!
//! At each time with d events among n at risk, S falls by the factor (n-d)/n. Source: Kaplan EL,
//! Meier P (1958) J Am Stat Assoc 53:457-481. Times are in any one unit.
//!
//! Every end but the event counts as cut short. With a competing event, 1 - S therefore
//! overstates the share that has the event: use [`super::aalen_johansen`] there.
//!
//! Degenerate cases: nobody at all or all censored gives an empty curve, S = 1. After the last
//! follow-up the curve is carried on, though nothing is known there.

use super::{End, Time, moments};

/// A step of the curve: from this time on, the share without the event is this.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step<T> {
    /// Time, in the unit of the follow-ups.
    pub time: T,
    /// Share without the event, 0 to 1.
    pub survival: f64,
}

/// The share without the event, one step per time at which it happened.
///
/// ```
/// use siskin::statistics::survival::{End, kaplan_meier};
/// let ends = [(1, End::Event), (2, End::Censored), (3, End::Event), (4, End::Censored)];
/// let steps = kaplan_meier::survival(&ends);
/// assert_eq!((steps[0].time, steps[0].survival), (1, 0.75));
/// assert_eq!((steps[1].time, steps[1].survival), (3, 0.375));
/// ```
pub fn survival<T: Time>(follow_ups: &[(T, End)]) -> Vec<Step<T>> {
    let mut steps = Vec::new();
    let mut survival = 1.0;
    for moment in moments(follow_ups).iter().filter(|moment| moment.events > 0) {
        survival *= (moment.at_risk - moment.events) as f64 / moment.at_risk as f64;
        steps.push(Step {
            time: moment.time,
            survival,
        });
    }
    steps
}
