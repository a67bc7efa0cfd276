//! Units against each other, as the page shows it.

use serde::Serialize;

use crate::charts::Format;
use crate::charts::axis::Start;
use crate::charts::funnel::{self, Funnel, Limits};
use crate::queries::header::Better;
use crate::signals::units::{Unit, Units};
use crate::statistics::comparison::exact_limits::Level;
use crate::statistics::comparison::funnel::Side;

use super::figure_row::write_of;
use super::{PageError, numbers, words};

/// The funnel of one figure.
#[derive(Clone, Debug, Serialize)]
pub struct UnitsView {
    /// The chart, an SVG element.
    pub chart: String,
    /// Units beyond a limit, a sentence; empty when there is none.
    pub beyond: String,
    /// A row for each unit.
    pub rows: Vec<UnitRow>,
    /// Probability of differences so large, did all units share one figure.
    pub p: String,
}

/// One unit.
#[derive(Clone, Debug, Serialize)]
pub struct UnitRow {
    /// Its name.
    pub name: String,
    /// `9 of 112`.
    pub count: String,
    /// Its share.
    pub value: String,
    /// Its share with the network's mix of gestations, and the interval.
    pub standardised: String,
    /// The limit it lies beyond, or empty.
    pub beyond: String,
}

/// The view of a funnel.
///
/// # Errors
/// When the chart cannot be drawn.
pub(super) fn view(units: &Units) -> Result<UnitsView, PageError> {
    let drawn: Vec<funnel::Unit> = units
        .units
        .iter()
        .map(|unit| funnel::Unit {
            name: unit.name.clone(),
            denominator: unit.cases as f64,
            value: unit.value,
            signal: Some(beyond(unit)).filter(|word| !word.is_empty()),
        })
        .collect();
    let limits: Vec<Limits> = units
        .limits
        .iter()
        .map(|(cases, inner, outer)| Limits {
            denominator: *cases as f64,
            inner: (inner.lower, inner.upper),
            outer: (outer.lower, outer.upper),
        })
        .collect();
    let name = words::figure(&units.measure);
    let cases: u64 = units.units.iter().map(|unit| unit.cases).sum();
    let outside: Vec<String> = units
        .units
        .iter()
        .filter(|unit| unit.beyond.is_some())
        .map(|unit| format!("{} {}", unit.name, beyond(unit)))
        .collect();
    let sentence = match outside.is_empty() {
        true => String::new(),
        false => format!("Units outside the funnel over twelve months: {}.", outside.join(", ")),
    };
    let chart = Funnel {
        id: &format!("{}-units", units.measure),
        title: &format!("{name} by unit, twelve months"),
        description: "Each unit by its number of cases and its share, with the limits within which 95 % and 99.8 % of units would lie by chance; the numbers are in the table below",
        units: &drawn,
        limits: &limits,
        centre: Some(units.centre),
        centre_label: &format!("network {}", numbers::percent(units.centre, cases)),
        format: Format::Narrow,
        start: if units.centre > 0.5 { Start::Data } else { Start::Zero },
        write: write_of(&units.measure),
        of: words::cases(&units.measure),
    };
    Ok(UnitsView {
        chart: chart.svg()?,
        beyond: sentence,
        rows: units.units.iter().map(row).collect(),
        p: numbers::p_value(units.heterogeneity_p),
    })
}

/// Whether a unit lies beyond a limit on the side that is worse, where one is.
pub(super) fn is_worse(unit: &Unit, better: Option<Better>) -> bool {
    unit.beyond.is_some_and(|beyond| {
        matches!(
            (beyond.side, better),
            (Side::Above, Some(Better::Lower)) | (Side::Below, Some(Better::Higher))
        )
    })
}

/// `above 95 %`, or empty.
pub(super) fn beyond(unit: &Unit) -> String {
    let Some(beyond) = unit.beyond else {
        return String::new();
    };
    let side = match beyond.side {
        Side::Above => "above",
        Side::Below => "below",
    };
    let level = match beyond.level {
        Level::Warning => "95 %",
        Level::Action => "99.8 %",
    };
    format!("{side} {level}")
}

fn row(unit: &Unit) -> UnitRow {
    let standardised = unit.standardised.map(|(value, interval)| {
        format!(
            "{} ({})",
            numbers::percent(value, unit.cases),
            numbers::percent_interval(interval, unit.cases)
        )
    });
    UnitRow {
        name: unit.name.clone(),
        count: format!("{} of {}", numbers::count(unit.events), numbers::count(unit.cases)),
        value: numbers::percent(unit.value, unit.cases),
        standardised: standardised.unwrap_or_default(),
        beyond: beyond(unit),
    }
}
