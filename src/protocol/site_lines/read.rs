//! The rows of a table of lines, each with the line it stands on.

use super::unfit::{Unfit, unfit};
use crate::nearest::nearest;
use crate::protocol::concentration::UMOL_L_PER_MG_DL;
use crate::protocol::lines::{LAST_WEEK, Row};
use crate::protocol::units::{micro, seconds};

/// The columns of a table, as its first line.
pub const HEADER: &str = "standard,gestation_weeks,risk,age_h,phototherapy_umol_l,exchange_umol_l";

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
pub(super) fn rows(text: &str, known: &[&str]) -> Result<Vec<NumberedRow>, Unfit> {
    let mut lines = (1..).zip(text.trim_start_matches('\u{feff}').lines());
    let header = lines.next().map_or("", |(_, header)| header);
    if cells(header).join(",") != HEADER {
        let to_do = match header.contains([';', '\t']) {
            true => "separate the columns by commas, and write decimals with a point",
            false => "name the columns so, in this order",
        };
        return Err(unfit(
            format!("line 1: the header is '{}', not\n    {HEADER}", header.trim()),
            to_do,
        ));
    }
    let mut rows = Vec::new();
    for (line, text) in lines.filter(|(_, text)| !text.trim().is_empty()) {
        let row = row(text, known).map_err(|of_row| unfit(format!("line {line}: {}", of_row.what), of_row.to_do))?;
        rows.push(NumberedRow { line, row });
    }
    Ok(rows)
}

fn cells(line: &str) -> Vec<&str> {
    line.split(',').map(|cell| unquoted(cell.trim())).collect()
}

/// A cell without the quotes that some programs put around texts.
fn unquoted(cell: &str) -> &str {
    let inside = cell.strip_prefix('"').and_then(|rest| rest.strip_suffix('"'));
    inside.unwrap_or(cell)
}

fn row(line: &str, known: &[&str]) -> Result<Row, Unfit> {
    let cells = cells(line);
    let &[standard, weeks, risk, age_h, phototherapy, exchange] = cells.as_slice() else {
        return Err(unfit(
            format!("{} cells instead of 6", cells.len()),
            "write six cells separated by commas, and decimals with a point (128.5)",
        ));
    };
    if !known.contains(&standard) {
        let near = nearest(standard, known.iter().copied());
        let meant = near.map_or_else(String::new, |near| format!(" (did you mean '{near}'?)"));
        return Err(unfit(
            format!("standard '{standard}' is of no version that names this table{meant}"),
            format!("write it as the versions do in [version.line]: {}", known.join(", ")),
        ));
    }
    if !["any", "absent", "present"].contains(&risk) {
        return Err(unfit(
            format!("risk '{risk}' is not any, absent or present"),
            "write any in every row, or absent and present for lines without and with risk",
        ));
    }
    let weeks = weeks.parse().ok().filter(|w| (FIRST_WEEK..=LAST_WEEK).contains(w));
    let weeks = weeks.ok_or_else(|| {
        unfit(
            format!("gestation_weeks is not a whole number from {FIRST_WEEK} to {LAST_WEEK}"),
            "write completed weeks without days, such as 38",
        )
    })?;
    let is_age = |age| (0.0..=LAST_AGE_H).contains(&age);
    let age_h = number("age_h", age_h, is_age, "0 to 672")
        .map_err(|what| unfit(what, "write the age in hours, from 0 to 672"))?;
    let is_value = |value: f64| value > 0.0 && value <= MOST_UMOL_L;
    let value = |name, text| {
        let value = number(name, text, is_value, "above 0 and no more than 1000").map(micro);
        let to_do = format!("write the line in umol/L (1 mg/dL is {UMOL_L_PER_MG_DL} umol/L)");
        value.map_err(|what| unfit(what, to_do))
    };
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
