//! The rows of a table of lines, each with the line it stands on.

use super::HEADER;
use crate::nearest::nearest;
use crate::protocol::lines::{LAST_WEEK, Row};
use crate::protocol::{micro, seconds};

/// Completed weeks a table may begin with.
const FIRST_WEEK: i64 = 20;
/// Four weeks: no line bends later.
const LAST_AGE_H: f64 = 672.0;
/// The highest value that is believed, umol/L.
const MOST_UMOL_L: f64 = 1000.0;

/// A row, and its line in the file, counted from 1.
#[derive(Clone, Debug)]
pub(super) struct NumberedRow {
    pub line: usize,
    pub row: Row,
}

/// Reads all rows; `known` are the standards that the protocol knows in this file.
///
/// # Errors
/// Names the line, and what cannot be read there.
pub(super) fn rows(text: &str, known: &[&str]) -> Result<Vec<NumberedRow>, String> {
    let mut lines = (1..).zip(text.trim_start_matches('\u{feff}').lines());
    let header = lines.next().map_or("", |(_, header)| header);
    if cells(header).join(",") != HEADER {
        return Err(format!("line 1: the header is '{}', not\n    {HEADER}", header.trim()));
    }
    let mut rows = Vec::new();
    for (line, text) in lines.filter(|(_, text)| !text.trim().is_empty()) {
        let row = row(text, known).map_err(|why| format!("line {line}: {why}"))?;
        rows.push(NumberedRow { line, row });
    }
    Ok(rows)
}

fn cells(line: &str) -> Vec<&str> {
    line.split(',').map(str::trim).collect()
}

fn row(line: &str, known: &[&str]) -> Result<Row, String> {
    let cells = cells(line);
    let &[standard, weeks, risk, age_h, phototherapy, exchange] = cells.as_slice() else {
        return Err(format!("{} cells instead of 6", cells.len()));
    };
    if !known.contains(&standard) {
        let near = nearest(standard, known.iter().copied());
        let meant = near.map_or_else(String::new, |near| format!(" (did you mean '{near}'?)"));
        return Err(format!(
            "standard '{standard}' is of no version that names this table{meant}; there: {}",
            known.join(", ")
        ));
    }
    if !["any", "absent", "present"].contains(&risk) {
        return Err(format!("risk '{risk}' is not any, absent or present"));
    }
    let weeks = weeks.parse().ok().filter(|w| (FIRST_WEEK..=LAST_WEEK).contains(w));
    let weeks =
        weeks.ok_or_else(|| format!("gestation_weeks is not a whole number from {FIRST_WEEK} to {LAST_WEEK}"))?;
    let age_h = number("age_h", age_h, |age| (0.0..=LAST_AGE_H).contains(&age), "0 to 672")?;
    let is_value = |value: f64| value > 0.0 && value <= MOST_UMOL_L;
    let value = |name, text| number(name, text, is_value, "above 0 and no more than 1000").map(micro);
    Ok(Row {
        standard: standard.to_owned(),
        weeks,
        risk: risk.to_owned(),
        age_s: seconds(age_h),
        phototherapy_micro: value("phototherapy_umol_l", phototherapy)?,
        exchange_micro: value("exchange_umol_l", exchange)?,
    })
}

fn number(name: &str, text: &str, is_allowed: impl Fn(f64) -> bool, allowed: &str) -> Result<f64, String> {
    let number = text.parse().map_err(|_| format!("{name} '{text}' is not a number"))?;
    if is_allowed(number) {
        Ok(number)
    } else {
        Err(format!("{name} {text} is not {allowed}"))
    }
}
