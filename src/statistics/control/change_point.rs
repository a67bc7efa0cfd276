//! The month from which a series most likely runs at another level.
//!
//! For every month but the first the series is split before it; the split under which the data
//! are most likely is the estimate, with the level before and after. Source: Pignatiello JJ,
//! Samuel TR (2001) J Qual Technol 33:357-365 (normal values; the counts by the same principle).
//! Of equally likely splits the earliest is taken.
//!
//! *Likelihood ratio*: twice the logarithm of how much more likely the data are with the best
//! split than with none. It is the largest of many, so chi-square tables do not hold. The p
//! value owns the search: every split has a standardised distance (for counts the signed root
//! of its likelihood ratio; for values its t statistic, brought to the normal scale of the same
//! tail), distances of neighbouring splits hang together, and [`largest_of_chain`] gives the
//! probability that the largest of them all is so large under no change. For counts this is the
//! large-sample form of Worsley KJ (1983) Biometrika 70:455-464 (from memory). It is an
//! approximation: of simulated steady series of 12 to 36 months, also of one expected event a
//! month, 5 to 6.5 % had a p value under 0.05 (repeated in the tests).
//!
//! Months that differ by more than chance within a month would make every ratio too large; with
//! Laney's sigma_z ([`super::laney`]) it is divided by sigma_z², as quasi-likelihood has it.
//!
//! Degenerate cases: fewer than three months with data, nothing or everything happened,
//! identical values, or anything not finite give `None`. Values at one level before and another
//! after, with no spread, have no finite likelihood ratio and a p value of 0. Months without
//! trials or exposure are passed over and never the estimate.

use statrs::function::beta::checked_beta_reg;
use statrs::function::erf::erfc_inv;

use super::largest_of_chain::largest_of_chain;

/// Relative differences up to this are rounding, not likelihood.
const ROUNDING: f64 = 1e-12;

/// The most likely change of a series.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// Index of the first month at the later level.
    pub first_after: usize,
    /// Level before it.
    pub before: f64,
    /// Level from it on.
    pub after: f64,
    /// Probability of so large a likelihood ratio at any split, were there no change.
    pub p_value: f64,
}

/// Sums of a stretch of months: what happened, and out of how much.
#[derive(Clone, Copy)]
struct Stretch {
    events: f64,
    size: f64,
}

impl Stretch {
    fn rate(self) -> f64 {
        self.events / self.size
    }
}

/// The change of a series of events and trials. A `sigma_z` of 1, or under, is that of chance
/// within a month alone.
///
/// ```
/// use siskin::statistics::control::change_point::proportions;
/// let months = [(2, 100), (3, 100), (2, 100), (3, 100), (14, 100), (16, 100), (15, 100)];
/// let change = proportions(&months, 1.0).unwrap();
/// assert_eq!(change.first_after, 4);
/// assert_eq!((change.before, change.after), (0.025, 0.15));
/// assert!(change.p_value < 0.001);
/// ```
pub fn proportions(months: &[(u64, u64)], sigma_z: f64) -> Option<Change> {
    if months.iter().any(|(events, trials)| events > trials) {
        return None;
    }
    let log_likelihood = |of: Stretch| {
        let without = of.size - of.events;
        times_log(of.events, of.rate()) + times_log(without, without / of.size)
    };
    let months: Vec<(u64, f64)> = months.iter().map(|&(events, trials)| (events, trials as f64)).collect();
    counts(&months, sigma_z, |all| all.events < all.size, log_likelihood)
}

/// The change of a series of events and exposure; levels are rates. `sigma_z` as for proportions.
pub fn rates(months: &[(u64, f64)], sigma_z: f64) -> Option<Change> {
    counts(months, sigma_z, |_| true, |of| times_log(of.events, of.rate()))
}

fn times_log(count: f64, rate: f64) -> f64 {
    if count > 0.0 { count * rate.ln() } else { 0.0 }
}

