//! Births between rare cases, as the page shows them.

use serde::Serialize;

use crate::charts::Format;
use crate::charts::axis::Start;
use crate::charts::monthly::{Monthly, Point};
use crate::signals::between::Between;
use crate::statistics::control::chart::{Kind, Rule};

use super::{PageError, numbers, words};

/// Cases that a chart shows; those before still count.
const SHOWN: usize = 36;

/// The chart of one figure.
#[derive(Clone, Debug, Serialize)]
pub(super) struct BetweenView {
    /// What it is of.
    pub name: String,
    /// The chart, an SVG element.
    pub chart: String,
    /// What it says, a sentence.
    pub sentence: String,
}

/// The view of the cases of a figure; `None` of fewer than two.
///
/// # Errors
/// When the chart cannot be drawn.
pub(super) fn view(measure: &str, between: &Between) -> Result<Option<BetweenView>, PageError> {
    let Some(last) = between.births.last() else {
        return Ok(None);
    };
    let from = between.births.len().saturating_sub(SHOWN);
    let months = between.months.iter().zip(&between.chart.months).skip(from);
    let points: Vec<Point> = months
        .map(|(month, case)| Point {
            label: month.short_with_year(),
            value: case.value,
            centre: case.centre,
            expected: case.limits.map(|limits| (limits.lower, limits.upper)),
            signal: case.signals.first().map(|rule| match rule {
                Rule::BeyondLimit => "long gap".to_owned(),
                Rule::LongRun | Rule::FewCrossings => "run".to_owned(),
            }),
            ..Point::default()
        })
        .collect();
    let name = words::figure(measure);
    let centre = between.chart.phases.last().and_then(|phase| phase.centre);
    let usual = centre.map_or_else(String::new, |births| format!("usual {births:.0}"));
    let latest = numbers::count(*last);
    let chart = Monthly {
        id: &format!("{measure}-between"),
        title: &format!("{name}: {latest} births between the last two cases"),
        description: "Births from one case to the next, a dot for each case, with the range expected of a gap; long gaps are good",
        points: &points,
        phases: &[],
        format: Format::Narrow,
        start: Start::Zero,
        top: None,
        write: |births| numbers::count(births.max(0.0).round() as u64),
        latest: &latest,
        usual: &usual,
        target: "",
        of: "",
    };
    Ok(Some(BetweenView {
        chart: chart.svg()?,
        sentence: sentence(between),
        name,
    }))
}

fn sentence(between: &Between) -> String {
    let cases = between.births.len();
    let Some(phase) = between.chart.phases.last() else {
        return String::new();
    };
    let judged = match phase.kind {
        Kind::TooFew(_) => "too few for limits or runs",
        _ if between.chart.signals.is_empty() => "no signal: gaps as long or short as chance makes them",
        _ => "the marked gaps are not what the first twelve lead one to expect",
    };
    format!("{} gaps; {judged}. Long gaps are good.", numbers::count(cases as u64))
}
