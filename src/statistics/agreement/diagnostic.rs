//! A test against the truth, both yes or no: sensitivity, specificity, predictive values,
//! likelihood ratios.
//!
//! Proportions have the exact interval of Clopper and Pearson. Ratios have theirs on the scale of
//! the logarithm, exp(ln(ratio) ± z SE):
//!
//! ```text
//! positive likelihood ratio = sensitivity / (1 - specificity)
//!     SE² = 1/TP - 1/(TP+FN) + 1/FP - 1/(FP+TN)
//! negative likelihood ratio = (1 - sensitivity) / specificity
//!     SE² = 1/FN - 1/(TP+FN) + 1/TN - 1/(FP+TN)
//! diagnostic odds ratio     = TP TN / (FP FN)
//!     SE² = 1/TP + 1/FP + 1/FN + 1/TN
//! ```
//!
//! Youden's index (sensitivity + specificity - 1) is the difference of two independent proportions
//! and has Newcombe's interval; adding up the limits of both, as some programs do, gives a wider
//! one.
//!
//! **Verification bias.** All this holds where the truth was sought whatever the test said. Where it
//! is sought mostly after a positive test, as blood is taken when a screen is high, those with a
//! negative one are missing from the table: sensitivity is overstated and specificity understated,
//! by how much no arithmetic on the table can tell. Predictive values are biased only as far as
//! other things than the test decided who was verified. Source: Begg CB, Greenes RA (1983)
//! Biometrics 39:207-215.
//!
//! Sources: Altman DG, Bland JM (1994) BMJ 308:1552, 309:102; Simel DL, Samsa GP, Matchar DB (1991)
//! J Clin Epidemiol 44:763-770; Woolf B (1955) Ann Hum Genet 19:251-253. Degenerate cases: a share
//! of nobody is `None`; so is a ratio whose denominator is 0; a ratio of 0 has no interval; a test
//! positive in all has a likelihood ratio of 1 with an interval of no width; counts whose sum passes
//! 64 bits have no share.

use super::super::Interval;
use super::super::proportion::{Difference, Z_95, clopper_pearson, newcombe};

/// Babies by truth and test.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Table {
    /// The condition, found.
    pub true_positives: u64,
    /// No condition, yet the test was positive.
    pub false_positives: u64,
    /// The condition, missed.
    pub false_negatives: u64,
    /// No condition, and the test was negative.
    pub true_negatives: u64,
}

/// A share of babies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// How many.
    pub events: u64,
    /// Of how many.
    pub of: u64,
    /// The share, 0 to 1.
    pub value: f64,
    /// Exact 95 % interval.
    pub interval: Interval,
}

/// A ratio of shares or odds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ratio {
    /// The ratio.
    pub value: f64,
    /// 95 % interval; `None` for a ratio of 0.
    pub interval: Option<Interval>,
}

impl Table {
    /// Of those with the condition, the share found.
    ///
    /// ```
    /// use siskin::statistics::agreement::diagnostic::Table;
    /// let table = Table {
    ///     true_positives: 9,
    ///     false_positives: 10,
    ///     false_negatives: 1,
    ///     true_negatives: 80,
    /// };
    /// assert_eq!(table.sensitivity().unwrap().value, 0.9);
    /// assert_eq!(table.negative_predictive_value().unwrap().of, 81);
    /// ```
    pub fn sensitivity(&self) -> Option<Share> {
        Share::of(self.true_positives, self.false_negatives)
    }

    /// Of those without the condition, the share with a negative test.
    pub fn specificity(&self) -> Option<Share> {
        Share::of(self.true_negatives, self.false_positives)
    }

    /// Of those with a positive test, the share with the condition.
    pub fn positive_predictive_value(&self) -> Option<Share> {
        Share::of(self.true_positives, self.false_positives)
    }

    /// Of those with a negative test, the share without the condition.
    pub fn negative_predictive_value(&self) -> Option<Share> {
        Share::of(self.true_negatives, self.false_negatives)
    }

    /// Of all, the share whose test was right.
    pub fn accuracy(&self) -> Option<Share> {
        let [tp, fp, fn_, tn] = self.cells();
        Share::of(tp.checked_add(tn)?, fp.checked_add(fn_)?)
    }

    /// How many times more often a positive test comes with the condition than without it.
    pub fn positive_likelihood_ratio(&self) -> Option<Ratio> {
        let [tp, fp, fn_, tn] = self.cells();
        Ratio::of_shares((tp, fn_), (fp, tn))
    }

    /// How many times more often a negative test comes with the condition than without it.
    pub fn negative_likelihood_ratio(&self) -> Option<Ratio> {
        let [tp, fp, fn_, tn] = self.cells();
        Ratio::of_shares((fn_, tp), (tn, fp))
    }

    /// The odds of a positive test with the condition over those without it.
    pub fn odds_ratio(&self) -> Option<Ratio> {
        let [tp, fp, fn_, tn] = self.cells().map(|cell| cell as f64);
        let value = (tp / fp) * (tn / fn_);
        Ratio::of(value, 1.0 / tp + 1.0 / fp + 1.0 / fn_ + 1.0 / tn)
    }

    /// Youden's index, sensitivity + specificity - 1: 0 for a test that knows nothing.
    pub fn youden(&self) -> Option<Difference> {
        let [tp, fp, fn_, tn] = self.cells();
        newcombe((tp, tp.checked_add(fn_)?), (fp, fp.checked_add(tn)?))
    }

    fn cells(&self) -> [u64; 4] {
        let Self {
            true_positives,
            false_positives,
            false_negatives,
            true_negatives,
        } = *self;
        [true_positives, false_positives, false_negatives, true_negatives]
    }
}

impl Share {
    fn of(events: u64, others: u64) -> Option<Self> {
        let of = events.checked_add(others)?;
        Some(Self {
            events,
            of,
            value: events as f64 / of as f64,
            interval: clopper_pearson(events, of)?,
        })
    }
}

impl Ratio {
    /// Of two shares, each (events, others).
    fn of_shares(first: (u64, u64), second: (u64, u64)) -> Option<Self> {
        let share = |(events, others): (u64, u64)| (events as f64, events as f64 + others as f64);
        let ((a, n), (b, m)) = (share(first), share(second));
        Self::of((a / n) / (b / m), 1.0 / a - 1.0 / n + 1.0 / b - 1.0 / m)
    }

    fn of(value: f64, variance: f64) -> Option<Self> {
        let half = (Z_95 * variance.max(0.0).sqrt()).exp();
        value.is_finite().then(|| Self {
            value,
            interval: (value > 0.0 && half.is_finite()).then(|| Interval {
                lower: value / half,
                upper: value * half,
            }),
        })
    }
}
