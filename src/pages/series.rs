//! All that is known of one figure: the month's, and those of all months.

use std::collections::BTreeSet;

use crate::month::Month;
use crate::queries::explain::Flow;
use crate::queries::figures::Figure;
use crate::signals::Signalled;
use crate::signals::units::Units;

use super::attention::Attention;
use super::target::Target;

/// Figures of one name: the month's, and all months for the chart.
pub(super) struct Series<'a> {
    /// The figure's name in the results.
    pub measure: &'a str,
    /// All figures of the report.
    pub figures: &'a [Figure],
    /// The month of the report.
    pub month: Month,
    /// Months of which only part was delivered: a gap in the chart, and in no comparison.
    pub gaps: &'a BTreeSet<String>,
    /// Its control chart.
    pub signalled: Option<&'a Signalled>,
    /// What the protocol wants it to be.
    pub target: Option<Target>,
    /// Units against each other.
    pub units: Option<&'a Units>,
    /// Figures of twelve months taken together.
    pub year: &'a [Figure],
    /// The same of groups of babies.
    pub groups: &'a [Figure],
    /// From all rows of the month to the numerator.
    pub flow: Option<&'a Flow>,
}

impl<'a> Series<'a> {
    /// All figures of its name.
    pub(super) fn all(&self) -> impl Iterator<Item = &'a Figure> {
        let measure = self.measure;
        self.figures.iter().filter(move |f| f.measure == measure)
    }

    /// The network's figure of the month.
    pub(super) fn now(&self) -> Option<&'a Figure> {
        let month = self.month.to_string();
        self.all().find(|f| f.split == "all" && f.month == month)
    }

    /// The network's figure of twelve months taken together.
    pub(super) fn of_year(&self) -> Option<&'a Figure> {
        let measure = self.measure;
        self.year.iter().find(|f| f.split == "all" && f.measure == measure)
    }

    /// How much it needs to be looked at.
    pub(super) fn attention(&self) -> Attention {
        self.now().map_or(Attention::NoData, |now| {
            Attention::of(now, self.signalled, self.of_year(), self.target)
        })
    }

    /// The network's figures of the months before.
    pub(super) fn before(&self) -> Vec<&'a Figure> {
        let month = self.month.to_string();
        self.all().filter(|f| f.split == "all" && f.month < month).collect()
    }

    /// Numerators and denominators of the months before that have data.
    pub(super) fn counted_before(&self) -> Vec<(u64, u64)> {
        self.before()
            .iter()
            .filter(|f| !self.gaps.contains(&f.month))
            .filter_map(|f| Some((f.numerator?, f.denominator?)))
            .collect()
    }

    /// These added up.
    pub(super) fn pooled_before(&self) -> Option<(u64, u64)> {
        let sum = self
            .counted_before()
            .iter()
            .fold((0, 0), |sum, n| (sum.0 + n.0, sum.1 + n.1));
        (sum.1 > 0).then_some(sum)
    }
}
