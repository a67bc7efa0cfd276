//! One figure as it is shown: its number and tables; `figure_charts.rs` draws it.

use serde::Serialize;

use crate::month::Month;
use crate::queries::explain::Flow;
use crate::queries::figures::Figure;

use super::attention::Attention;
use super::figure_row::{Row, row};
use super::groups_view::{self, GroupsView};
use super::network_view::headlines;
use super::series::Series;
use super::units_view::{self, UnitsView};
use super::verdict::{self, VerdictView};
use super::{PageError, numbers, words};

/// One figure as it is shown.
#[derive(Clone, Debug, Serialize)]
pub struct FigureView {
    /// Unique on the page.
    pub id: String,
    /// In words.
    pub name: String,
    /// Of the month of the report.
    pub now: Row,
    /// Of twelve months taken together.
    pub year: Option<Row>,
    /// What the protocol wants it to be and whether twelve months are, or empty.
    pub target: String,
    /// How much it needs to be looked at.
    attention: Attention,
    /// The last months as a small line, an SVG element; empty for a figure without a chart.
    pub strip: String,
    /// The chart, an SVG element.
    pub chart: String,
    /// What the chart says of the month; empty for a figure without a chart of its own.
    pub verdict: VerdictView,
    /// All months.
    pub months: Vec<Row>,
    /// Units, in the month of the report.
    pub units: Vec<Row>,
    /// Units against each other over twelve months; nothing with fewer than three.
    pub funnel: Option<UnitsView>,
    /// Groups of babies against each other over twelve months; nothing of figures that are no share.
    pub groups: Option<GroupsView>,
    /// From all rows of the month to the numerator, step by step.
    pub flow: Vec<FlowStep>,
    /// How each case ended, in the month of the report: name and count, where there is any.
    pub outcomes: Vec<(String, u64)>,
    /// What is in no rate, and why.
    pub left_out: Vec<(String, u64)>,
}

/// One step from all rows to the numerator.
#[derive(Clone, Debug, Serialize)]
pub struct FlowStep {
    /// What is left.
    pub what: String,
    /// How many that are.
    pub left: String,
    /// What dropped out before it: `3 gestation unknown, 2 open`.
    pub dropped: String,
}

impl FigureView {
    /// How much it needs to be looked at.
    pub(super) fn attention(&self) -> Attention {
        self.attention
    }
}

impl Series<'_> {
    /// The figure as it is shown; `None` when the results do not hold it.
    ///
    /// # Errors
    /// When its chart cannot be drawn.
    pub(super) fn view(&self) -> Result<Option<FigureView>, PageError> {
        let Some(now) = self.now() else {
            return Ok(None);
        };
        let month = self.month.to_string();
        let network: Vec<&Figure> = self.all().filter(|f| f.split == "all").collect();
        let units = self.all().filter(|f| f.split == "unit" && f.month == month);
        let name = words::figure(self.measure);
        let latest = row(now, "", true).value;
        let verdict = self.signalled.map(verdict::view).unwrap_or_default();
        let chart = self.chart(&network, &name, &latest, &verdict)?;
        Ok(Some(FigureView {
            id: self.measure.to_owned(),
            year: self.of_year().map(|figure| row(figure, "", false)),
            target: self.target.map_or_else(String::new, |target| {
                let year = self.of_year().and_then(|year| year.value);
                target.in_words(year)
            }),
            attention: self.attention(),
            strip: self.strip(&network, &name, &latest, &verdict)?,
            groups: match self.of_year().filter(|_| self.has_groups()) {
                Some(year) => groups_view::view(year, self.groups)?,
                None => None,
            },
            flow: self.flow.map(steps).unwrap_or_default(),
            chart,
            verdict,
            months: network
                .iter()
                .map(|f| row(f, &self.month_name(f), f.month == month))
                .collect(),
            funnel: self.units.map(units_view::view).transpose()?,
            units: units.map(|f| row(f, &f.group, false)).collect(),
            outcomes: now
                .outcomes
                .iter()
                .filter(|(_, n)| **n > 0 && now.outcomes.len() > 1)
                .map(|(k, n)| (words::outcome(k), *n))
                .collect(),
            left_out: now.left_out.iter().map(|(k, n)| (words::outcome(k), *n)).collect(),
            now: row(now, &self.month.in_words(), true),
            name,
        }))
    }

    /// Groups of babies are compared for the figures that matter most, and where a group can be
    /// missed by the meter.
    fn has_groups(&self) -> bool {
        self.measure == "dangerous_miss" || headlines(self.year).contains(&self.measure)
    }

    fn month_name(&self, figure: &Figure) -> String {
        let name = month_name(&figure.month);
        if self.gaps.contains(&figure.month) {
            format!("{name} (half delivered)")
        } else {
            name
        }
    }
}

/// The steps of a flow in words.
fn steps(flow: &Flow) -> Vec<FlowStep> {
    let each = flow.steps.iter().map(|step| {
        let dropped = step.dropped.iter();
        let dropped: Vec<String> = dropped
            .map(|(reason, n)| format!("{} {}", numbers::count(*n), words::outcome(reason)))
            .collect();
        FlowStep {
            what: step.what.clone(),
            left: numbers::count(step.left),
            dropped: dropped.join(", "),
        }
    });
    each.collect()
}

fn month_name(month: &str) -> String {
    month
        .parse::<Month>()
        .map_or_else(|_| month.to_owned(), Month::in_words)
}
