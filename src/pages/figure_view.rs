//! One figure as it is shown: its number and tables; `figure_charts.rs` draws it.

use std::collections::BTreeSet;

use serde::Serialize;

use crate::month::Month;
use crate::queries::explain::Flow;
use crate::queries::figures::{Figure, Quantity};
use crate::signals::Signalled;
use crate::signals::units::Units;
use crate::statistics::Interval;

use super::attention::Attention;
use super::groups_view::{self, GroupsView};
use super::network_view::headlines;
use super::target::Target;
use super::units_view::{self, UnitsView};
use super::verdict::{self, VerdictView};
use super::{PageError, numbers, words};

/// One row of a table: a month, or a unit.
#[derive(Clone, Debug, Serialize)]
pub struct Row {
    /// Month or unit.
    pub name: String,
    /// `9 of 112`.
    pub count: String,
    /// `8 %`, or hours.
    pub value: String,
    /// `4 to 15 %`.
    pub interval: String,
    /// Not yet decidable.
    pub open: String,
    /// In no rate: `3 gestation unknown`.
    pub left_out: String,
    /// The month may still change.
    pub is_provisional: bool,
    /// The month of the report.
    pub is_current: bool,
}

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

/// The value of a figure out of so many cases, as the page writes it.
pub(super) fn value(measure: &str, value: f64, cases: u64) -> String {
    match Quantity::of(measure) {
        Quantity::Hours => numbers::hours(value),
        Quantity::PerThousandBirths => numbers::per_thousand(value),
        Quantity::Concentration => numbers::concentration(value),
        Quantity::Share => numbers::percent(value, cases),
    }
}

/// The ends of its interval, in the same rounding.
pub(super) fn interval(measure: &str, interval: Interval, cases: u64) -> String {
    match Quantity::of(measure) {
        Quantity::Share => numbers::percent_interval(interval, cases),
        Quantity::Hours => format!("{:.1} to {}", interval.lower, numbers::hours(interval.upper)),
        Quantity::PerThousandBirths => format!("{:.1} to {:.1}", interval.lower, interval.upper),
        Quantity::Concentration => format!(
            "{} to {}",
            numbers::whole(interval.lower),
            numbers::concentration(interval.upper)
        ),
    }
}

/// The interval of a figure, also one that has a single end; empty without one.
fn interval_of(figure: &Figure, cases: u64) -> String {
    let told = |end: f64| value(&figure.measure, end, cases);
    match (figure.lower, figure.upper) {
        (Some(lower), Some(upper)) => interval(&figure.measure, Interval { lower, upper }, cases),
        (Some(lower), None) => format!("from {}", told(lower)),
        (None, Some(upper)) => format!("up to {}", told(upper)),
        (None, None) => String::new(),
    }
}

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
    fn all(&self) -> impl Iterator<Item = &'a Figure> {
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

    /// Groups of babies are compared for the figures that matter most, and where a group can be
    /// missed by the meter.
    fn has_groups(&self) -> bool {
        self.measure == "dangerous_miss" || headlines(self.year).contains(&self.measure)
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

/// One figure as a row of a table.
pub(super) fn row(figure: &Figure, name: &str, is_current: bool) -> Row {
    let cases = figure.denominator.unwrap_or(0);
    let count = match (figure.numerator, figure.denominator) {
        (Some(n), Some(_)) if Quantity::of(&figure.measure) == Quantity::Concentration => numbers::count(n),
        (Some(n), Some(of)) => format!("{} of {}", numbers::count(n), numbers::count(of)),
        _ => "no data".to_owned(),
    };
    let told = figure
        .value
        .map_or_else(|| "\u{2013}".to_owned(), |v| value(&figure.measure, v, cases));
    let interval = interval_of(figure, cases);
    let reasons: Vec<String> = figure
        .left_out
        .iter()
        .map(|(reason, n)| format!("{n} {}", words::outcome(reason)))
        .collect();
    Row {
        name: name.to_owned(),
        count,
        value: told,
        interval,
        open: if figure.open > 0 {
            figure.open.to_string()
        } else {
            String::new()
        },
        left_out: reasons.join(", "),
        is_provisional: figure.provisional,
        is_current,
    }
}

/// Whether the figure may still change.
pub(super) fn is_provisional(figure: &Figure) -> bool {
    figure.provisional || figure.open > 0
}

fn month_name(month: &str) -> String {
    month
        .parse::<Month>()
        .map_or_else(|_| month.to_owned(), Month::in_words)
}
