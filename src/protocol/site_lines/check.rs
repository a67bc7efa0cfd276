//! Whether the rows of one standard are a complete table.

use std::collections::{BTreeMap, BTreeSet};

use super::read::NumberedRow;
use crate::protocol::file::Version;
use crate::protocol::micro;

/// A table whose highest line is below this is one in mg/dL: common practice, as plateaus lie at
/// 100 umol/L and more, also for the youngest.
const HIGHEST_LINE_AT_LEAST_UMOL_L: f64 = 60.0;

/// Checks the rows of the version's standard.
///
/// # Errors
/// Says what is missing, or names the line that cannot hold.
pub(super) fn check(rows: &[NumberedRow], version: &Version) -> Result<(), String> {
    let standard = &version.line.standard;
    let mut by_line: BTreeMap<(i64, &str), Vec<&NumberedRow>> = BTreeMap::new();
    for row in rows {
        by_line.entry((row.row.weeks, &row.row.risk)).or_default().push(row);
    }
    let weeks: BTreeSet<i64> = by_line.keys().map(|(week, _)| *week).collect();
    let (Some(first), Some(last)) = (weeks.first(), weeks.last()) else {
        return Err(format!("it has no row of standard '{standard}'"));
    };
    if let Some(week) = (*first..=*last).find(|week| !weeks.contains(week)) {
        return Err(format!("{week} weeks are missing between {first} and {last}"));
    }
    let highest_micro = rows.iter().map(|row| row.row.phototherapy_micro).max().unwrap_or(0);
    if highest_micro < micro(HIGHEST_LINE_AT_LEAST_UMOL_L) {
        return Err(format!(
            "its highest treatment line is {} umol/L: give the values in umol/L, not in mg/dL",
            highest_micro as f64 / 1e6
        ));
    }
    check_risks(&by_line, &weeks, version)?;
    by_line.values().try_for_each(|rows| check_line(rows))
}

/// Either `any` alone, or both others, for all weeks alike; and risk only where it is defined.
fn check_risks(
    by_line: &BTreeMap<(i64, &str), Vec<&NumberedRow>>,
    weeks: &BTreeSet<i64>,
    version: &Version,
) -> Result<(), String> {
    let of_table: BTreeSet<&str> = by_line.keys().map(|(_, risk)| *risk).collect();
    let has_risks = !of_table.contains("any");
    if !has_risks && of_table.len() > 1 {
        return Err("it mixes risk any with absent or present: use either any alone, or both others".into());
    }
    let wanted: &[&str] = if has_risks { &["absent", "present"] } else { &["any"] };
    for week in weeks {
        if let Some(risk) = wanted.iter().find(|risk| !by_line.contains_key(&(*week, **risk))) {
            return Err(format!("at {week} weeks the rows with risk {risk} are missing"));
        }
    }
    match (has_risks, version.line.risk_factors.is_empty()) {
        (true, true) => Err(format!(
            "it has lines for risk absent and present, but line.risk_factors of version '{}' does not say what is a risk",
            version.name
        )),
        (false, false) => Err(format!(
            "line.risk_factors of version '{}' says what is a risk, but the table has lines for risk any only",
            version.name
        )),
        _ => Ok(()),
    }
}

/// The rows of one week and risk, in the order of the file.
fn check_line(rows: &[&NumberedRow]) -> Result<(), String> {
    let whose = |row: &NumberedRow| format!("{} weeks, risk {}", row.row.weeks, row.row.risk);
    if let Some(first) = rows.first().filter(|first| first.row.age_s != 0) {
        return Err(format!(
            "line {}: the rows of {} do not begin at age 0",
            first.line,
            whose(first)
        ));
    }
    if let Some(row) = rows.iter().find(|r| r.row.exchange_micro < r.row.phototherapy_micro) {
        return Err(format!(
            "line {}: the exchange line is below the treatment line",
            row.line
        ));
    }
    for pair in rows.windows(2) {
        let (before, after) = (&pair[0].row, &pair[1].row);
        let falls = if after.age_s <= before.age_s {
            "age_h is not above that of the row before"
        } else if after.phototherapy_micro < before.phototherapy_micro {
            "the treatment line falls with age"
        } else if after.exchange_micro < before.exchange_micro {
            "the exchange line falls with age"
        } else {
            continue;
        };
        return Err(format!("line {}: {falls} ({})", pair[1].line, whose(pair[1])));
    }
    Ok(())
}
