//! The charts of one figure: its months with what is expected of them, and the same as a small line.

use std::collections::BTreeSet;

use crate::charts::Format;
use crate::charts::axis::Start;
use crate::charts::monthly::{Monthly, Phase, Point};
use crate::charts::strip::{self, Strip};
use crate::month::Month;
use crate::queries::figures::{Figure, Quantity};
use crate::statistics::control::Side;
use crate::statistics::control::chart::{self, Rule};

use super::figure_row::{is_provisional, value, write_of};
use super::series::Series;
use super::target::Target;
use super::verdict::{self, VerdictView};
use super::{PageError, numbers, words};

/// Months that a chart shows; those before still count for its limits and runs.
const SHOWN: usize = 24;

impl Series<'_> {
    /// The chart of the last months, with what is expected and what stands out.
    pub(super) fn chart(
        &self,
        network: &[&Figure],
        name: &str,
        latest: &str,
        verdict: &VerdictView,
    ) -> Result<String, PageError> {
        let from = network.len().saturating_sub(SHOWN);
        let shown = &network[from..];
        let has_years = shown.len() > 12;
        let mut points: Vec<Point> = shown.iter().map(|f| point(f, has_years, self.gaps)).collect();
        let target = self.target.and_then(Target::bound);
        for point in &mut points {
            point.target = target;
        }
        let mut phases = Vec::new();
        let mut usual = String::new();
        if let Some(signalled) = self.signalled {
            let charted = &signalled.charted;
            for (point, month) in points.iter_mut().zip(charted.chart.months.iter().skip(from)) {
                point.centre = month.centre;
                point.expected = month.limits.map(|limits| (limits.lower, limits.upper));
                point.signal = signal_word(month);
            }
            let place = |month: Month| charted.months.iter().position(|m| *m == month);
            for note in &charted.notes {
                if let Some(at) = place(note.month).and_then(|at| at.checked_sub(from)) {
                    phases.push(Phase {
                        from: at,
                        note: verdict::note(note.month, &note.text),
                    });
                }
            }
            let centre = charted.chart.phases.last().and_then(|phase| phase.centre);
            usual = centre.map_or_else(String::new, |c| format!("usual {}", value(self.measure, c, 200)));
        }
        let title = match verdict.short.is_empty() {
            true => format!("{name}: {latest}"),
            false => format!("{name}: {latest}, {}", verdict.short),
        };
        let chart = Monthly {
            id: self.measure,
            title: &title,
            description: &format!(
                "{name} by month, with 95 % intervals and the range expected of a month; the numbers are in the table below"
            ),
            points: &points,
            phases: &phases,
            format: Format::Narrow,
            start: self.start(points.iter().filter_map(|point| point.value)),
            top: None,
            write: write_of(self.measure),
            latest,
            usual: &usual,
            target: &self.target.map_or_else(String::new, |target| target.label()),
            of: words::cases(self.measure),
        };
        Ok(chart.svg()?)
    }

    /// The same months as a small line for a table; empty for a figure without a chart.
    pub(super) fn strip(
        &self,
        network: &[&Figure],
        name: &str,
        latest: &str,
        verdict: &VerdictView,
    ) -> Result<String, PageError> {
        let Some(signalled) = self.signalled else {
            return Ok(String::new());
        };
        let from = network.len().saturating_sub(SHOWN);
        let months = signalled.charted.chart.months.iter().skip(from);
        let points: Vec<strip::Point> = network[from..]
            .iter()
            .zip(months)
            .map(|(figure, month)| strip::Point {
                value: figure.value.filter(|_| !self.gaps.contains(&figure.month)),
                expected: month.limits.map(|limits| (limits.lower, limits.upper)),
                is_provisional: is_provisional(figure),
                is_signal: !month.signals.is_empty(),
            })
            .collect();
        let strip = Strip {
            id: &format!("{}-strip", self.measure),
            title: &format!("{name}: {latest}, {}", verdict.short),
            description: &format!(
                "{} months as a line; the numbers are in the table of the figure",
                points.len()
            ),
            points: &points,
            start: self.start(points.iter().filter_map(|point| point.value)),
        };
        Ok(strip.svg()?)
    }

    /// Where the axis starts: at the data for shares that are all high, else at zero.
    fn start(&self, mut values: impl Iterator<Item = f64>) -> Start {
        match Quantity::of(self.measure) {
            Quantity::Share if values.all(|value| value > 0.5) => Start::Data,
            _ => Start::Zero,
        }
    }
}

/// One month of a chart; over more than twelve months its label has the year. A month of
/// which only part was delivered is a gap, not a dip.
fn point(figure: &Figure, has_years: bool, gaps: &BTreeSet<String>) -> Point {
    let is_gap = gaps.contains(&figure.month);
    let short = if has_years {
        Month::short_with_year
    } else {
        Month::short
    };
    Point {
        label: figure.month.parse().map_or_else(|_| figure.month.clone(), short),
        below: figure.denominator.map_or_else(String::new, numbers::count),
        value: figure.value.filter(|_| !is_gap),
        interval: figure.lower.zip(figure.upper).filter(|_| !is_gap),
        is_provisional: is_provisional(figure),
        is_no_data: figure.denominator.is_none() || is_gap,
        ..Point::default()
    }
}

/// Why a month stands out, in a word.
fn signal_word(month: &chart::Month) -> Option<String> {
    let side = month
        .limits
        .zip(month.value)
        .and_then(|(limits, value)| limits.beyond(value));
    let word = match month.signals.first()? {
        Rule::BeyondLimit if side == Some(Side::Below) => "below",
        Rule::BeyondLimit => "above",
        Rule::LongRun | Rule::FewCrossings => "run",
    };
    Some(word.to_owned())
}
