//! A test against the truth, both yes or no: sensitivity, specificity, predictive values, each with
//! the exact interval of Clopper and Pearson.
//!
//! **Verification bias.** All this holds where the truth was sought whatever the test said. Where it
//! is sought mostly after a positive test, as blood is taken when a screen is high, those with a
//! negative one are missing from the table: sensitivity is overstated and specificity understated,
//! by how much no arithmetic on the table can tell. Predictive values are biased only as far as
//! other things than the test decided who was verified. Source: Begg CB, Greenes RA (1983)
//! Biometrics 39:207-215.
//!
//! **Several tests of one baby** are not independent: [`by_clusters`] gives the interval that allows for it.
//!
//! Source: Altman DG, Bland JM (1994) BMJ 308:1552, 309:102. Degenerate cases: a share of nobody is
//! `None`; counts whose sum passes 64 bits have no share.

use super::super::Interval;
use super::super::clustered::clustered_exact;
use super::super::proportion::clopper_pearson;

/// Babies by truth and test.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
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
}

/// The exact 95 % interval of a share of the tests in several tables, each of one baby, whose tests
/// are not independent ([`clustered_exact`]); `None` where the share is one of nothing.
///
/// ```
/// use siskin::statistics::agreement::diagnostic::{Table, by_clusters};
/// let found = Table { true_positives: 1, ..Table::default() };
/// let missed = Table { false_negatives: 3, ..Table::default() };
/// let interval = by_clusters(&[found, found, missed], Table::sensitivity).unwrap();
/// assert!(interval.upper > Table { true_positives: 2, ..missed }.sensitivity().unwrap().interval.upper);
/// ```
pub fn by_clusters(tables: &[Table], share: fn(&Table) -> Option<Share>) -> Option<Interval> {
    let of_each = tables.iter().filter_map(share);
    clustered_exact(&of_each.map(|share| (share.events, share.of)).collect::<Vec<_>>())
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
