//! What the page says of the records behind its figures: what became of the rows, what
//! was found wrong with them, which codes no table wanted, and which figures have moved.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use crate::queries::catalogue::Query;
use crate::queries::history::Restated;
use crate::queries::quality::Finding;

use super::figure_row;
use super::words;

/// Everything a page says of the records.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Records {
    /// Of the newest load, by table.
    pub ledger: Vec<LedgerRow>,
    /// Rows in no table, by table and reason.
    pub to_mend: Vec<MendRow>,
    /// What the checks of the records found.
    pub findings: Vec<Finding>,
    /// Codes that no table wanted, the most frequent first.
    pub unmapped: Vec<UnmappedRow>,
    /// Figures of the month that have moved since they were reported as final.
    pub restated: Vec<RestatedRow>,
    /// Fast rises between two tests of one kind in the month, where the protocol names a rate.
    pub rises: Vec<RiseRow>,
    /// Cases of the month that rest on risk factors that were not recorded.
    pub unknown_risk: Vec<UnknownRiskRow>,
    /// Births in the warehouse.
    pub births: u64,
    /// Bilirubin results in it, screens and serum.
    pub results: u64,
}

/// Months of which a table was only half delivered: of those a measure needs, or of any.
pub fn half_delivered(findings: &[Finding], query: Option<&Query>) -> BTreeSet<String> {
    let needs = query.map(|query| query.header.list("needs"));
    let of_days = findings
        .iter()
        .filter(|finding| finding.check == "half_delivered_months");
    let of_measure = of_days.filter(|f| needs.as_ref().is_none_or(|needs| needs.contains(&f.about.as_str())));
    of_measure.map(|finding| finding.month.clone()).collect()
}

/// Fast rises between tests of one table; a row of the listing `rises_of_month`.
#[derive(Clone, Debug, Deserialize, Serialize)]
pub struct RiseRow {
    /// screens or serum.
    #[serde(rename(deserialize = "test_table"))]
    pub table: String,
    /// How many rises.
    pub rises: i64,
    /// Of how many babies.
    pub babies: i64,
}

/// Cases judged though risk factors were not recorded; a row of the listing `unknown_risk`.
#[derive(Clone, Debug, Deserialize, Serialize)]
pub struct UnknownRiskRow {
    /// tests or rechecks.
    pub what: String,
    /// absent, present or left_out.
    pub judged_as: String,
    /// How many cases.
    pub cases: i64,
    /// Of how many babies.
    pub babies: i64,
}

/// One table's rows in a load.
#[derive(Clone, Debug, Serialize)]
pub struct LedgerRow {
    /// Which table.
    pub table: String,
    /// Rows read.
    pub rows_in: i64,
    /// By fate, in the order of the ledger.
    pub fates: Vec<i64>,
}

/// Rows set aside or held for one reason.
#[derive(Clone, Debug, Serialize)]
pub struct MendRow {
    /// Which table.
    pub table: String,
    /// Why.
    pub reason: String,
    /// What to do.
    pub remedy: String,
    /// How many.
    pub n: u64,
}

/// One code that no table wanted.
#[derive(Clone, Debug, Serialize)]
pub struct UnmappedRow {
    /// Its code system, or the columns a source chooses rows by.
    pub system: String,
    /// The code, with its words.
    pub code: String,
    /// How many records carried it.
    pub records: u64,
}

/// One figure that was reported as final and has changed since.
#[derive(Clone, Debug, Serialize)]
pub struct RestatedRow {
    /// In words.
    pub figure: String,
    /// As it was first reported as final.
    pub told: String,
    /// The load that reported it so.
    pub told_load: i64,
    /// As it is.
    pub now: String,
    /// The last load that moved it.
    pub since_load: i64,
    /// Why, in words.
    pub cause: &'static str,
}

impl RestatedRow {
    /// A figure as it was reported and as it is.
    pub fn new(row: &Restated) -> Self {
        let told = (row.told_numerator, row.told_denominator, row.told_value);
        let now = (row.now_numerator, row.now_denominator, row.now_value);
        Self {
            figure: words::figure(&row.measure),
            told: in_words(&row.measure, told),
            told_load: row.told_load,
            now: in_words(&row.measure, now),
            since_load: row.since_load,
            cause: match row.cause.as_str() {
                "data" => "late, corrected, withdrawn or merged rows",
                "definitions" => "the protocol or siskin's queries changed",
                _ => "rows, or the protocol or siskin's queries: both changed",
            },
        }
    }
}

/// Counted, out of, and the figure.
type Count = (Option<i64>, Option<i64>, Option<f64>);

fn in_words(measure: &str, (numerator, denominator, value): Count) -> String {
    let (Some(n), Some(of)) = (numerator, denominator) else {
        return "no data".to_owned();
    };
    let cases = u64::try_from(of).unwrap_or(0);
    let figure = match value {
        None => String::new(),
        Some(value) => format!("{}, ", figure_row::value(measure, value, cases)),
    };
    format!("{figure}{n} of {of}")
}
