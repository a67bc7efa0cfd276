//! How well a score ranks those who have a condition above those who have not: the area below its
//! curve (ROC).
//!
//! With m positives and n negatives the area is the share of the m n couples in which the
//! positive has the higher score, ties counting one half. Its variance is DeLong's: with the
//! share of negatives below each positive, and of positives above each negative,
//!
//! ```text
//! Var = var(shares of positives) / m + var(shares of negatives) / n
//! ```
//!
//! (divisors m - 1 and n - 1). The interval is area ± z SE, cut to 0 to 1.
//!
//! Source: DeLong ER, DeLong DM, Clarke-Pearson DL (1988) Biometrics 44:837-845. Where the
//! condition is known only for those whose score was high, the area is that of those babies, not
//! of all (see [`super::diagnostic`]). Degenerate cases: no positives or no negatives have no
//! area; a single one of either has no variance; scores that separate completely have an area of
//! 1 with an interval of no width, which says too little; so has a score of one value, with 0.5.

use super::super::Interval;
use super::super::centred::Sums;
use super::super::proportion::Z_95;

/// A score, and whether the condition was there.
pub type Scored = (f64, bool);

/// The area below a curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    /// The area, 0 to 1; 0.5 is no better than chance.
    pub value: f64,
    /// 95 % interval, by DeLong's variance.
    pub interval: Option<Interval>,
}

/// The area below the curve of a score that is higher in positives; `None` without positives, without
/// negatives, or with a score that is not a number.
///
/// ```
/// use siskin::statistics::agreement::roc::area;
/// let scored = [(1.0, false), (2.0, false), (2.0, true), (3.0, true)];
/// assert_eq!(area(&scored).unwrap().value, 0.875);
/// assert_eq!(area(&[(1.0, true)]), None);
/// ```
pub fn area(scored: &[Scored]) -> Option<Area> {
    let shares = Shares::of(scored)?;
    let interval = |variance: f64| Interval {
        lower: (shares.area - Z_95 * variance.sqrt()).max(0.0),
        upper: (shares.area + Z_95 * variance.sqrt()).min(1.0),
    };
    Some(Area {
        value: shares.area,
        interval: shares.variance().map(interval),
    })
}

/// DeLong's components.
struct Shares {
    area: f64,
    of_positives: Vec<f64>,
    of_negatives: Vec<f64>,
}

impl Shares {
    fn of(scored: &[Scored]) -> Option<Self> {
        let of = |positive: bool| {
            let those = scored.iter().filter(move |(_, is)| *is == positive);
            those.map(|(score, _)| *score).collect::<Vec<f64>>()
        };
        let (positives, negatives) = (of(true), of(false));
        if positives.is_empty() || negatives.is_empty() || scored.iter().any(|(score, _)| score.is_nan()) {
            return None;
        }
        // Twice the number below plus the number equal: whole, so exact.
        let below = |score: &f64, sorted: &[f64]| {
            let (less, at_most) = (
                sorted.partition_point(|s| s < score),
                sorted.partition_point(|s| s <= score),
            );
            less + at_most
        };
        let in_order = |scores: &[f64]| {
            let mut sorted = scores.to_vec();
            sorted.sort_unstable_by(f64::total_cmp);
            sorted
        };
        let (low, high) = (in_order(&negatives), in_order(&positives));
        let (m, n) = (positives.len(), negatives.len());
        let won: Vec<usize> = positives.iter().map(|score| below(score, &low)).collect();
        Some(Self {
            area: won.iter().sum::<usize>() as f64 / (2.0 * m as f64 * n as f64),
            of_positives: won.iter().map(|won| *won as f64 / (2 * n) as f64).collect(),
            of_negatives: negatives
                .iter()
                .map(|score| (2 * m - below(score, &high)) as f64 / (2 * m) as f64)
                .collect(),
        })
    }

    /// `None` for a single positive or negative.
    fn variance(&self) -> Option<f64> {
        let of = |shares: &[f64]| {
            let sums = Sums::of_values(shares)?;
            Some(sums.variance()? / sums.n)
        };
        Some(of(&self.of_positives)? + of(&self.of_negatives)?)
    }
}
