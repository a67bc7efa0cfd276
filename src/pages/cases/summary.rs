//! The two tables at the head of the page: cases by finding, and all babies.

use serde::Serialize;

use crate::queries::review::Case;

use super::data::CasesData;
use super::heading;
use super::sentence::title;
use super::wording::Wording;

/// Cases of one finding.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(super) struct FindingRow {
    pub(super) name: String,
    pub(super) cases: usize,
    pub(super) reviewed: usize,
}

/// One baby.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(super) struct BabyRow {
    pub(super) anchor: String,
    pub(super) infant_id: String,
    pub(super) unit: String,
    pub(super) gestation: String,
    /// Its gravest finding, and how many more.
    pub(super) gravest: String,
    /// Place of that finding in the order of review, for sorting.
    pub(super) grade: i64,
    pub(super) at: String,
    /// Seconds, for sorting.
    pub(super) at_s: i64,
    pub(super) cases: usize,
    pub(super) reviewed: usize,
}

/// The cases of each baby, babies by their gravest case.
pub(super) fn by_baby(cases: &[Case]) -> Vec<Vec<&Case>> {
    let mut all: Vec<Vec<&Case>> = Vec::new();
    let mut places = std::collections::BTreeMap::new();
    for case in cases {
        let place = *places.entry(case.infant_id.as_str()).or_insert(all.len());
        match all.get_mut(place) {
            Some(own) => own.push(case),
            None => all.push(vec![case]),
        }
    }
    all
}

/// Cases by finding, gravest first, of rechecks by rule.
pub(super) fn findings(data: &CasesData<'_>) -> Vec<FindingRow> {
    let mut rows: Vec<FindingRow> = Vec::new();
    for case in data.cases {
        let name = title(case);
        let reviewed = usize::from(data.reviews.of(&case.id).is_some());
        match rows.iter_mut().find(|row| row.name == name) {
            Some(row) => {
                row.cases += 1;
                row.reviewed += reviewed;
            }
            None => rows.push(FindingRow {
                name,
                cases: 1,
                reviewed,
            }),
        }
    }
    rows
}

/// All babies, in the order of their sections.
pub(super) fn babies(data: &CasesData<'_>, by_baby: &[Vec<&Case>]) -> Vec<BabyRow> {
    let row = |(place, cases): (usize, &Vec<&Case>)| {
        let gravest = cases.first()?;
        let baby = data.babies.get(&gravest.infant_id)?;
        let more = match cases.len() - 1 {
            0 => String::new(),
            n => format!(", and {n} more"),
        };
        Some(BabyRow {
            anchor: anchor(place),
            infant_id: baby.infant_id.clone(),
            unit: baby.unit.clone(),
            gestation: heading::gestation(baby),
            gravest: format!("{}{more}", title(gravest)),
            grade: gravest.grade,
            at: Wording::of(baby, data.zone).clock.short(gravest.at_s),
            at_s: gravest.at_s,
            cases: cases.len(),
            reviewed: cases.iter().filter(|case| data.reviews.of(&case.id).is_some()).count(),
        })
    };
    by_baby.iter().enumerate().filter_map(row).collect()
}

/// The section of the baby at a place.
pub(super) fn anchor(place: usize) -> String {
    format!("baby-{}", place + 1)
}
