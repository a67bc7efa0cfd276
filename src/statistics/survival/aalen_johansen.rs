//! Cumulative incidence with a competing event: the Aalen-Johansen estimator.
//!
//! At each time t with d1 events of interest and d2 competing ones among n still
//! at risk, the incidence F grows by S(t-)·d1/n, and S falls by the factor
//! 1 - (d1+d2)/n. Its variance at t is the sum over the times u up to t of
//!
//! ```text
//! S(u-)²/n² · [ (1 - (F(t)-F(u))/S(u))²·d1·(n-d1)/(n-1) + ((F(t)-F(u))/S(u))²·d2·(n-d2)/(n-1) ]
//! ```
//!
//! with the last factors 1 where a single one of n ended. The interval is that of 1 - F on the
//! log-log scale, so it stays between 0 and 1. References disagree in the third digit of the
//! variance: this is the one of Aalen (1978), as R `cmprsk` computes it; R `survival` and
//! statsmodels take the infinitesimal jackknife, which is a little smaller in hundreds and much
//! smaller in ten or fewer, where intervals are rather too wide here. We take the larger.
//!
//! Source: Aalen OO, Johansen S (1978) Scand J Stat 5:141-150; Aalen OO (1978) Ann Stat
//! 6:534-545; Kalbfleisch JD, Prentice RL (1980) for the log-log scale; hand-checkable example in
//! the tests. Times are in any one unit.
//!
//! **Clusters.** Follow-ups of one person are alike. [`incidence_of_clusters`] multiplies the variance at
//! each time by the design effect of clusters ([`super::super::clustered`]): with f_i what follow-up i adds to the
//! incidence (its influence, the infinitesimal jackknife), m clusters of n follow-ups,
//!
//! ```text
//! D = m/(m-1)·Σ over clusters (Σ f_i)²  /  n/(n-1)·Σ f_i²      not under 1
//! ```
//!
//! times (t(m-1) / t(n-1))². Without censoring D is that of the plain proportion. Source of the
//! influence summed by clusters: the robust variance of R `survival::survfit` with `cluster` (from memory);
//! taking it as a factor of Aalen's variance is ours, as with clusters of one the interval is the
//! plain one. With a single cluster its follow-ups count as alike: D is n, without a t-quantile.
//!
//! Degenerate cases: nobody at all gives an empty curve; all censored gives a curve at 0; nobody
//! censored gives the plain proportion. At 0 and at 1 the log-log scale has no value:
//! [`interval_by`] then falls back on Wilson's interval.

use super::super::clustered::clustered;
use super::super::proportion::{Z_95, wilson};
use super::super::{Interval, student};
use super::{End, Limits, Moment, Time, moments};

/// Sums of fractions such as 0.1 miss one half or one by about this much.
const ROUNDING: f64 = 1e-12;

/// A step of the curve: from this time on, the incidence is this.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step<T> {
    /// Time, in the unit of the follow-ups.
    pub time: T,
    /// Cumulative incidence of the event of interest, 0 to 1.
    pub incidence: f64,
    /// Variance of the incidence.
    pub variance: f64,
}

impl<T> Step<T> {
    /// The 95 % interval of the incidence; `None` at an incidence of 1.
    pub fn interval(&self) -> Option<Interval> {
        let without = log_log_interval(1.0 - self.incidence, self.variance.sqrt())?;
        Some(Interval {
            lower: 1.0 - without.upper,
            upper: 1.0 - without.lower,
        })
    }
}

/// The 95 % interval of a share s on the log-log scale, s^exp(±z·se / (s·ln s)); `None` where
/// the scale has no value: at 0 and at 1.
fn log_log_interval(share: f64, standard_error: f64) -> Option<Interval> {
    if share <= ROUNDING || share >= 1.0 {
        return None;
    }
    let half = Z_95 * standard_error / (share * -share.ln());
    Some(Interval {
        lower: share.powf(half.exp()),
        upper: share.powf((-half).exp()),
    })
}

/// The sums over the times so far from which the variance at any later incidence follows.
#[derive(Default)]
struct Variance {
    of_one: f64,
    of_both: f64,
    of_incidence: f64,
}

impl Variance {
    /// Adds a time at which the incidence weighs `constant - F(t)·slope`.
    fn add(&mut self, weight: f64, constant: f64, slope: f64) {
        self.of_one += weight * constant * constant;
        self.of_both += weight * constant * slope;
        self.of_incidence += weight * slope * slope;
    }

    fn at(&self, incidence: f64) -> f64 {
        let sum = self.of_one - 2.0 * incidence * self.of_both + incidence * incidence * self.of_incidence;
        sum.max(0.0)
    }
}

