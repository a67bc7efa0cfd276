//! One figure in numbers: a row of a table, its value and interval, and how an axis writes it.

use serde::Serialize;

use crate::queries::figures::{Figure, Quantity};
use crate::statistics::Interval;

use super::{numbers, words};

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
    let written = |end: f64| value(&figure.measure, end, cases);
    match (figure.lower, figure.upper) {
        (Some(lower), Some(upper)) => interval(&figure.measure, Interval { lower, upper }, cases),
        (Some(lower), None) => format!("from {}", written(lower)),
        (None, Some(upper)) => format!("up to {}", written(upper)),
        (None, None) => String::new(),
    }
}

/// One figure as a row of a table.
pub(super) fn row(figure: &Figure, name: &str, is_current: bool) -> Row {
    let cases = figure.denominator.unwrap_or(0);
    let count = match (figure.numerator, figure.denominator) {
        (Some(n), Some(_)) if Quantity::of(&figure.measure) == Quantity::Concentration => numbers::count(n),
        (Some(n), Some(of)) => format!("{} of {}", numbers::count(n), numbers::count(of)),
        _ => "no data".to_owned(),
    };
    let value = figure
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
        value,
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
    figure.may_still_change()
}

/// How a figure's values are written at an axis.
pub(super) fn write_of(measure: &str) -> fn(f64) -> String {
    match Quantity::of(measure) {
        Quantity::Share => axis_percent,
        Quantity::Hours => axis_hours,
        Quantity::PerThousandBirths => axis_rate,
        Quantity::Concentration => numbers::whole,
    }
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
