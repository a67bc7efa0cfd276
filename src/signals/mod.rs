//! What the figures show beyond chance: a chart and a verdict for each, changes before and after
//! a documented date, meters that drift, and how well the meters agree with the laboratory.
//!
//! It takes figures and pairs as the measures give them, asks `statistics`, and hands `pages` what
//! to say. It draws nothing and knows no words of a page.

pub mod agreement;
pub mod between;
pub mod charted;
pub mod drift;
pub mod level;
pub mod pairs;
pub mod phases;
pub mod to_serum;
pub mod told;
pub mod units;
pub mod verdict;

use std::collections::{BTreeMap, BTreeSet};

use crate::notes::Notes;
use crate::queries::catalogue::Query;
use crate::queries::figures::Figure;
use crate::queries::header::Better;
use crate::statistics::control::chart::Chart;

use charted::Charted;
use phases::Compared;
use verdict::{Verdict, verdict};

/// Charts by the name of their figure.
pub type Signals = BTreeMap<String, Signalled>;

/// A figure with its chart and what it says.
#[derive(Clone, Debug, PartialEq)]
pub struct Signalled {
    /// The chart.
    pub charted: Charted,
    /// Its last phase against the one before, after a documented change.
    pub compared: Option<Compared>,
    /// What the chart says of its last month.
    pub verdict: Verdict,
    /// Which way is better.
    pub better: Option<Better>,
}

impl Signalled {
    /// The network's figures of one name of a measure, in order of months.
    pub fn of(
        query: &Query,
        measure: &str,
        figures: &[&Figure],
        gaps: &BTreeSet<String>,
        notes: &Notes,
    ) -> Option<Self> {
        let charted = Charted::of(measure, figures, gaps, notes)?;
        let compared = Compared::of(&charted);
        let verdict = verdict(&charted, compared.as_ref());
        Some(Self {
            better: query.header.better(measure),
            charted,
            compared,
            verdict,
        })
    }
}

/// How many charts were looked at, and how many of them would signal by chance alone.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Looked {
    /// Charts with enough months for at least one rule.
    pub charts: usize,
    /// Of these, how many are expected to show a signal although nothing changed.
    pub expected_false: f64,
}

impl Looked {
    /// Sums up the charts of figures.
    pub fn at<'a>(all: impl IntoIterator<Item = &'a Signalled>) -> Self {
        let judged = all.into_iter().filter(|one| one.charted.is_judged());
        judged.fold(Self::default(), |sum, one| Self {
            charts: sum.charts + 1,
            expected_false: sum.expected_false + one.charted.chart.false_signal() + level::LEVEL,
        })
    }

    /// Counts another chart besides.
    #[must_use]
    pub fn and(self, chart: &Chart) -> Self {
        Self {
            charts: self.charts + 1,
            expected_false: self.expected_false + chart.false_signal(),
        }
    }
}
