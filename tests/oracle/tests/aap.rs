//! The AAP manner at its edges. The invented line at 40 weeks without risk is 358 from 120 h.

use super::*;

fn case() -> Case {
    Case {
        rules: Rules::aap(),
        ..Case::default()
    }
}

#[test]
fn the_line_of_the_table_is_reached_at_it() {
    let network = |value, words| Case {
        serums: vec![(130 * H, value)],
        words,
        ..case()
    };
    assert_eq!(network("357.999999", "").outcome("time_to_treatment"), "nothing");
    assert_eq!(network("358", "").outcome("time_to_treatment"), "none 1");
    // With risk it is 328.
    assert_eq!(network("328", "G6PD,,,").outcome("time_to_treatment"), "none 1");
    assert_eq!(
        network("327.999999", "low_albumin; x,,,").outcome("time_to_treatment"),
        "nothing"
    );
    assert_eq!(
        network("328", "sibling_phototherapy,,,").outcome("time_to_treatment"),
        "nothing"
    );
}

#[test]
fn screens_call_for_serum_from_3_mg_dl_below_the_line_or_15_mg_dl() {
    // At 130 h 256.5 umol/L is the lower limit; at 24 h the line is 196, 51.3 below it 144.7.
    for (age_s, value, expected) in [
        (130 * H, "256.5", "missed 1"),
        (130 * H, "256.499999", "nothing"),
        (24 * H, "144.7", "missed 1"),
        (24 * H, "144.699999", "nothing"),
        (24 * H, "<144.700001", "missed 1"),
        (130 * H, ">20", "missed 1"),
        (1, "300", "missed 1"),
        (0, "300", "age_below_limit 1"),
    ] {
        let case = Case {
            screens: vec![(age_s, value)],
            ..case()
        };
        assert_eq!(case.outcome("missed_referral"), expected, "{age_s} {value}");
    }
    // 2 h on the first day, in this manner too.
    for (after_s, expected) in [(2 * H, "in_time 1"), (2 * H + 1, "late 1")] {
        let first_day = Case {
            screens: vec![(10 * H, "300")],
            serums: vec![(10 * H + after_s, "100")],
            ..case()
        };
        assert_eq!(first_day.outcome("missed_referral"), expected);
    }
}

/// Goes home at 140 h; the last test is a serum 4 h before; the line is 358.
fn gap(value: &'static str, later: &[(i64, bool)]) -> String {
    let mut case = Case {
        serums: vec![(136 * H, value)],
        stays: vec![(0, Some(140 * H), "birth", "home", "")],
        ..case()
    };
    for (after_s, is_serum) in later {
        let tests = if *is_serum { &mut case.serums } else { &mut case.screens };
        tests.push((136 * H + after_s, "40"));
    }
    case.outcome("recheck_adherence_discharge_gap")
}

#[test]
fn gaps_at_discharge_are_rounded_to_a_tenth_before_bands_are_compared() {
    let serum_by_24 = [(24 * H, true)];
    // 0.05 mg/dL is 0.855 umol/L below the line: rounded up to 0.1.
    assert_eq!(gap("357.145", &serum_by_24), "on_time 1");
    assert_eq!(gap("357.145001", &serum_by_24), "nothing");
    // 1.95 is 33.345: rounds to 2.0, for which a screen will do; just under it to 1.9.
    let screen_by_24 = [(24 * H, false)];
    assert_eq!(gap("324.655", &screen_by_24), "on_time 1");
    assert_eq!(gap("324.655001", &screen_by_24), "none 1");
    assert_eq!(gap("324.655001", &serum_by_24), "on_time 1");
    // 3.45 is 58.995: rounds to 3.5, within 48 h; just under it to 3.4, within 24 h.
    let screen_by_48 = [(48 * H, false)];
    assert_eq!(gap("299.005", &screen_by_48), "on_time 1");
    assert_eq!(gap("299.005001", &screen_by_48), "late 1");
    assert_eq!(gap("299.005", &[(48 * H + 1, true)]), "late 1");
    assert_eq!(gap("299.005", &[(72 * H + 1, true)]), "none 1");
    // 5.45 is 93.195: rounds to 5.5, which calls for no test.
    assert_eq!(gap("264.805", &screen_by_24), "nothing");
    assert_eq!(gap("264.805001", &screen_by_24), "on_time 1");
    // At the line or above it there is no gap; a bound has none that is known.
    assert_eq!(gap("358", &screen_by_24), "nothing");
    assert_eq!(gap("<330", &screen_by_24), "nothing");
    // Sooner than 1 h it belongs to the same assessment; then the later test is the last one.
    assert_eq!(gap("330", &[(4 * H + 1, true)]), "on_time 1");
}

