//! The lines that ship, against the published table.

use siskin::protocol::lines;

/// NICE CG98, threshold table for babies of 38 weeks and more: age in hours,
/// phototherapy and exchange transfusion in umol/L. Complete and checked.
const NICE_CG98_TERM: [(i64, i64, i64); 17] = [
    (0, 100, 100),
    (6, 125, 150),
    (12, 150, 200),
    (18, 175, 250),
    (24, 200, 300),
    (30, 212, 350),
    (36, 225, 400),
    (42, 237, 450),
    (48, 250, 450),
    (54, 262, 450),
    (60, 275, 450),
    (66, 287, 450),
    (72, 300, 450),
    (78, 312, 450),
    (84, 325, 450),
    (90, 337, 450),
    (96, 350, 450),
];

/// The line at an age, by the pieces that SQL joins with.
fn line(week: i64, age_s: i64) -> Option<(i64, i64)> {
    let pieces = lines::built_in();
    let piece = pieces
        .iter()
        .find(|p| p.gestation_weeks == week && p.age_from_s <= age_s && p.age_to_s.is_none_or(|to| age_s < to))?;
    let Some(to_s) = piece.age_to_s else {
        return Some((piece.phototherapy_micro.0, piece.exchange_micro.0));
    };
    let at = |(from, to): (i64, i64)| from + (to - from) * (age_s - piece.age_from_s) / (to_s - piece.age_from_s);
    Some((at(piece.phototherapy_micro), at(piece.exchange_micro)))
}

#[test]
fn the_line_equals_every_row_of_the_nice_cg98_table() {
    for week in 38..=45 {
        for (age_h, phototherapy, exchange) in NICE_CG98_TERM {
            let found = line(week, age_h * 3600);
            assert_eq!(
                found,
                Some((phototherapy * 1_000_000, exchange * 1_000_000)),
                "{week} weeks, {age_h} h"
            );
        }
    }
}

#[test]
fn half_way_between_two_rows_the_line_is_half_way() {
    for pair in NICE_CG98_TERM.windows(2) {
        let (from, to) = (pair[0], pair[1]);
        let found = line(38, (from.0 + to.0) * 1800);
        let half = ((from.1 + to.1) * 500_000, (from.2 + to.2) * 500_000);
        assert_eq!(found, Some(half), "between {} and {} h", from.0, to.0);
    }
}

#[test]
fn after_the_last_row_the_line_is_flat() {
    for age_h in [97, 200, 1000] {
        assert_eq!(line(40, age_h * 3600), Some((350_000_000, 450_000_000)));
    }
}

/// NICE CG98 below 38 weeks, as a formula: from 40 (exchange 80) at birth to
/// gestation x 10 - 100 (x 10) at 72 h, then flat. From memory: the
/// phototherapy formula and the start values.
#[test]
fn below_38_weeks_the_line_follows_the_formula() {
    for week in 23..38 {
        assert_eq!(line(week, 0), Some((40_000_000, 80_000_000)));
        let top = ((week * 10 - 100) * 1_000_000, week * 10_000_000);
        assert_eq!(line(week, 72 * 3600), Some(top));
        assert_eq!(line(week, 100 * 3600), Some(top));
        let half = ((40_000_000 + top.0) / 2, (80_000_000 + top.1) / 2);
        assert_eq!(line(week, 36 * 3600), Some(half));
    }
    assert_eq!(line(22, 0), None);
}
