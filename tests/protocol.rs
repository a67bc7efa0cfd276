//! The protocol: lines against the published table, and what is refused.

use siskin::protocol::{Protocol, gestation_days, lines};

use crate::harness::PROTOCOL;

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

fn refusal(from: &str, to: &str) -> String {
    assert!(PROTOCOL.contains(from), "{from}");
    Protocol::parse(&PROTOCOL.replacen(from, to, 1))
        .unwrap_err()
        .to_string()
}

#[test]
fn the_sample_protocol_is_accepted() {
    let protocol = Protocol::parse(PROTOCOL).unwrap();
    assert_eq!(protocol.versions().len(), 1);
    assert_eq!(protocol.newest().referral.clauses[0].umol_l, Some(250.0));
}

#[test]
fn an_unknown_key_is_refused_with_its_line() {
    let text = refusal("age_above_h = 24\nnot_after", "age_over_h = 24\nnot_after");
    let line = PROTOCOL.lines().position(|l| l == "age_above_h = 24").unwrap() + 1;
    assert!(text.contains(&format!("line {line}")), "{text}");
    assert!(text.contains("age_over_h"), "{text}");
}

#[test]
fn what_cannot_hold_is_refused_in_words() {
    assert!(refusal("Europe/London", "Europe/Nowhere").contains("IANA time zone"));
    assert!(refusal("nice_cg98", "our_own").contains("not built in"));
    assert!(refusal("\"35+0\"", "\"35w\"").contains("weeks+days"));
    assert!(refusal("{ age_from_h = 24, within_h", "{ age_from_h = 30, within_h").contains("gap or overlap"));
    assert!(
        refusal(
            "age_from_h = 24, within_h",
            "age_from_h = 24, age_below_h = 99, within_h"
        )
        .contains("end at 99 h")
    );
    assert!(refusal("{ when = \"above_range\",", "{ when = \"above_range\", umol_l = 3,").contains("takes no umol_l"));
    assert!(
        refusal("earliest_h = 12\nlatest_h = 18", "earliest_h = 19\nlatest_h = 18").contains("closes before it opens")
    );
}

#[test]
fn versions_must_follow_each_other() {
    let version = &PROTOCOL[PROTOCOL.find("[[version]]").unwrap()..];
    let twice = format!("{PROTOCOL}\n{}", version.replacen("manner, 2026", "manner, again", 1));
    let refused = Protocol::parse(&twice).unwrap_err().to_string();
    assert!(refused.contains("not after"), "{refused}");
    let later = version.replacen("2026-01-01", "2026-07-01", 1);
    let refused = Protocol::parse(&format!("{PROTOCOL}\n{later}"))
        .unwrap_err()
        .to_string();
    assert!(refused.contains("two versions are named"), "{refused}");
    let later = later.replacen("manner, 2026", "manner, July 2026", 1);
    assert_eq!(
        Protocol::parse(&format!("{PROTOCOL}\n{later}"))
            .unwrap()
            .versions()
            .len(),
        2
    );
}

#[test]
fn gestation_is_weeks_and_days() {
    assert_eq!(gestation_days("38+4"), Some(270));
    assert_eq!(gestation_days("35"), Some(245));
    for wrong in ["38+7", "38+", "+4", "38w4d", "19+6", "46", "380", "", "38 4"] {
        assert_eq!(gestation_days(wrong), None, "{wrong}");
    }
}