fn counts(
    months: &[(u64, f64)],
    sigma_z: f64,
    is_open: impl Fn(Stretch) -> bool,
    log_likelihood: impl Fn(Stretch) -> f64,
) -> Option<Change> {
    if months.iter().any(|month| !(month.1 >= 0.0 && month.1.is_finite())) {
        return None;
    }
    let kept: Vec<(usize, &(u64, f64))> = months.iter().enumerate().filter(|(_, month)| month.1 > 0.0).collect();
    let sum = |of: &[(usize, &(u64, f64))]| Stretch {
        events: of.iter().map(|(_, month)| month.0 as f64).sum(),
        size: of.iter().map(|(_, month)| month.1).sum(),
    };
    let all = sum(&kept);
    if kept.len() < 3 || all.events == 0.0 || !all.size.is_finite() || !is_open(all) {
        return None;
    }
    let mut best: Option<(f64, usize, Stretch, Stretch)> = None;
    let mut shares = Vec::new();
    for split in 1..kept.len() {
        let (before, after) = (sum(&kept[..split]), sum(&kept[split..]));
        let ratio = 2.0 * (log_likelihood(before) + log_likelihood(after) - log_likelihood(all));
        shares.push(before.size / all.size);
        if best.is_none_or(|(largest, ..)| ratio > largest + ROUNDING * largest.abs()) {
            best = Some((ratio, kept[split].0, before, after));
        }
    }
    let (ratio, first_after, before, after) = best?;
    // Not a number counts as 1.
    let ratio = ratio.max(0.0) / sigma_z.max(1.0).powi(2);
    Some(Change {
        first_after,
        before: before.rate(),
        after: after.rate(),
        p_value: largest_of_chain(&correlations(&shares), ratio.sqrt()),
    })
}

/// The change of a series of values of one spread; levels are means.
///
/// ```
/// use siskin::statistics::control::change_point::values;
/// let change = values(&[5.1, 4.9, 5.0, 5.2, 4.8, 7.0, 7.3, 6.9]).unwrap();
/// assert_eq!(change.first_after, 5);
/// assert_eq!(values(&[5.0, 5.0, 5.0]), None);
/// ```
pub fn values(values: &[f64]) -> Option<Change> {
    let n = values.len();
    let mean = |of: &[f64]| of.iter().sum::<f64>() / of.len() as f64;
    let squares = |of: &[f64]| of.iter().map(|value| (value - mean(of)).powi(2)).sum::<f64>();
    let whole = squares(values);
    if n < 3 || !whole.is_finite() || whole == 0.0 || values.iter().all(|value| *value == values[0]) {
        return None;
    }
    let within = |split: usize| squares(&values[..split]) + squares(&values[split..]);
    let splits = (1..n).map(|split| (within(split), split));
    let (least, split) = splits.fold((f64::INFINITY, 1), |best, of| {
        if of.0 < best.0 - ROUNDING * whole { of } else { best }
    });
    let shares: Vec<f64> = (1..n).map(|split| split as f64 / n as f64).collect();
    let degrees = (n - 2) as f64;
    // The square of t is (whole - least) / (least / degrees): its tail is a beta function of least / whole.
    let tail = checked_beta_reg(degrees / 2.0, 0.5, (least / whole).clamp(0.0, 1.0)).unwrap_or(0.0);
    let has_spread = least > whole * f64::EPSILON;
    Some(Change {
        first_after: split,
        before: mean(&values[..split]),
        after: mean(&values[split..]),
        p_value: if has_spread && tail > 0.0 {
            largest_of_chain(&correlations(&shares), std::f64::consts::SQRT_2 * erfc_inv(tail))
        } else {
            0.0
        },
    })
}

/// Correlation of the distance at each split with that at the next, from the share of all data
/// before each: that of a Brownian bridge over its standard deviation.
fn correlations(shares: &[f64]) -> Vec<f64> {
    let odds = |share: f64| share / (1.0 - share);
    let pairs = shares.windows(2);
    let correlation = |pair: &[f64]| (odds(pair[0]) / odds(pair[1])).sqrt();
    // Not a number where a share is 0 or 1 to rounding: such neighbours are the same.
    pairs
        .map(correlation)
        .map(|r| if r.is_finite() { r } else { 1.0 })
        .collect()
}