/// The cumulative incidence of the event of interest, one step per time at which it happened.
///
/// ```
/// use siskin::statistics::survival::{End, aalen_johansen};
/// let ends = [(1, End::Event), (2, End::Competing), (3, End::Event), (4, End::Censored)];
/// let steps = aalen_johansen::incidence(&ends);
/// assert_eq!(aalen_johansen::by(&steps, 4), 0.5);
/// assert_eq!(aalen_johansen::median(&steps), Some(3));
/// ```
pub fn incidence<T: Time>(follow_ups: &[(T, End)]) -> Vec<Step<T>> {
    let mut steps = Vec::new();
    let mut variance = Variance::default();
    let (mut surviving, mut incidence) = (1.0, 0.0);
    for moment in moments(follow_ups) {
        let n = moment.at_risk as f64;
        let (events, competing) = (moment.events as f64, moment.competing as f64);
        let before: f64 = surviving;
        incidence += before * events / n;
        surviving *= 1.0 - (events + competing) / n;
        let weight = |ended: f64| {
            let ties = if ended > 1.0 { (n - ended) / (n - 1.0) } else { 1.0 };
            (before / n).powi(2) * ended * ties
        };
        let left = if surviving > 0.0 { 1.0 / surviving } else { 0.0 };
        variance.add(weight(events), 1.0 + incidence * left, left);
        variance.add(weight(competing), incidence * left, left);
        if moment.events > 0 {
            steps.push(Step {
                time: moment.time,
                incidence,
                variance: variance.at(incidence),
            });
        }
    }
    steps
}

/// The same of follow-ups that come in clusters, with the variance that allows for it.
///
/// ```
/// use siskin::statistics::survival::{End, aalen_johansen};
/// let (drawn, left) = ((1, End::Event), (2, End::Competing));
/// let alike = [vec![drawn; 3], vec![left; 3], vec![drawn, left]];
/// let plain = aalen_johansen::incidence(&alike.concat());
/// let steps = aalen_johansen::incidence_of_clusters(&alike);
/// assert_eq!(steps[0].incidence, plain[0].incidence);
/// assert!(steps[0].variance > 2.0 * plain[0].variance);
/// ```
pub fn incidence_of_clusters<T: Time>(clusters: &[Vec<(T, End)>]) -> Vec<Step<T>> {
    let all = clusters.concat();
    let mut steps = incidence(&all);
    let sizes = clusters
        .iter()
        .map(|of| of.iter().filter(|of| of.0.number().is_finite()).count());
    let sizes: Vec<usize> = sizes.filter(|size| *size > 0).collect();
    let (many, single) = (sizes.iter().sum::<usize>(), sizes.len());
    if many == single {
        return steps;
    }
    let (n, m) = (many as f64, single as f64);
    let alike = sizes.iter().map(|size| (*size as f64).powi(2)).sum::<f64>() / n;
    let few = student::quantile_95(single - 1).zip(student::quantile_95(many - 1));
    let moments = moments(&all);
    let between = squared_influences(&moments, clusters.iter().map(Vec::as_slice));
    let alone = squared_influences(&moments, all.chunks(1));
    for (step, (between, alone)) in steps.iter_mut().zip(between.into_iter().zip(alone)) {
        let effect = (m / (m - 1.0) * between) / (n / (n - 1.0) * alone);
        step.variance *= match few {
            Some((of_clusters, of_all)) if effect.is_finite() => effect.max(1.0) * (of_clusters / of_all).powi(2),
            _ => alike,
        };
    }
    steps
}

/// For each moment with an event, what each group of follow-ups adds to the incidence by then, squared
/// and summed up.
fn squared_influences<'f, T: Time + 'f>(
    moments: &[Moment<T>],
    groups: impl Iterator<Item = &'f [(T, End)]>,
) -> Vec<f64> {
    let mut before = Vec::with_capacity(moments.len());
    let mut surviving = 1.0;
    for moment in moments {
        before.push(surviving);
        surviving *= 1.0 - (moment.events + moment.competing) as f64 / moment.at_risk as f64;
    }
    let mut sums = vec![0.0; moments.iter().filter(|moment| moment.events > 0).count()];
    for group in groups {
        let is_time = |follow_up: &&(T, End)| follow_up.0.number().is_finite();
        let place = |time: T| moments.partition_point(|moment| moment.time < time);
        let members = group.iter().filter(is_time).map(|(time, end)| (place(*time), *end));
        let mut members: Vec<(usize, End)> = members.collect();
        members.sort_by_key(|member| member.0);
        let mut members = members.into_iter().peekable();
        let mut at_risk = members.len() as f64;
        // What the group adds to the incidence so far, and to the logarithm of the share without either event.
        let (mut added, mut log_surviving, mut step) = (0.0, 0.0, 0);
        for (place, moment) in moments.iter().enumerate() {
            let (mut events, mut ended, mut gone) = (0.0, 0.0, 0.0);
            while let Some((_, end)) = members.next_if(|member| member.0 == place) {
                events += f64::from(u8::from(end == End::Event));
                ended += f64::from(u8::from(end != End::Censored));
                gone += 1.0;
            }
            let n = moment.at_risk as f64;
            let hazard = moment.events as f64 / n;
            let of_both = (moment.events + moment.competing) as f64 / n;
            added += before[place] * ((events - at_risk * hazard) / n + log_surviving * hazard);
            if moment.events > 0 {
                sums[step] += added * added;
                step += 1;
            }
            if of_both < 1.0 {
                log_surviving -= (ended - at_risk * of_both) / n / (1.0 - of_both);
            }
            at_risk -= gone;
        }
    }
    sums
}

