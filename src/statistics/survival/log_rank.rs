//! The log-rank test: do two groups have the event at the same rate?
//!
//! At each time with d events among n at risk, n1 of them in the first group, that group is
//! expected to have d·n1/n events, with the hypergeometric variance
//! d·(n1/n)·(1 - n1/n)·(n-d)/(n-1). With the sums over all times, (O - E)²/V is compared with
//! the chi-square distribution of one degree of freedom. The shorter sum of (O - E)²/E over the
//! groups is another, more cautious statistic, and not this one.
//!
//! Source: Mantel N (1966) Cancer Chemother Rep 50:163-170. Every end but the event counts as
//! cut short. Degenerate cases: there is no test without an event at a time at which both groups
//! are at risk.

use statrs::function::erf::erfc;

use super::{End, Time, moments};

/// How often chance alone makes two groups of follow-ups differ so much; `None` where there is
/// nothing to compare.
///
/// ```
/// use siskin::statistics::survival::{End, log_rank::log_rank};
/// let quick = [(1, End::Event), (2, End::Event), (3, End::Event), (4, End::Event)];
/// let slow = [(5, End::Event), (6, End::Event), (7, End::Event), (8, End::Event)];
/// assert!(log_rank(&quick, &slow).unwrap() < 0.01);
/// assert_eq!(log_rank(&quick, &[]), None);
/// ```
pub fn log_rank<T: Time>(first: &[(T, End)], second: &[(T, End)]) -> Option<f64> {
    let groups = [moments(first), moments(second)];
    let both = moments(&[first, second].concat());
    let (mut observed, mut expected, mut variance) = (0, 0.0, 0.0);
    let mut seen = [0, 0];
    for moment in both {
        let mut at_risk = [0.0, 0.0];
        for group in 0..2 {
            if let Some(of) = groups[group].get(seen[group]) {
                at_risk[group] = of.at_risk as f64;
                if of.time == moment.time {
                    seen[group] += 1;
                    if group == 0 {
                        observed += of.events;
                    }
                }
            }
        }
        let (n, d) = (moment.at_risk as f64, moment.events as f64);
        expected += d * at_risk[0] / n;
        if n > 1.0 {
            variance += d * (at_risk[0] / n) * (at_risk[1] / n) * (n - d) / (n - 1.0);
        }
    }
    if variance <= 0.0 {
        return None;
    }
    let chi_square = (observed as f64 - expected).powi(2) / variance;
    Some(erfc((chi_square / 2.0).sqrt()))
}
