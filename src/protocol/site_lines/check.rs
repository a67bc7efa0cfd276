//! Whether the rows of one standard are a complete table.

use std::collections::{BTreeMap, BTreeSet};

use super::read::NumberedRow;
use super::unfit::{Unfit, unfit};
use crate::protocol::concentration::UMOL_L_PER_MG_DL;
use crate::protocol::file::Version;
use crate::protocol::units::micro;

/// A table whose highest line is below this is one in mg/dL: common practice, as plateaus lie at
/// 100 umol/L and more, also for the youngest.
const HIGHEST_LINE_AT_LEAST_UMOL_L: f64 = 60.0;

/// Checks the rows of the version's standard.
///
/// # Errors
/// Says what is missing, or names the line that cannot hold.
pub(super) fn check(rows: &[NumberedRow], version: &Version) -> Result<(), Unfit> {
    let standard = &version.line.standard;
    let mut by_line: BTreeMap<(i64, &str), Vec<&NumberedRow>> = BTreeMap::new();
    for row in rows {
        by_line.entry((row.row.weeks, &row.row.risk)).or_default().push(row);
    }
    let weeks: BTreeSet<i64> = by_line.keys().map(|(week, _)| *week).collect();
    let (Some(first), Some(last)) = (weeks.first(), weeks.last()) else {
        return Err(unfit(
            format!("it has no row of standard '{standard}'"),
            format!("add the rows of '{standard}', or mend the standard in [version.line]"),
        ));
    };
    if let Some(week) = (*first..=*last).find(|week| !weeks.contains(week)) {
        return Err(unfit(
            format!("gestation {week} weeks is missing, between {first} and {last}"),
            "add its rows: every week from the first to the last needs its own",
        ));
    }
    let highest_micro = rows.iter().map(|row| row.row.phototherapy_micro).max().unwrap_or(0);
    if highest_micro < micro(HIGHEST_LINE_AT_LEAST_UMOL_L) {
        return Err(unfit(
            format!("its highest treatment line is {} umol/L", highest_micro as f64 / 1e6),
            format!("give the values in umol/L, not in mg/dL: multiply these by {UMOL_L_PER_MG_DL}"),
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
) -> Result<(), Unfit> {
    let of_table: BTreeSet<&str> = by_line.keys().map(|(_, risk)| *risk).collect();
    let has_risks = !of_table.contains("any");
    if !has_risks && of_table.len() > 1 {
        return Err(unfit(
            "it mixes risk any with absent or present",
            "use any in every row, or for each week absent and again present",
        ));
    }
    let wanted: &[&str] = if has_risks { &["absent", "present"] } else { &["any"] };
    for week in weeks {
        if let Some(risk) = wanted.iter().find(|risk| !by_line.contains_key(&(*week, **risk))) {
            return Err(unfit(
                format!("at gestation {week} weeks the rows with risk {risk} are missing"),
                "add them: for each week there are rows with risk absent, and again with present",
            ));
        }
    }
    match (has_risks, version.line.risk_factors.is_empty()) {
        (true, true) => Err(unfit(
            format!(
                "it has lines for risk absent and present, but line.risk_factors of version '{}' does not say what is a risk",
                version.name
            ),
            "list the risk factors there, or use risk any in every row",
        )),
        (false, false) => Err(unfit(
            format!(
                "line.risk_factors of version '{}' says what is a risk, but the table has lines for risk any only",
                version.name
            ),
            "give rows with risk absent and again with present, or leave line.risk_factors out",
        )),
        _ => Ok(()),
    }
}

/// What to do about rows in another order.
const SORT: &str = "put the rows of each line in the order of age: sort the file by gestation_weeks, risk and age_h";

/// The rows of one week and risk, in the order of the file.
fn check_line(rows: &[&NumberedRow]) -> Result<(), Unfit> {
    if let Some(row) = rows.iter().find(|r| r.row.exchange_micro < r.row.phototherapy_micro) {
        return Err(unfit(
            format!("line {}: the exchange line is below the treatment line", row.line),
            "see whether the two values have changed places",
        ));
    }
    if let Some(first) = rows.first().filter(|first| first.row.age_s != 0) {
        let to_do = match rows.iter().any(|row| row.row.age_s == 0) {
            true => SORT,
            false => "add the row of age 0",
        };
        let what = format!(
            "line {}: the rows of {} do not begin at age 0",
            first.line,
            whose(first)
        );
        return Err(unfit(what, to_do));
    }
    rows.windows(2).try_for_each(|pair| follows(pair[0], pair[1]))
}

fn whose(row: &NumberedRow) -> String {
    format!("gestation {} weeks, risk {}", row.row.weeks, row.row.risk)
}

/// Whether a row of a line may follow another.
fn follows(before: &NumberedRow, after: &NumberedRow) -> Result<(), Unfit> {
    let hours = |row: &NumberedRow| row.row.age_s as f64 / 3600.0;
    let umol_l = |micro: i64| micro as f64 / 1e6;
    let at = |what: String| format!("line {}: {what} ({})", after.line, whose(after));
    let (from, to) = (&before.row, &after.row);
    if to.age_s == from.age_s {
        let what = at(format!(
            "age {} h stands twice, also in line {}",
            hours(after),
            before.line
        ));
        return Err(unfit(what, "keep one of the two rows"));
    }
    if to.age_s < from.age_s {
        let what = at(format!(
            "age {} h stands after {} h in line {}",
            hours(after),
            hours(before),
            before.line
        ));
        return Err(unfit(what, SORT));
    }
    for (name, from, to) in [
        ("treatment", from.phototherapy_micro, to.phototherapy_micro),
        ("exchange", from.exchange_micro, to.exchange_micro),
    ] {
        if to < from {
            let what = at(format!(
                "the {name} line falls with age, from {} to {} umol/L",
                umol_l(from),
                umol_l(to)
            ));
            return Err(unfit(
                what,
                "compare both rows with the published table: a line never falls with age",
            ));
        }
    }
    Ok(())
}
