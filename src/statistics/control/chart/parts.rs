//! What a chart is of and what it is made of: series, kinds, months, phases and signals.

use std::ops::Range;

use super::super::{Limits, Side};

/// What is charted, one entry a month (or an interval, for rare events), in order.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Series<'a> {
    /// Events and trials by month; `None` is no data.
    Proportions(&'a [Option<(u64, u64)>]),
    /// Events and exposure (births, say) by month, as a rate per so much of it.
    Rates {
        /// Events and exposure.
        months: &'a [Option<(u64, u64)>],
        /// Exposure a rate is given per: 1000, say.
        per: f64,
    },
    /// One value a month, a median of hours, say.
    Values {
        /// The values.
        months: &'a [Option<f64>],
        /// The scale on which they are nearly normal.
        scale: Scale,
    },
    /// Cases strictly between one rare event and the next.
    CasesBetween(&'a [u64]),
}

/// The scale on which limits of single values are set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scale {
    /// That of the values.
    Plain,
    /// That of their power 1/3.6 ([`super::super::t`]): for values that cannot be
    /// negative and have a long tail upwards, such as medians of hours over few cases.
    LongTail,
}

/// A kind of chart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Proportions, three-sigma limits.
    P,
    /// Proportions, exact binomial limits in at least one month.
    PExact,
    /// Proportions of months that differ by more than chance.
    LaneyP,
    /// Rates, three-sigma limits.
    U,
    /// Rates, exact Poisson limits in at least one month.
    UExact,
    /// Rates of months that differ by more than chance.
    LaneyU,
    /// Single values.
    Individuals,
    /// Cases between rare events, exact geometric limits.
    G,
    /// No limits; runs about the median.
    RunOnly(Why),
    /// Neither limits nor runs.
    TooFew(Why),
}

/// Why a phase has no limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// Fewer months than a baseline needs.
    FewMonths {
        /// Final months with data in the phase.
        found: usize,
    },
    /// All values of the baseline are one.
    NoSpread,
}

/// One month as drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Month {
    /// The proportion, rate, value or interval; `None` for no data.
    pub value: Option<f64>,
    /// Centre line; `None` in a phase without limits.
    pub centre: Option<f64>,
    /// Limits; `None` in a phase without them or, where they follow a denominator, without data.
    pub limits: Option<Limits>,
    /// Whether exact limits of a count set at least one of the two.
    pub is_exact: bool,
    /// Whether the month may still change.
    pub is_provisional: bool,
    /// Rules that point at this month: beyond limit, or it is one of a long run.
    pub signals: Vec<Rule>,
}

/// One phase.
#[derive(Clone, Debug, PartialEq)]
pub struct Phase {
    /// Its months.
    pub months: Range<usize>,
    /// The kind of its chart.
    pub kind: Kind,
    /// The months that set its limits, in order; empty without limits.
    pub baseline: Vec<usize>,
    /// Centre line; `None` without limits.
    pub centre: Option<f64>,
    /// Laney's factor, where it was used.
    pub sigma_z: Option<f64>,
    /// Probability of at least one signal were nothing changed.
    pub false_signal: f64,
}

/// A rule that tells a change from chance.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Rule {
    /// A month outside its limits.
    BeyondLimit,
    /// Too many months in a row on one side of the median.
    LongRun,
    /// Too few changes from one side of the median to the other.
    FewCrossings,
}

/// One finding of one rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Signal {
    /// The rule.
    pub rule: Rule,
    /// First month it spans: that of the point, of the run, or the first that counts of the phase.
    pub first: usize,
    /// Last month it spans, that month included.
    pub last: usize,
    /// Above or below limit or median; `None` for few crossings, which have no side.
    pub side: Option<Side>,
    /// Index of the phase.
    pub phase: usize,
}