#[test]
fn the_last_test_before_going_home_triggers() {
    let stays = vec![(0, Some(30 * H), "birth", "home", "")];
    let outcome = |screens: &[(i64, &'static str)], serums: &[(i64, &'static str)], courses: &[(i64, Option<i64>)]| {
        let case = Case {
            screens: screens.to_vec(),
            serums: serums.to_vec(),
            courses: courses.to_vec(),
            stays: stays.clone(),
            ..case()
        };
        case.outcome("recheck_adherence_discharge_gap")
    };
    // The line at 12 h is 158, at 30 h 211, at 24 h 196.
    assert_eq!(outcome(&[(12 * H, "100")], &[], &[]), "none 1");
    assert_eq!(outcome(&[(12 * H - 1, "100")], &[], &[]), "nothing");
    assert_eq!(outcome(&[(30 * H, "200")], &[], &[]), "none 1");
    assert_eq!(outcome(&[(30 * H + 1, "200")], &[], &[]), "nothing");
    // Of one second the serum counts: it is far below the line.
    assert_eq!(outcome(&[(24 * H, "190")], &[(24 * H, "40")], &[]), "nothing");
    // No earlier test takes the place of a bound.
    assert_eq!(outcome(&[(20 * H, "170"), (24 * H, "<190")], &[], &[]), "nothing");
    assert_eq!(outcome(&[(24 * H, "190")], &[], &[(30 * H, Some(40 * H))]), "nothing");
    assert_eq!(
        outcome(&[(24 * H, "190")], &[], &[(30 * H + 1, Some(40 * H))]),
        "none 1"
    );
    let unknown = Case {
        screens: vec![(24 * H, "190")],
        gestation: "34+6",
        stays,
        ..case()
    };
    assert_eq!(unknown.outcome("recheck_adherence_discharge_gap"), "no_line 1");
}

#[test]
fn rechecks_of_treatment() {
    let start = 50 * H;
    let outcome = |rule: &str, serums: &[i64], screens: &[i64], again: Option<i64>| {
        let end = start + 20 * H;
        let mut courses = vec![(start, Some(end))];
        courses.extend(again.map(|after_s| (end + after_s, Some(end + after_s + 10 * H))));
        let case = Case {
            serums: serums.iter().map(|s| (start + s, "40")).collect(),
            screens: screens.iter().map(|s| (start + s, "40")).collect(),
            courses,
            ..case()
        };
        case.outcome(&format!("recheck_adherence_{rule}"))
    };
    assert_eq!(outcome("treatment_first", &[H], &[], None), "on_time 1");
    assert_eq!(outcome("treatment_first", &[12 * H], &[], None), "on_time 1");
    assert_eq!(outcome("treatment_first", &[12 * H + 1], &[], None), "late 1");
    assert_eq!(outcome("treatment_first", &[], &[6 * H], None), "none 1");
    let end = 20 * H;
    assert_eq!(outcome("rebound", &[end + 12 * H], &[], None), "on_time 1");
    assert_eq!(outcome("rebound", &[end + 12 * H - 1], &[], None), "early_only 1");
    assert_eq!(outcome("rebound", &[], &[end + 24 * H], None), "on_time 1");
    assert_eq!(outcome("rebound", &[], &[end + 24 * H - 1], None), "none 1");
    assert_eq!(outcome("rebound", &[], &[end + 36 * H + 1], None), "late 1");
    assert_eq!(outcome("rebound", &[], &[end + 60 * H + 1], None), "none 1");
    // A new course excuses the first end; its own end is another trigger.
    assert_eq!(outcome("rebound", &[], &[], Some(36 * H)), "excused 1, none 1");
    assert_eq!(outcome("rebound", &[], &[], Some(36 * H + 1)), "none 2");
}

#[test]
fn a_rise_is_flagged_by_its_rate() {
    let flagged = |rules: Rules, tests: &[(i64, &'static str)]| {
        let case = Case {
            serums: tests.to_vec(),
            rules,
            ..Case::default()
        };
        case.network().rises().len()
    };
    // 0.3 mg/dL/h over 3 h is 15.39 umol/L; 0.2 over 3 h is 10.26.
    for (first_s, first, second_s, second, expected) in [
        (21 * H, "100", 24 * H, "115.39", 1),
        (21 * H, "100", 24 * H, "115.389999", 0),
        (21 * H + 1, "100", 24 * H + 1, "110.26", 1),
        (21 * H + 1, "100", 24 * H + 1, "110.259999", 0),
        (30 * H, "100", 33 * H - 1, "200", 0),
        (30 * H, "100", 40 * H, ">300", 0),
    ] {
        let tests = [(first_s, first), (second_s, second)];
        assert_eq!(flagged(Rules::aap(), &tests), expected, "{tests:?}");
    }
    // NICE manner: above 8.5 umol/L an hour, not at it.
    assert_eq!(flagged(Rules::nice(), &[(30 * H, "100"), (40 * H, "185")]), 0);
    assert_eq!(flagged(Rules::nice(), &[(30 * H, "100"), (40 * H, "185.000001")]), 1);
    // One in between does not hide the two others.
    assert_eq!(
        flagged(Rules::aap(), &[(30 * H, "100"), (32 * H, "130"), (34 * H, "160")]),
        1
    );
}

#[test]
fn an_event_is_judged_by_the_version_in_force_when_it_happened() {
    // NICE manner until 40 h of age, then AAP manner.
    let rules = Rules::nice().changing(BIRTH + 40 * H, &Rules::aap());
    // 51.3 below the AAP line at 40 h is 184.7; the NICE line is 233 there.
    for (age_s, expected) in [(40 * H - 1, "nothing"), (40 * H, "missed 1")] {
        let case = Case {
            screens: vec![(age_s, "190")],
            rules: rules.clone(),
            ..Case::default()
        };
        assert_eq!(case.outcome("missed_referral"), expected, "{age_s}");
    }
    for (start_s, expected) in [(40 * H - 1, "early_only 1"), (40 * H, "on_time 1")] {
        let case = Case {
            serums: vec![(start_s + 2 * H, "40")],
            courses: vec![(start_s, Some(start_s + 30 * H))],
            rules: rules.clone(),
            ..Case::default()
        };
        assert_eq!(case.outcome("recheck_adherence_treatment_first"), expected, "{start_s}");
    }
}
