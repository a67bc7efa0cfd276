//! One figure as it is shown: its number, chart and tables.

use std::collections::BTreeSet;

use serde::Serialize;

use crate::charts::Format;
use crate::charts::axis::Start;
use crate::charts::monthly::{Monthly, Point};
use crate::month::Month;
use crate::queries::figures::{Figure, Quantity};
use crate::queries::measure::RATE_PER_BIRTHS;
use crate::statistics::Interval;

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
    /// `4 % before`, or empty.
    pub before: String,
    /// What the protocol wants it to be and whether it is, or empty.
    pub target: String,
    /// The chart, an SVG element.
    pub chart: String,
    /// All months.
    pub months: Vec<Row>,
    /// Units, in the month of the report.
    pub units: Vec<Row>,
    /// How each case ended, in the month of the report: name and count, where there is any.
    pub outcomes: Vec<(String, u64)>,
    /// What is in no rate, and why.
    pub left_out: Vec<(String, u64)>,
}

/// The value of a figure out of so many cases, as the page writes it.
pub(super) fn value(measure: &str, value: f64, cases: u64) -> String {
    match Quantity::of(measure) {
        Quantity::Hours => numbers::hours(value),
        Quantity::PerThousandBirths => numbers::per_thousand(value),
        Quantity::Share => numbers::percent(value, cases),
    }
}

/// The ends of its interval, in the same rounding.
pub(super) fn interval(measure: &str, interval: Interval, cases: u64) -> String {
    match Quantity::of(measure) {
        Quantity::Share => numbers::percent_interval(interval, cases),
        Quantity::Hours => format!("{:.1} to {}", interval.lower, numbers::hours(interval.upper)),
        Quantity::PerThousandBirths => format!("{:.1} to {:.1}", interval.lower, interval.upper),
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
        let has_years = network.len() > 12;
        let points: Vec<Point> = network.iter().map(|f| point(f, has_years, self.gaps)).collect();
        let latest = row(now, "", true).value;
        let title = format!("{name}: {latest}");
        let chart = Monthly {
            id: self.measure,
            title: &title,
            description: &format!(
                "{name} by month, {} in all, the last {}, with 95 % intervals where there are any. The table beside it holds the numbers.",
                network.len(),
                self.month.in_words()
            ),
            points: &points,
            phases: &[],
            format: Format::Narrow,
            start: Start::Zero,
            top: None,
            write: match Quantity::of(self.measure) {
                Quantity::Share => axis_percent,
                Quantity::Hours => axis_hours,
                Quantity::PerThousandBirths => axis_rate,
            },
            latest: &latest,
            usual: "",
            target: "",
            of: "",
        };
        Ok(Some(FigureView {
            id: self.measure.to_owned(),
            before: self.before_in_words(),
            target: String::new(),
            chart: chart.svg()?,
            months: network
                .iter()
                .map(|f| row(f, &self.month_name(f), f.month == month))
                .collect(),
            units: units.map(|f| row(f, &f.group, false)).collect(),
            outcomes: now
                .outcomes
                .iter()
                .filter(|(_, n)| **n > 0)
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

    fn before_in_words(&self) -> String {
        let of_thousand = match Quantity::of(self.measure) {
            Quantity::Hours => return String::new(),
            _ if self.measure.starts_with("time_to_serum") => return String::new(),
            Quantity::Share => 1.0,
            Quantity::PerThousandBirths => RATE_PER_BIRTHS,
        };
        self.pooled_before().map_or_else(String::new, |(n, of)| {
            value(self.measure, of_thousand * n as f64 / of as f64, of)
        })
    }
}

/// One figure as a row of a table.
pub(super) fn row(figure: &Figure, name: &str, is_current: bool) -> Row {
    let cases = figure.denominator.unwrap_or(0);
    let count = match (figure.numerator, figure.denominator) {
        (Some(n), Some(of)) => format!("{} of {}", numbers::count(n), numbers::count(of)),
        _ => "no data".to_owned(),
    };
    let told = figure
        .value
        .map_or_else(|| "\u{2013}".to_owned(), |v| value(&figure.measure, v, cases));
    let interval = match (figure.lower, figure.upper) {
        (Some(lower), Some(upper)) => interval(&figure.measure, Interval { lower, upper }, cases),
        _ => String::new(),
    };
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

fn month_name(month: &str) -> String {
    month
        .parse::<Month>()
        .map_or_else(|_| month.to_owned(), Month::in_words)
}

fn axis_percent(share: f64) -> String {
    let percent = share * 100.0;
    if percent.fract().abs() < 0.05 || percent >= 10.0 {
        format!("{percent:.0} %")
    } else {
        format!("{percent:.1} %")
    }
}

fn axis_rate(rate: f64) -> String {
    format!("{rate:.1}")
}

fn axis_hours(hours: f64) -> String {
    numbers::hours(hours)
}
