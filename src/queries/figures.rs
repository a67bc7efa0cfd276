//! The result rows: one figure of one month, of the whole network, a unit or another group.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

pub use super::figure_kind::Quantity;

/// One row of `measures.json`; of `measures.csv` with a column per outcome and reason.
///
/// `value`, `lower` and `upper` are shares from 0 to 1, hours for a median, cases for each
/// thousand births for severe jaundice, or umol/L for the bias of the meter and its limits. A month without data has neither numerator, denominator nor value.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Figure {
    /// Name of the figure.
    pub measure: String,
    /// `YYYY-MM` of the index event.
    pub month: String,
    /// `all`, or the column that splits.
    pub split: String,
    /// `all`, or the value of that column.
    pub group: String,
    /// Counted.
    pub numerator: Option<u64>,
    /// Out of.
    pub denominator: Option<u64>,
    /// The figure.
    pub value: Option<f64>,
    /// Lower end of its 95 % interval.
    pub lower: Option<f64>,
    /// Upper end of its 95 % interval.
    pub upper: Option<f64>,
    /// By how much a group's share differs from that of all other groups together.
    pub difference: Option<f64>,
    /// Lower end of that difference's 95 % interval.
    pub difference_lower: Option<f64>,
    /// Upper end of that difference's 95 % interval.
    pub difference_upper: Option<f64>,
    /// Counts by outcome.
    pub outcomes: BTreeMap<String, u64>,
    /// Counts of what is in no rate, by reason.
    pub left_out: BTreeMap<String, u64>,
    /// Not yet decidable at data end.
    pub open: u64,
    /// The month may still change.
    pub provisional: bool,
    /// The protocol versions in force in the month.
    pub protocol: String,
    /// The load it was measured from.
    pub load: i64,
}

/// Of a month's cases, so many in a hundred may be open and it is judged all the same.
const OPEN_PERCENT: u64 = 10;

impl Figure {
    /// Whether the month may still change by much: it is provisional, or more than one in ten of its
    /// cases are open (common practice). Open cases are in no rate whether answered or not, so a few of
    /// them, as those of a month's last days, bend it to neither side.
    pub fn may_still_change(&self) -> bool {
        let cases = self.denominator.unwrap_or_default() + self.open;
        self.provisional || 100 * self.open > OPEN_PERCENT * cases
    }
}

/// Writes figures as an array of JSON objects, one on each line.
///
/// # Errors
/// Never for figures as the program makes them.
pub fn to_json(figures: &[Figure]) -> Result<String, serde_json::Error> {
    let lines: Vec<String> = figures.iter().map(serde_json::to_string).collect::<Result<_, _>>()?;
    Ok(match lines.is_empty() {
        true => "[]\n".to_owned(),
        false => format!("[\n{}\n]\n", lines.join(",\n")),
    })
}

/// Writes figures as CSV: outcomes and reasons become columns, sorted by name.
pub fn to_csv(figures: &[Figure]) -> String {
    let names = |of: fn(&Figure) -> &BTreeMap<String, u64>| -> Vec<&str> {
        let mut all: Vec<&str> = figures.iter().flat_map(|f| of(f).keys()).map(String::as_str).collect();
        all.sort_unstable();
        all.dedup();
        all
    };
    let outcomes = names(|f| &f.outcomes);
    let reasons = names(|f| &f.left_out);
    let mut header: Vec<String> = [
        "measure",
        "month",
        "split",
        "group",
        "numerator",
        "denominator",
        "value",
        "lower",
        "upper",
        "difference",
        "difference_lower",
        "difference_upper",
        "open",
        "provisional",
        "protocol",
        "load",
    ]
    .map(str::to_owned)
    .to_vec();
    header.extend(outcomes.iter().map(|name| format!("outcome_{name}")));
    header.extend(reasons.iter().map(|name| format!("left_out_{name}")));
    let mut text = header.join(",");
    text.push('\n');
    for f in figures {
        let mut cells = vec![
            quoted(&f.measure),
            quoted(&f.month),
            quoted(&f.split),
            quoted(&f.group),
            maybe(f.numerator),
            maybe(f.denominator),
            maybe(f.value),
            maybe(f.lower),
            maybe(f.upper),
            maybe(f.difference),
            maybe(f.difference_lower),
            maybe(f.difference_upper),
            f.open.to_string(),
            f.provisional.to_string(),
            quoted(&f.protocol),
            f.load.to_string(),
        ];
        cells.extend(outcomes.iter().map(|name| maybe(f.outcomes.get(*name))));
        cells.extend(reasons.iter().map(|name| maybe(f.left_out.get(*name))));
        text.push_str(&cells.join(","));
        text.push('\n');
    }
    text
}

fn maybe<T: ToString>(value: Option<T>) -> String {
    value.map_or_else(String::new, |v| v.to_string())
}

/// Quotes a cell where it must be (RFC 4180). A cell that a spreadsheet would
/// take for a formula gets an apostrophe in front.
pub fn quoted(text: &str) -> String {
    let safe = if text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{text}")
    } else {
        text.to_owned()
    };
    if safe.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", safe.replace('"', "\"\""))
    } else {
        safe
    }
}
