//! The treatment line: when a value is above it, and its values at some ages.

use std::collections::BTreeSet;

use super::phrases::{list, source};
use crate::protocol::file::{AboveWhen, Line, UnknownRisk};
use crate::protocol::lines::{LAST_WEEK, Piece};

/// Ages at which its values are shown, hours.
const AGES_H: [i64; 6] = [0, 24, 48, 72, 96, 168];

/// Columns of the cell that says for whom a line holds, and of a value.
const WIDTHS: (usize, usize) = (25, 11);

/// When a value is above the line, and for whom there is one; `pieces` are those of the line.
pub(super) fn sentences(line: &Line, pieces: &[&Piece]) -> Vec<String> {
    let when = match line.above_when {
        AboveWhen::Greater => "greater than",
        AboveWhen::AtLeast => "equal to or greater than",
    };
    let whose = match &line.table {
        None => format!("the line of {}, which ships with siskin", line.standard),
        Some(table) => format!("the line of {} in the site's own table {table}", line.standard),
    };
    let from = source(&line.source);
    let mut all = vec![format!(
        "Line: a value is above the line when it is {when} {whose}, at the baby's age and completed weeks of gestation{from}"
    )];
    if !line.risk_factors.is_empty() {
        all.push(format!(
            "Line: the lines for risk hold for a baby with {}, those without risk for all others{from}",
            list(&line.risk_factors, "or")
        ));
        let judged = match line.unknown_risk {
            UnknownRisk::Absent => "is judged by the line without risk",
            UnknownRisk::Present => "is judged by the line for risk",
            UnknownRisk::LeftOut => "has no line, and is left out",
        };
        all.push(format!(
            "Line: a baby whose risk factors are not recorded {judged}{from}"
        ));
    }
    all.push(match weeks(pieces).first() {
        None => "Line: its values are not shown, as its table has not been read.".to_owned(),
        Some((first, _)) => format!(
            "Line: below gestation {first} weeks there is no line; between two ages of its table it is straight, and flat after the last. Its values at some ages stand below."
        ),
    });
    all
}

/// Weeks of gestation with the same lines, from the first to the last.
fn weeks(pieces: &[&Piece]) -> Vec<(i64, i64)> {
    let all: BTreeSet<i64> = pieces.iter().map(|piece| piece.gestation_weeks).collect();
    let mut spans: Vec<(i64, i64)> = Vec::new();
    for week in all {
        match spans.last_mut() {
            Some((first, last)) if Piece::same_lines(pieces, *first, week) => *last = week,
            _ => spans.push((week, week)),
        }
    }
    spans
}

/// Treatment and exchange line, a row for each gestation and risk.
pub(super) fn table(pieces: &[&Piece]) -> Vec<String> {
    if pieces.is_empty() {
        return Vec::new();
    }
    let risks: BTreeSet<&str> = pieces.iter().map(|piece| piece.risk.as_str()).collect();
    let ages = AGES_H.map(|age_h| format!("{age_h} h"));
    let mut rows = vec![
        "Treatment / exchange line in whole umol/L, by gestation and age:".to_owned(),
        row("", &ages),
    ];
    for (first, last) in weeks(pieces) {
        let weeks = match last {
            LAST_WEEK => format!("{first} weeks or more"),
            _ if first == last => format!("{first} weeks"),
            _ => format!("{first} to {last} weeks"),
        };
        for risk in &risks {
            let whose = match *risk {
                "any" => weeks.clone(),
                "present" => format!("{weeks}, risk"),
                _ => format!("{weeks}, no risk"),
            };
            let values = AGES_H.map(|age_h| {
                let mut of_line = pieces.iter().filter(|p| p.gestation_weeks == first && p.risk == *risk);
                let at = of_line.find_map(|piece| piece.at(age_h * 3600));
                at.map_or_else(String::new, |[treatment, exchange]| {
                    format!("{} / {}", umol_l(treatment), umol_l(exchange))
                })
            });
            rows.push(row(&whose, &values));
        }
    }
    rows
}

fn row(whose: &str, values: &[String]) -> String {
    let cells = values.iter().map(|value| format!("{value:>width$}", width = WIDTHS.1));
    let cells: String = cells.collect();
    format!("{whose:<width$}{cells}", width = WIDTHS.0)
}

fn umol_l(micro: i64) -> f64 {
    (micro as f64 / 1e6).round()
}
