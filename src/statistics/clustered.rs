//! A proportion whose trials come in clusters, such as several of one person.
//!
//! Trials of one cluster are alike, so n of them tell less than n independent ones. With x_i of
//! n_i in cluster i of m, p = Σx_i / Σn_i and n = Σn_i, the variance of p between clusters
//! (linearised, as of a ratio) and the design effect are
//!
//! ```text
//! v = m/(m-1) · Σ(x_i - p·n_i)² / n²        D = v / (p(1-p)/(n-1))
//! ```
//!
//! and the interval is Wilson's of p in n/D · (t(n-1) / t(m-1))² trials, t(d) being the 97.5 %
//! quantile of Student's t of d degrees of freedom: few clusters tell little of their own
//! variance. With clusters of one trial it is exactly Wilson's interval of n.
//!
//! Sources: Cochran WG (1977) Sampling Techniques, 3rd edition, section 9A (ratio to size);
//! Korn EL, Graubard BI (1998) Surv Methodol 24:193-201 for the effective sample with
//! t-quantiles. They put it into the exact interval ([`clustered_exact`], where plain intervals are
//! exact too); we put it into Wilson's ([`clustered`]), as everywhere else.
//! They divide by p(1-p)/n; we divide by p(1-p)/(n-1), its unbiased form, so that clusters of one
//! trial have a design effect of exactly 1.
//!
//! A design effect estimated under 1 is taken as 1. Trials of one cluster may be less alike than
//! chance, but a few clusters look so by chance far more often, and an interval must not become
//! narrower than that of independent trials on such a guess.
//!
//! Degenerate cases: without trials, or with more events than trials, there is nothing. A cluster
//! without trials is left out. With a single cluster, or with no or all events, the variance
//! between clusters is not known: then all trials of a cluster are taken to be alike, the design
//! effect is Σn_i²/n (Kish L (1965) Survey Sampling, with correlation 1), and there is no
//! t-quantile. A single cluster then counts as one trial.

use super::Interval;
use super::incomplete_beta::odds_with_above;
use super::proportion::{exact_interval, score_interval};

/// The 95 % interval of the proportion of `(events, trials)` of each cluster; `None` without trials.
///
/// ```
/// use siskin::statistics::{clustered::clustered, proportion::wilson};
/// let alike = clustered(&[(4, 4), (0, 3), (2, 3)]).unwrap();
/// assert!(alike.lower < wilson(6, 10).unwrap().lower);
/// assert_eq!(clustered(&[]), None);
/// ```
pub fn clustered(clusters: &[(u64, u64)]) -> Option<Interval> {
    let (p, effective_trials) = effective(clusters)?;
    Some(score_interval(p, effective_trials))
}

/// The exact 95 % interval of Korn and Graubard; `None` without trials. With clusters of one trial it
/// is that of Clopper and Pearson.
///
/// ```
/// use siskin::statistics::{clustered::clustered_exact, proportion::clopper_pearson};
/// let alike = clustered_exact(&[(4, 4), (0, 3), (2, 3)]).unwrap();
/// assert!(alike.lower < clopper_pearson(6, 10).unwrap().lower);
/// ```
pub fn clustered_exact(clusters: &[(u64, u64)]) -> Option<Interval> {
    let (p, effective_trials) = effective(clusters)?;
    Some(exact_interval(p, effective_trials))
}

/// The proportion, and how many independent trials these are worth.
fn effective(clusters: &[(u64, u64)]) -> Option<(f64, f64)> {
    let (mut events, mut trials) = (0_u64, 0_u64);
    for (of_events, of_trials) in clusters {
        if of_events > of_trials {
            return None;
        }
        events = events.checked_add(*of_events)?;
        trials = trials.checked_add(*of_trials)?;
    }
    if trials == 0 {
        return None;
    }
    let with_trials = || clusters.iter().filter(|of| of.1 > 0);
    let (n, count) = (trials as f64, with_trials().count() as u64);
    let m = count as f64;
    let p = events as f64 / n;
    let effective_trials = if count == 1 || events == 0 || events == trials {
        let alike = with_trials().map(|of| (of.1 as f64).powi(2)).sum::<f64>() / n;
        n / alike
    } else {
        let squares = with_trials().map(|of| (of.0 as f64 - p * of.1 as f64).powi(2));
        let variance = m / (m - 1.0) * squares.sum::<f64>() / (n * n);
        let design_effect = (variance / (p * (1.0 - p) / (n - 1.0))).max(1.0);
        let few = squared_t(n - 1.0) / squared_t(m - 1.0);
        n / design_effect * few
    };
    Some((p, effective_trials))
}

/// The square of the 97.5 % quantile of Student's t: t²/(d + t²) is a beta variable of shapes
/// 1/2 and d/2.
fn squared_t(degrees: f64) -> f64 {
    degrees * odds_with_above(0.5, degrees / 2.0, 0.05)
}
