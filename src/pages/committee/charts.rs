//! The charts of the committee's page: quarters, as single months are often too small to show.

use serde::Serialize;

use crate::charts::Format;
use crate::charts::axis::Start;
use crate::charts::monthly::{Monthly, Point};
use crate::month::Month;
use crate::privacy::shown::Shown;
use crate::queries::figures::Figure;

use super::super::target::Target;
use super::super::{PageError, figure_row, numbers, words};
use super::data::CommitteeData;
use super::released::{Count, quarters_to};
use super::rows::{CommitteeFigure, SpanRow, interval_of, span_row};

/// Figures with a chart, at most five.
const CHARTED: [&str; 5] = [
    "screening_coverage",
    "missed_referral",
    "referral_in_time",
    "time_to_treatment",
    "jaundice_readmission_",
];

/// Quarters in a chart.
pub const QUARTERS: i32 = 8;

/// A chart with its numbers.
#[derive(Clone, Debug, Serialize)]
pub(super) struct ChartView {
    /// `Missed referral by quarter`.
    pub title: String,
    /// An SVG element.
    pub chart: String,
    /// A row for each quarter.
    pub rows: Vec<SpanRow>,
}

/// The charts of the figures that have one.
///
/// # Errors
/// When a chart cannot be drawn.
pub(super) fn charts(figures: &[CommitteeFigure<'_>], data: &CommitteeData<'_>) -> Result<Vec<ChartView>, PageError> {
    let charted = figures
        .iter()
        .filter(|one| CHARTED.iter().any(|stem| words::is_named(one.measure, stem)));
    charted.map(|one| chart(one, data)).collect()
}

fn chart(figure: &CommitteeFigure<'_>, data: &CommitteeData<'_>) -> Result<ChartView, PageError> {
    let measure = figure.measure;
    let quarters = quarters_to(data.month, QUARTERS);
    let quarters: Vec<(Month, Month)> = quarters.into_iter().filter(|(first, _)| *first >= data.first).collect();
    let target = figure.target.and_then(Target::bound);
    let mut points = Vec::new();
    let mut rows = Vec::new();
    for quarter in quarters {
        let shown = match figure.released.is_complete(quarter) {
            true => figure.released.shown(quarter),
            false => None,
        };
        let last = quarter.1.to_string();
        let own = data.quarters.iter().find(|f| f.measure == measure && f.month == last);
        points.push(Point {
            target,
            is_provisional: figure.released.is_provisional(quarter),
            ..point(measure, quarter, shown, own)
        });
        rows.push(span_row(measure, span_name(quarter), shown, own));
    }
    let name = words::figure(measure);
    let is_high = points.iter().filter_map(|point| point.value).all(|value| value > 0.5);
    let latest = rows.last().map_or("", |row| row.value.as_str());
    let chart = Monthly {
        id: &format!("{measure}-quarters"),
        title: &format!("{name} by quarter"),
        description: "A dot for each quarter with its 95 % interval; a hidden quarter has none; the numbers are in the table beside it",
        points: &points,
        phases: &[],
        format: Format::Narrow,
        start: if is_high { Start::Data } else { Start::Zero },
        top: None,
        write: figure_row::write_of(measure),
        latest,
        usual: "",
        target: &figure.target.map_or_else(String::new, Target::label),
        of: words::cases(measure),
    };
    Ok(ChartView {
        title: format!("{name} by quarter"),
        chart: chart.svg()?,
        rows,
    })
}

/// `Jul to Sep 26`.
pub(super) fn span_name((first, last): (Month, Month)) -> String {
    format!("{} to {}", first.short(), last.short_with_year())
}

/// `Q3 26`.
fn short((_, last): (Month, Month)) -> String {
    format!("Q{} {:02}", (last.number() + 2) / 3, last.year() % 100)
}

fn point(measure: &str, quarter: (Month, Month), shown: Option<Shown<Count>>, own: Option<&Figure>) -> Point {
    let label = short(quarter);
    match shown {
        None => Point {
            label,
            is_no_data: true,
            ..Point::default()
        },
        Some(Shown::Hidden) => Point {
            label,
            is_hidden: true,
            ..Point::default()
        },
        Some(Shown::Value((n, of))) => Point {
            label,
            below: numbers::count(of),
            value: (of > 0).then(|| n as f64 / of as f64),
            interval: interval_of(measure, (n, of), own).map(|interval| (interval.lower, interval.upper)),
            ..Point::default()
        },
    }
}
