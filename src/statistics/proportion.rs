//! A proportion and its interval: Wilson's score interval, or the exact one.
//!
//! For x of n with p = x/n and z the normal quantile of the level, Wilson's limits are
//!
//! ```text
//! (p + z²/2n ± z·sqrt(p(1-p)/n + z²/4n²)) / (1 + z²/n)
//! ```
//!
//! without continuity correction. They cover 95 % on average. The exact limits of Clopper and
//! Pearson never cover less, and are wider: they are the chances at which x or more, and x or
//! fewer, events come of n trials in 2.5 % of cases, quantiles of the beta distributions of
//! shapes x, n - x + 1 and x + 1, n - x.
//!
//! Sources: Wilson EB (1927) J Am Stat Assoc 22:209-212; Clopper CJ, Pearson ES (1934) Biometrika
//! 26:404-413; worked examples in Newcombe RG (1998) Stat Med 17:857-872, table I.
//! Degenerate cases: n = 0 has no interval; at x = 0 the lower and at x = n the
//! upper limit is exactly 0 and 1.

use super::Interval;
use super::incomplete_beta::{odds_with_above, odds_with_below};

/// Two-sided 95 % normal quantile.
pub const Z_95: f64 = 1.959_963_984_540_054;

/// Half of what lies outside a 95 % interval.
const TAIL: f64 = 0.025;

/// The 95 % Wilson score interval of `events` out of `trials`; `None` for no trials.
///
/// ```
/// use siskin::statistics::proportion::wilson;
/// let interval = wilson(0, 20).unwrap();
/// assert_eq!(interval.lower, 0.0);
/// assert!((interval.upper - 0.1611).abs() < 1e-4);
/// assert_eq!(wilson(0, 0), None);
/// ```
pub fn wilson(events: u64, trials: u64) -> Option<Interval> {
    if trials == 0 || events > trials {
        return None;
    }
    let n = trials as f64;
    Some(score_interval(events as f64 / n, n))
}

/// Wilson's interval of the proportion `p` seen in `n` trials, which need not be a whole number.
pub(super) fn score_interval(p: f64, n: f64) -> Interval {
    let z2 = Z_95 * Z_95;
    let centre = p + z2 / (2.0 * n);
    let half = Z_95 * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt();
    let scale = 1.0 + z2 / n;
    Interval {
        lower: if p <= 0.0 { 0.0 } else { (centre - half) / scale },
        upper: if p >= 1.0 { 1.0 } else { (centre + half) / scale },
    }
}

/// The exact 95 % interval of Clopper and Pearson of `events` out of `trials`; `None` for no
/// trials.
///
/// ```
/// use siskin::statistics::proportion::clopper_pearson;
/// let interval = clopper_pearson(0, 20).unwrap();
/// assert_eq!(interval.lower, 0.0);
/// assert!((interval.upper - 0.1684).abs() < 1e-4);
/// assert_eq!(clopper_pearson(0, 0), None);
/// ```
pub fn clopper_pearson(events: u64, trials: u64) -> Option<Interval> {
    if trials == 0 || events > trials {
        return None;
    }
    let (x, others) = (events as f64, (trials - events) as f64);
    Some(beta_interval(x / trials as f64, x, others))
}

/// The exact interval of the proportion `p` seen in `n` trials, which need not be a whole number.
pub(super) fn exact_interval(p: f64, n: f64) -> Interval {
    beta_interval(p, p * n, (1.0 - p) * n)
}

/// The limits of Clopper and Pearson of the proportion `p`: `x` events, and `others` trials without.
fn beta_interval(p: f64, x: f64, others: f64) -> Interval {
    let proportion = |odds: f64| 1.0 / (1.0 + 1.0 / odds);
    // A count past 1e10 loses its last digits: its limits must not cross all the same.
    Interval {
        lower: if p <= 0.0 {
            0.0
        } else {
            proportion(odds_with_below(x, others + 1.0, TAIL)).min(p)
        },
        upper: if p >= 1.0 {
            1.0
        } else {
            proportion(odds_with_above(x + 1.0, others, TAIL)).max(p)
        },
    }
}

/// A difference of two proportions and its interval, between -1 and 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference {
    /// First minus second.
    pub value: f64,
    /// Lower limit.
    pub lower: f64,
    /// Upper limit.
    pub upper: f64,
}

/// The difference of two independent proportions, each events out of trials, with Newcombe's
/// 95 % interval; `None` when either has no trials.
///
/// With p and the Wilson limits l, u of each, and d = p1 - p2:
///
/// ```text
/// d - sqrt((p1 - l1)² + (u2 - p2)²)  to  d + sqrt((u1 - p1)² + (p2 - l2)²)
/// ```
///
/// Source: Newcombe RG (1998) Stat Med 17:873-890, method 10. Degenerate cases: an interval is
/// given also when both proportions are 0 or 1.
///
/// ```
/// use siskin::statistics::proportion::newcombe;
/// let difference = newcombe((56, 70), (48, 80)).unwrap();
/// assert!((difference.lower - 0.0524).abs() < 1e-4);
/// assert!((difference.upper - 0.3339).abs() < 1e-4);
/// assert_eq!(newcombe((1, 2), (0, 0)), None);
/// ```
pub fn newcombe(first: (u64, u64), second: (u64, u64)) -> Option<Difference> {
    let (a, b) = (wilson(first.0, first.1)?, wilson(second.0, second.1)?);
    let (p, q) = (first.0 as f64 / first.1 as f64, second.0 as f64 / second.1 as f64);
    Some(difference((p, a), (q, b)))
}

/// The difference of two independent proportions, each with an interval of its own, combined as in
/// [`newcombe`]: for proportions whose intervals are not Wilson's, as of clusters.
///
/// Source: Zou GY, Donner A (2008) Stat Med 27:1693-1702, who show the principle for any two
/// independent estimates with intervals.
pub fn difference(first: (f64, Interval), second: (f64, Interval)) -> Difference {
    let ((p, a), (q, b)) = (first, second);
    let value = p - q;
    let below = ((p - a.lower).powi(2) + (b.upper - q).powi(2)).sqrt();
    let above = ((a.upper - p).powi(2) + (q - b.lower).powi(2)).sqrt();
    Difference {
        value,
        lower: (value - below).max(-1.0),
        upper: (value + above).min(1.0),
    }
}
