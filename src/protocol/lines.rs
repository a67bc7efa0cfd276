//! The treatment lines a protocol may name.
//!
//! Built in: NICE CG98 (`nice_cg98.csv`). From 38 weeks: the guideline's
//! threshold table, complete. Below 38 weeks: a straight line from 40 (exchange
//! 80) umol/L at birth to gestation x 10 - 100 (x 10) at 72 h, then flat; the
//! phototherapy formula and the 40 and 80 at birth are from memory, to be checked
//! against the guideline. Under 23 weeks there is no line. Gestation counts in
//! completed weeks; between tabled ages the line is straight, after the last flat.
//! A site's own tables are read by `site_lines` and laid out likewise.

use std::collections::BTreeSet;

use super::units::micro;

/// Name of the built-in standard.
pub const NICE_CG98: &str = "nice_cg98";

const NICE_CG98_CSV: &str = include_str!("nice_cg98.csv");

/// The oldest gestation a line is spelled out for; the last tabled row serves up to it.
pub(super) const LAST_WEEK: i64 = 45;

/// Whether the standard ships with the program.
pub fn is_built_in(standard: &str) -> bool {
    standard == NICE_CG98
}

/// One straight piece of a line, for ages [from, to) of one completed week of gestation.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Piece {
    /// Which standard.
    pub standard: String,
    /// Completed weeks.
    pub gestation_weeks: i64,
    /// Risk group the line is for; `any` where the standard has one line.
    pub risk: String,
    /// Age at which the piece begins, seconds.
    pub age_from_s: i64,
    /// Age at which it ends, seconds; `None` for the flat end.
    pub age_to_s: Option<i64>,
    /// Treatment line at both ends, micro-umol/L.
    pub phototherapy_micro: (i64, i64),
    /// Exchange line at both ends, micro-umol/L.
    pub exchange_micro: (i64, i64),
}

impl Piece {
    /// Treatment and exchange line at an age, micro-umol/L, where the piece holds for it.
    pub(super) fn at(&self, age_s: i64) -> Option<[i64; 2]> {
        let gone = age_s - self.age_from_s;
        let all = self.age_to_s.map(|to_s| to_s - self.age_from_s);
        if gone < 0 || all.is_some_and(|all| gone >= all) {
            return None;
        }
        let between = |(from, to): (i64, i64)| match all {
            None => from,
            Some(all) => from + (i128::from(to - from) * i128::from(gone) / i128::from(all)) as i64,
        };
        Some([between(self.phototherapy_micro), between(self.exchange_micro)])
    }

    /// Whether two weeks of gestation have the same lines, by the pieces of one standard.
    pub(super) fn same_lines(pieces: &[&Self], one: i64, other: i64) -> bool {
        let of = |week: i64| {
            let of_week = pieces.iter().filter(move |piece| piece.gestation_weeks == week);
            of_week.map(|p| {
                (
                    &p.risk,
                    p.age_from_s,
                    p.age_to_s,
                    p.phototherapy_micro,
                    p.exchange_micro,
                )
            })
        };
        of(one).eq(of(other))
    }
}

/// One row of a table of lines.
#[derive(Clone, Debug)]
pub(super) struct Row {
    pub standard: String,
    pub weeks: i64,
    pub risk: String,
    pub age_s: i64,
    pub phototherapy_micro: i64,
    pub exchange_micro: i64,
}

/// The pieces of the built-in standard, by gestation and age.
pub fn built_in() -> Vec<Piece> {
    let rows: Vec<Row> = NICE_CG98_CSV.lines().skip(1).filter_map(row).collect();
    pieces(&rows)
}

/// The pieces between rows of one standard, by gestation, risk and age. Ages ascend; the last
/// tabled week serves older ones.
pub(super) fn pieces(rows: &[Row]) -> Vec<Piece> {
    let last_tabled = rows.iter().map(|r| r.weeks).max().unwrap_or(0);
    let risks: BTreeSet<&str> = rows.iter().map(|r| r.risk.as_str()).collect();
    let mut pieces = Vec::new();
    for week in 0..=LAST_WEEK {
        for risk in &risks {
            let is_of_line = |r: &&Row| r.weeks == week.min(last_tabled) && r.risk == *risk;
            let of_line: Vec<&Row> = rows.iter().filter(is_of_line).collect();
            for (i, from) in of_line.iter().enumerate() {
                let to = of_line.get(i + 1).unwrap_or(from);
                pieces.push(Piece {
                    standard: from.standard.clone(),
                    gestation_weeks: week,
                    risk: from.risk.clone(),
                    age_from_s: from.age_s,
                    age_to_s: of_line.get(i + 1).map(|next| next.age_s),
                    phototherapy_micro: (from.phototherapy_micro, to.phototherapy_micro),
                    exchange_micro: (from.exchange_micro, to.exchange_micro),
                });
            }
        }
    }
    pieces
}

fn row(line: &str) -> Option<Row> {
    let mut cells = line.split(',');
    let standard = cells.next()?.to_owned();
    let weeks = cells.next()?.parse().ok()?;
    let risk = cells.next()?.to_owned();
    let age_h: i64 = cells.next()?.parse().ok()?;
    Some(Row {
        standard,
        weeks,
        risk,
        age_s: age_h * 3600,
        phototherapy_micro: micro(cells.next()?.parse().ok()?),
        exchange_micro: micro(cells.next()?.parse().ok()?),
    })
}
