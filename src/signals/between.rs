//! Births between one severe case and the next: the chart for what is too rare to count by month.
//!
//! Each case has the number of births since the one before ([`crate::statistics::control::g`]);
//! long gaps are good. The first case is left out, as it is not known when the one before it was.
//! Births since the last case are told beside, and judge nothing before the next case.

use std::collections::BTreeMap;

use serde::Deserialize;

use crate::engine::Session;
use crate::month::Month;
use crate::queries::QueryError;
use crate::queries::catalogue::listings;
use crate::statistics::control::chart::{Chart, Series};

/// The cases of one figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Between {
    /// Month of each case but the first.
    pub months: Vec<Month>,
    /// Births strictly between each of these and the case before.
    pub births: Vec<u64>,
    /// What the statistics made of them.
    pub chart: Chart,
}

/// A row of the listing `births_between`.
#[derive(Deserialize)]
struct CaseRow {
    figure: String,
    month: Month,
    births_between: u64,
}

/// By the name of the figure.
pub type AllBetween = BTreeMap<String, Between>;

/// The cases of the months from `first` to `last`, of one unit of birth or, where that is empty, of all.
///
/// # Errors
/// When the snapshot cannot be read.
pub async fn read(session: &Session, (first, last): (Month, Month), unit: &str) -> Result<AllBetween, QueryError> {
    let months = [
        ("first_month", first.to_string().into()),
        ("last_month", last.to_string().into()),
        ("unit", unit.into()),
    ];
    let mut cases: BTreeMap<String, Vec<(Month, u64)>> = BTreeMap::new();
    for row in session.rows::<CaseRow>(listings::births_between, &months).await? {
        cases
            .entry(row.figure)
            .or_default()
            .push((row.month, row.births_between));
    }
    Ok(cases
        .into_iter()
        .map(|(figure, cases)| (figure, between(&cases[1..])))
        .collect())
}

fn between(cases: &[(Month, u64)]) -> Between {
    let births: Vec<u64> = cases.iter().map(|(_, births)| *births).collect();
    Between {
        months: cases.iter().map(|(month, _)| *month).collect(),
        chart: Chart::of(Series::CasesBetween(&births), &[], &[]),
        births,
    }
}
