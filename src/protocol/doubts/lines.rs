//! Site tables whose lines are not what one would expect.

use std::collections::BTreeSet;

use crate::protocol::file::Version;
use crate::protocol::lines::Piece;

pub(super) fn doubts(version: &Version, pieces: &[Piece], found: &mut Vec<String>) {
    let line = &version.line;
    let of_standard: Vec<&Piece> = pieces.iter().filter(|p| p.standard == line.standard).collect();
    let weeks: BTreeSet<i64> = of_standard.iter().map(|p| p.gestation_weeks).collect();
    let (Some(first), Some(table)) = (weeks.first(), &line.table) else {
        return;
    };
    let lowest = version.lowest_gestation_weeks();
    if lowest < *first {
        found.push(format!(
            "{table} begins at {first} weeks, but screens are judged from {lowest} weeks on: babies between have no line"
        ));
    }
    let ages: BTreeSet<i64> = of_standard.iter().map(|p| p.age_from_s).collect();
    if ages.len() == 1 {
        found.push(format!("{table} has the age 0 only: its lines are flat from birth"));
    }
    if let Some(piece) = cut_off(&of_standard, version.treatment.age_at_most_d) {
        found.push(format!(
            "{table}: the line of {} weeks, risk {}, still rises up to its last row, at {} h, and is then taken as flat, but a serum is judged by it to {} days (treatment.age_at_most_d): add its rows up to that age, or one more row with the same values at a later age where it is flat indeed",
            piece.gestation_weeks,
            piece.risk,
            hours(piece.age_to_s.unwrap_or(0)),
            version.treatment.age_at_most_d
        ));
    }
    if weeks.iter().all(|week| Piece::same_lines(&of_standard, *first, *week)) {
        found.push(format!(
            "{table} has the same lines for every week of gestation, from {first} on"
        ));
    }
    let at = |week: i64, risk: &str, age_s: i64| {
        let mut of_line = of_standard
            .iter()
            .filter(|p| p.gestation_weeks == week && p.risk == risk);
        of_line.find_map(|p| p.at(age_s))
    };
    let is_lower = |lower: Option<[i64; 2]>, upper: Option<[i64; 2]>| match (lower, upper) {
        (Some(lower), Some(upper)) => lower[0] <= upper[0] && lower[1] <= upper[1],
        _ => true,
    };
    let places = || weeks.iter().flat_map(|week| ages.iter().map(|age_s| (*week, *age_s)));
    let is_crossed = |(week, age_s): &(i64, i64)| !is_lower(at(*week, "present", *age_s), at(*week, "absent", *age_s));
    if let Some((week, age_s)) = places().find(is_crossed) {
        found.push(format!(
            "{table}: at {week} weeks and {} h a line with risk is above that without",
            hours(age_s)
        ));
    }
    for risk in ["any", "absent", "present"] {
        let falls = |(week, age_s): &(i64, i64)| !is_lower(at(*week, risk, *age_s), at(week + 1, risk, *age_s));
        if let Some((week, age_s)) = places().find(falls) {
            found.push(format!(
                "{table}: at {week} weeks and {} h a line for risk {risk} is above that of {} weeks",
                hours(age_s),
                week + 1
            ));
        }
    }
}

/// A piece after which a line is flat although it has not been seen to be, before the last age
/// that is judged by it.
fn cut_off<'a>(pieces: &[&'a Piece], age_at_most_d: f64) -> Option<&'a Piece> {
    let is_flat = |piece: &Piece| {
        piece.phototherapy_micro.0 == piece.phototherapy_micro.1 && piece.exchange_micro.0 == piece.exchange_micro.1
    };
    // The pieces of a line follow each other; its last one has no end.
    let mut pairs = pieces.windows(2).map(|pair| (pair[0], pair[1]));
    let cut = pairs.find(|(rising, last)| {
        let is_last = last.age_to_s.is_none() && rising.age_to_s == Some(last.age_from_s);
        is_last && !is_flat(rising) && hours(last.age_from_s) < age_at_most_d * 24.0
    });
    cut.map(|(rising, _)| rising)
}

fn hours(age_s: i64) -> f64 {
    age_s as f64 / 3600.0
}
