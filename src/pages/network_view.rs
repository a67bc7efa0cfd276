//! All units on one page: the figures that matter most, over twelve months.

use serde::Serialize;

use crate::queries::figures::Figure;
use crate::signals::units::AllUnits;

use super::figure_row::row;
use super::{units_view, words};

/// Figures shown of each unit side by side, in the order of the columns; see [`words::is_named`].
const HEADLINES: [&str; 7] = [
    "screening_coverage",
    "missed_referral",
    "referral_in_time",
    "time_to_treatment",
    "recheck_adherence_rebound",
    "jaundice_readmission_",
    "meter_checks",
];

/// The units side by side.
#[derive(Clone, Debug, Default, Serialize)]
pub(super) struct NetworkView {
    /// Names of the figures.
    pub columns: Vec<Column>,
    /// A row for each unit, and the network's at the end.
    pub rows: Vec<UnitLine>,
}

/// A figure.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Column {
    /// Where the page says more.
    pub id: String,
    /// In words.
    pub name: String,
}

/// One unit.
#[derive(Clone, Debug, Serialize)]
pub(super) struct UnitLine {
    /// Its name.
    pub name: String,
    /// The whole network.
    pub is_network: bool,
    /// A cell for each figure.
    pub cells: Vec<UnitCell>,
}

/// One figure of one unit.
#[derive(Clone, Debug, Default, Serialize)]
pub(super) struct UnitCell {
    /// `8 %`, or empty.
    pub value: String,
    /// `9 of 112`.
    pub count: String,
    /// Where it lies outside the funnel.
    pub beyond: String,
}

/// The view of the units in figures taken together over twelve months.
pub(super) fn view(year: &[Figure], units: &AllUnits) -> NetworkView {
    let measures = headlines(year);
    let mut names: Vec<&str> = year
        .iter()
        .filter(|figure| figure.split == "unit" && measures.contains(&figure.measure.as_str()))
        .map(|figure| figure.group.as_str())
        .collect();
    // What is not known comes last.
    names.sort_by_key(|name| (*name == "unknown", *name));
    names.dedup();
    let line = |name: &str, split: &str| UnitLine {
        name: name.to_owned(),
        is_network: split == "all",
        cells: measures
            .iter()
            .map(|measure| cell(year, units, (measure, split, name)))
            .collect(),
    };
    let of_units = names.iter().map(|name| line(name, "unit"));
    NetworkView {
        rows: of_units.chain([line("all", "all")]).collect(),
        columns: measures
            .iter()
            .map(|measure| Column {
                id: (*measure).to_owned(),
                name: words::figure(measure),
            })
            .collect(),
    }
}

/// The names of the figures that matter most, of those there are.
pub(super) fn headlines(year: &[Figure]) -> Vec<&str> {
    let last_of = |stem: &&str| year.iter().rfind(|figure| words::is_named(&figure.measure, stem));
    let found = HEADLINES.iter().filter_map(last_of);
    found.map(|figure| figure.measure.as_str()).collect()
}

fn cell(year: &[Figure], units: &AllUnits, (measure, split, name): (&str, &str, &str)) -> UnitCell {
    let is_own = |figure: &&Figure| figure.measure == measure && figure.split == split && figure.group == name;
    let Some(figure) = year.iter().find(is_own) else {
        return UnitCell::default();
    };
    let row = row(figure, "", false);
    let unit = units
        .get(measure)
        .and_then(|found| found.units.iter().find(|unit| unit.name == name));
    UnitCell {
        value: row.value,
        count: row.count,
        beyond: unit
            .filter(|_| split == "unit")
            .map_or_else(String::new, units_view::beyond),
    }
}