/// The step in force at `time`; `None` before the first.
fn in_force<T: Time>(steps: &[Step<T>], time: T) -> Option<&Step<T>> {
    steps.iter().take_while(|step| step.time <= time).last()
}

/// The incidence by `time`, that time included; 0 before the first step.
pub fn by<T: Time>(steps: &[Step<T>], time: T) -> f64 {
    in_force(steps, time).map_or(0.0, |step| step.incidence)
}

/// The 95 % interval of the incidence by `time`, that time included.
///
/// Where the incidence is 0 or 1 it is Wilson's interval of those whose state at `time` is known:
/// all but those censored before. That leaves out what is known of the censored ones, so it is
/// rather too wide. `None` where nobody's state is known.
///
/// ```
/// use siskin::statistics::proportion::wilson;
/// use siskin::statistics::survival::{End, aalen_johansen};
/// let ends = [(3, End::Censored), (9, End::Censored), (9, End::Censored)];
/// assert_eq!(aalen_johansen::interval_by(&ends, 6), wilson(0, 2));
/// ```
pub fn interval_by<T: Time>(follow_ups: &[(T, End)], time: T) -> Option<Interval> {
    let steps = incidence(follow_ups);
    if let Some(interval) = in_force(&steps, time).and_then(Step::interval) {
        return Some(interval);
    }
    let (events, known) = known_by(follow_ups, time);
    wilson(events, known)
}

/// The same of follow-ups that come in clusters.
pub fn interval_by_of_clusters<T: Time>(clusters: &[Vec<(T, End)>], time: T) -> Option<Interval> {
    if clusters.iter().all(|of| of.len() <= 1) {
        return interval_by(&clusters.concat(), time);
    }
    let steps = incidence_of_clusters(clusters);
    if let Some(interval) = in_force(&steps, time).and_then(Step::interval) {
        return Some(interval);
    }
    let counts = clusters.iter().map(|of| known_by(of, time)).collect::<Vec<_>>();
    clustered(&counts)
}

/// Those with the event by `time`, and those whose state at `time` is known.
fn known_by<T: Time>(follow_ups: &[(T, End)], time: T) -> (u64, u64) {
    let is_known = |of: &&(T, End)| of.0.number().is_finite() && (of.1 != End::Censored || of.0 >= time);
    let known = || follow_ups.iter().filter(is_known);
    let events = known().filter(|of| of.1 == End::Event && of.0 <= time);
    (events.count() as u64, known().count() as u64)
}

/// The first time at which the incidence reaches one half; `None` when it never does.
pub fn median<T: Time>(steps: &[Step<T>]) -> Option<T> {
    let reached = |step: &&Step<T>| step.incidence >= 0.5 - ROUNDING;
    steps.iter().find(reached).map(|step| step.time)
}

/// The 95 % interval of the median, by inverting the intervals of the curve: from the first time
/// at which the upper limit of the incidence reaches one half, to the first at which the lower
/// limit does. A step without an interval is passed over.
/// Source: Brookmeyer R, Crowley J (1982) Biometrics 38:29-41.
///
/// ```
/// use siskin::statistics::survival::{End, aalen_johansen};
/// let steps = aalen_johansen::incidence(&[(1, End::Censored)]);
/// assert_eq!(aalen_johansen::median_interval(&steps).upper, None);
/// ```
pub fn median_interval<T: Time>(steps: &[Step<T>]) -> Limits<T> {
    let first = |limit: fn(Interval) -> f64| {
        let reached = |step: &&Step<T>| step.interval().is_some_and(|of| limit(of) >= 0.5);
        steps.iter().find(reached).map(|step| step.time)
    };
    Limits {
        lower: first(|of| of.upper),
        upper: first(|of| of.lower),
    }
}
