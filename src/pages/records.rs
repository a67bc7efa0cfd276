//! What the page says of the records behind its figures: what became of the rows, what
//! was found wrong with them, which codes no table wanted, and which figures have moved.

use std::collections::BTreeSet;

use serde::Serialize;

use crate::queries::catalogue::Query;

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
    pub findings: Vec<FindingRow>,
    /// Codes that no table wanted, the most frequent first.
    pub unmapped: Vec<UnmappedRow>,
    /// Figures of the month that have moved since they were reported as final.
    pub restated: Vec<RestatedRow>,
    /// Fast rises between two tests of one kind in the month, where the protocol names a rate.
    pub rises: Vec<RiseRow>,
    /// Births in the warehouse.
    pub births: u64,
    /// Bilirubin results in it, screens and serum.
    pub results: u64,
}

/// Months of which a table was only half delivered: of those a measure needs, or of any.
pub fn half_delivered(findings: &[FindingRow], query: Option<&Query>) -> BTreeSet<String> {
    let needs = query.map(|query| query.header.list("needs"));
    let of_days = findings
        .iter()
        .filter(|finding| finding.check == "half_delivered_months");
    let of_measure = of_days.filter(|f| needs.as_ref().is_none_or(|needs| needs.contains(&f.about.as_str())));
    of_measure.map(|finding| finding.month.clone()).collect()
}

/// Fast rises between tests of one table.
#[derive(Clone, Debug, Serialize)]
pub struct RiseRow {
    /// screens or serum.
    pub table: String,
    /// How many rises.
    pub rises: i64,
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

/// One finding of a check of the records.
#[derive(Clone, Debug, Serialize)]
pub struct FindingRow {
    /// Name of the check.
    pub check: String,
    /// What the check looks for.
    pub title: String,
    /// The table, unit, meter or file it is about.
    pub about: String,
    /// The month; empty for all.
    pub month: String,
    /// What was found.
    pub found: String,
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

/// A figure as it was at some load: counted, out of, and the figure.
pub type Count = (Option<i64>, Option<i64>, Option<f64>);

impl RestatedRow {
    /// A figure by its name in the results, as it was reported and as it is.
    pub fn new(measure: &str, reported: (i64, Count), now: (i64, Count), cause: &str) -> Self {
        Self {
            figure: words::figure(measure),
            told: in_words(measure, reported.1),
            told_load: reported.0,
            now: in_words(measure, now.1),
            since_load: now.0,
            cause: match cause {
                "data" => "late, corrected, withdrawn or merged rows",
                "definitions" => "the protocol or siskin's queries changed",
                _ => "rows, or the protocol or siskin's queries: both changed",
            },
        }
    }
}

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
