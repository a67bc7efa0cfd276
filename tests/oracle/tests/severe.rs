//! Severe jaundice at its edges.

use super::*;

fn cases(case: &Case, name: &str) -> u64 {
    case.figure(&format!("severe_jaundice_{name}")).outcomes["cases"]
}

#[test]
fn bands_are_cumulative_and_have_their_own_comparison() {
    for (value, expected) in [
        ("340", [0, 0, 0]),
        ("340.000001", [1, 0, 0]),
        (">340", [1, 0, 0]),
        ("425", [1, 0, 0]),
        (">425", [1, 1, 0]),
        ("509.999999", [1, 1, 0]),
        ("510", [1, 1, 1]),
        ("<510.000001", [1, 1, 1]),
        ("<510", [1, 1, 0]),
    ] {
        let case = Case {
            serums: vec![(200 * H, value), (210 * H, value)],
            ..Case::default()
        };
        let found = ["above_340", "above_425", "at_least_510"].map(|name| cases(&case, name));
        assert_eq!(found, expected, "{value}");
    }
}

#[test]
fn a_case_is_counted_to_28_days_of_age() {
    for (age_s, expected) in [(672 * H, 1), (672 * H + 1, 0)] {
        let case = Case {
            serums: vec![(age_s, "400")],
            ..Case::default()
        };
        assert_eq!(cases(&case, "above_340"), expected);
        let figure = case.figure("severe_jaundice_above_340");
        // Two babies were born, one of them a case: 500 per 1000.
        assert_eq!(figure.denominator, Some(2));
        assert_eq!(figure.value, Some(500.0 * expected as f64));
    }
}

#[test]
fn births_known_by_date_only_are_births_and_no_cases() {
    let case = Case {
        serums: vec![(100 * H, "400"), (120 * H, "400")],
        by_date_only: true,
        ..Case::default()
    };
    let figure = case.figure("severe_jaundice_above_340");
    assert_eq!((figure.numerator, figure.denominator), (Some(0), Some(2)));
    assert_eq!(figure.left_out["birth_time_unknown"], 1);
}

#[test]
fn the_exchange_line_is_compared_as_the_line_is() {
    // NICE manner, 200 h: 450. AAP manner, invented table, 40 weeks: 423 from 120 h with risk.
    for (rules, words, value, expected) in [
        (Rules::nice(), "", "450", 0),
        (Rules::nice(), "", "450.000001", 1),
        (Rules::aap(), "sepsis,,,", "422.999999", 0),
        (Rules::aap(), "sepsis,,,", "423", 1),
    ] {
        let case = Case {
            serums: vec![(200 * H, value)],
            rules,
            words,
            ..Case::default()
        };
        assert_eq!(cases(&case, "above_exchange_line"), expected, "{value}");
    }
    let preterm = Case {
        serums: vec![(200 * H, "100"), (210 * H, "500")],
        rules: Rules::aap(),
        gestation: "34+6",
        ..Case::default()
    };
    let figure = preterm.figure("severe_jaundice_above_exchange_line");
    assert_eq!(figure.left_out["no_line"], 1);
}

#[test]
fn exchange_transfusions_count_once_a_baby() {
    let header = "exchange_id,infant_id,performed_at,unit\n";
    let rows = format!("{header}x1,b,{},\nx2,b,{},\n", at(80 * H), at(60 * H));
    let case = Case {
        more: vec![("exchanges", rows)],
        ..Case::default()
    };
    assert_eq!(cases(&case, "exchange_transfusion"), 1);
    let none = |data_end_s| Case {
        more: vec![("exchanges", header.to_string())],
        data_end_s: Some(data_end_s),
        ..Case::default()
    };
    // The month ends at local midnight, 743 h after a birth at 01:00 local time.
    let whole = none(743 * H).figure("severe_jaundice_exchange_transfusion");
    assert_eq!((whole.numerator, whole.denominator), (Some(0), Some(2)));
    let short = none(743 * H - 1).figure("severe_jaundice_exchange_transfusion");
    assert_eq!(short.denominator, None);
}

#[test]
fn kernicterus_codes_count_in_any_position() {
    for (codes, expected) in [("P57.9", 1), ("P07.3; p570", 1), (";P57", 1), ("P59.9;P55.1", 0)] {
        let case = Case {
            stays: vec![
                (0, Some(48 * H), "birth", "home", ""),
                (100 * H, Some(120 * H), "home", "home", codes),
                (200 * H, Some(220 * H), "home", "home", codes),
            ],
            ..Case::default()
        };
        assert_eq!(cases(&case, "kernicterus_code"), expected, "{codes}");
    }
}
