//! Units and groups of babies on the committee's page, over the last complete half-year.
//!
//! Half-years do not overlap: two reports never give two sums of which the difference is a few
//! babies of one unit. A table is shown only when the network's sum over the half-year may be.

use serde::Serialize;

use crate::privacy::groups::release;
use crate::privacy::shown::Shown;
use crate::queries::figures::Figure;

use super::super::words;
use super::charts::span_name;
use super::data::CommitteeData;
use super::released::{Count, half_to};
use super::rows::{CommitteeFigure, SpanRow, span_row};

/// Figures compared, and what by.
const COMPARED: [(&str, &str); 4] = [
    ("missed_referral", "unit"),
    ("missed_referral", "skin_tone"),
    ("time_to_treatment", "unit"),
    ("jaundice_readmission_", "unit"),
];

/// With more units only the first figure is shown by unit.
const MOST_UNITS: usize = 6;

/// One table.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(super) struct GroupsTable {
    /// `Missed referral by unit, Jan to Jun 26`.
    pub title: String,
    /// Name of the first column.
    pub by: String,
    /// A row for each group.
    pub rows: Vec<SpanRow>,
    #[serde(skip)]
    pub measure: String,
    #[serde(skip)]
    pub split: String,
    #[serde(skip)]
    pub counts: Vec<(String, Shown<Count>)>,
}

/// The tables that may be shown.
pub(super) fn tables(figures: &[CommitteeFigure<'_>], data: &CommitteeData<'_>) -> Vec<GroupsTable> {
    let half = half_to(data.month);
    if half.0 < data.first {
        return Vec::new();
    }
    let found = COMPARED.iter().filter_map(|(stem, split)| {
        let one = figures.iter().find(|one| words::is_named(one.measure, stem))?;
        one.released.shown(half)?.value()?;
        table(one.measure, split, data)
    });
    let mut tables: Vec<GroupsTable> = found.collect();
    // With many units the page has room for one table of them.
    let is_long = |table: &GroupsTable| table.split == "unit" && table.rows.len() > MOST_UNITS;
    let mut long = 0;
    tables.retain(|table| {
        long += usize::from(is_long(table));
        !is_long(table) || long == 1
    });
    tables
}

fn table(measure: &str, split: &str, data: &CommitteeData<'_>) -> Option<GroupsTable> {
    let is_own = |f: &&Figure| f.measure == measure && f.split == split && f.denominator.is_some_and(|of| of > 0);
    let own: Vec<&Figure> = data.half_groups.iter().filter(is_own).collect();
    if own.len() < 2 {
        return None;
    }
    let counts: Vec<Count> = own
        .iter()
        .map(|f| (f.numerator.unwrap_or(0), f.denominator.unwrap_or(0)))
        .collect();
    let released = release(&counts, data.hide_below)?;
    if !released.contains(&true) {
        return None;
    }
    let counts: Vec<(String, Shown<Count>)> = own
        .iter()
        .zip(counts.iter().zip(released))
        .map(|(figure, (count, is_released))| (figure.group.clone(), Shown::when(is_released, || *count)))
        .collect();
    let by = words::column(split);
    Some(GroupsTable {
        title: format!("{} by {by}, {}", words::figure(measure), span_name(half_to(data.month))),
        by,
        rows: counts
            .iter()
            .zip(&own)
            .map(|((name, shown), figure)| span_row(measure, name.clone(), Some(*shown), Some(figure)))
            .collect(),
        measure: measure.to_owned(),
        split: split.to_owned(),
        counts,
    })
}
