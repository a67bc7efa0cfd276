//! Screening coverage at its edges.

use super::*;

const MEASURE: &str = "screening_coverage";

#[test]
fn a_test_counts_from_24_to_48_hours() {
    for (age_s, expected) in [
        (24 * H - 1, "not_tested 1"),
        (24 * H, "tested 1"),
        (48 * H, "tested 1"),
        (48 * H + 1, "not_tested 1"),
    ] {
        let stays = vec![(0, Some(90 * H), "birth", "home", "")];
        let screened = Case {
            screens: vec![(age_s, "80")],
            stays: stays.clone(),
            ..Case::default()
        };
        assert_eq!(screened.outcome(MEASURE), expected, "screen {age_s}");
        let drawn = Case {
            serums: vec![(age_s, "80")],
            stays,
            ..Case::default()
        };
        assert_eq!(drawn.outcome(MEASURE), expected, "serum {age_s}");
    }
}

#[test]
fn who_goes_home_before_48_hours_is_tested_by_then() {
    for (home_s, test_s, expected) in [
        (48 * H - 1, H, "too_early 1"),
        (48 * H, H, "not_tested 1"),
        (30 * H, 12 * H - 1, "too_early 1"),
        (30 * H, 12 * H, "tested 1"),
        (30 * H, 30 * H, "tested 1"),
        (30 * H, 30 * H + 1, "after_discharge 1"),
        (30 * H, 48 * H, "after_discharge 1"),
        (30 * H, 48 * H + 1, "not_tested 1"),
        (30 * H, -600, "too_early 1"),
    ] {
        let case = Case {
            screens: vec![(test_s, "80")],
            stays: vec![(0, Some(home_s), "birth", "home", "")],
            ..Case::default()
        };
        assert_eq!(case.outcome(MEASURE), expected, "{home_s} {test_s}");
    }
}

#[test]
fn left_out_and_open() {
    let stay = |end_s, disposition| vec![(0, Some(end_s), "birth", disposition, "")];
    for (stays, data_end_s, expected) in [
        (vec![], 900 * H, "no_birth_stay 1"),
        (stay(48 * H - 1, ""), 900 * H, "disposition_unknown 1"),
        (stay(48 * H, ""), 900 * H, "not_tested 1"),
        (stay(48 * H - 1, "died"), 900 * H, "left 1"),
        (stay(40 * H, "transfer"), 900 * H, "left 1"),
        (stay(40 * H, "transfer"), 48 * H - 1, "open 1"),
        (stay(40 * H, "transfer"), 48 * H, "left 1"),
        (stay(60 * H, "home"), 48 * H - 1, "open 1"),
        (stay(60 * H, "home"), 48 * H, "not_tested 1"),
    ] {
        let case = Case {
            stays,
            data_end_s: Some(data_end_s),
            ..Case::default()
        };
        assert_eq!(case.outcome(MEASURE), expected, "{data_end_s}");
    }
}

#[test]
fn phototherapy_before_the_first_test_leaves_out() {
    for (start_s, home_s, test_s, expected) in [
        (20 * H, 90 * H, 20 * H + 1, "phototherapy 1"),
        (20 * H, 90 * H, 20 * H, "not_tested 1"),
        (48 * H, 90 * H, 50 * H, "phototherapy 1"),
        (48 * H + 1, 90 * H, 50 * H, "not_tested 1"),
        (30 * H, 30 * H, 50 * H, "phototherapy 1"),
        (30 * H + 1, 30 * H, 50 * H, "not_tested 1"),
    ] {
        let case = Case {
            screens: vec![(test_s, "80")],
            courses: vec![(start_s, Some(start_s + 5 * H))],
            stays: vec![(0, Some(home_s), "birth", "home", "")],
            ..Case::default()
        };
        assert_eq!(case.outcome(MEASURE), expected, "{start_s} {test_s}");
    }
}

#[test]
fn a_network_that_tests_visible_jaundice_only_has_no_coverage() {
    let case = Case {
        screens: vec![(30 * H, "80")],
        stays: vec![(0, Some(90 * H), "birth", "home", "")],
        rules: Rules::nice_without_options(),
        ..Case::default()
    };
    assert_eq!(case.outcome(MEASURE), "nothing");
    assert_eq!(case.figure(MEASURE).denominator, Some(0));
}
