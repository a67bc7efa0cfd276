//! Pairs and the dangerous miss at their edges.

use super::*;

fn pairs(case: &Case) -> Vec<(String, String)> {
    let rows = case.network().pairs();
    rows.into_iter().map(|row| (row.screen_id, row.specimen_id)).collect()
}

fn named(pairs: &[(&str, &str)]) -> Vec<(String, String)> {
    let pairs = pairs.iter();
    pairs
        .map(|(screen, serum)| ((*screen).to_string(), (*serum).to_string()))
        .collect()
}

#[test]
fn a_pair_is_at_most_60_minutes_apart() {
    for (apart_s, expected) in [
        (-H - 1, vec![]),
        (-H, vec![("t0", "s0")]),
        (H, vec![("t0", "s0")]),
        (H + 1, vec![]),
    ] {
        let case = Case {
            screens: vec![(50 * H, "150")],
            serums: vec![(50 * H + apart_s, "140")],
            ..Case::default()
        };
        assert_eq!(pairs(&case), named(&expected), "{apart_s}");
    }
}

#[test]
fn each_is_the_others_nearest_and_ties_go_to_the_earlier() {
    // s0 and s1 are as near to t0; s1 is nearer to t1.
    let case = Case {
        screens: vec![(50 * H, "150"), (50 * H + 2400, "151")],
        serums: vec![(50 * H + 1800, "140"), (50 * H - 1800, "141")],
        ..Case::default()
    };
    assert_eq!(pairs(&case), named(&[("t0", "s1"), ("t1", "s0")]));
    // The nearest of t0 is s0, whose nearest is t1: t0 stays alone.
    let chain = Case {
        screens: vec![(50 * H, "150"), (50 * H + 1200, "151")],
        serums: vec![(50 * H + 1000, "140")],
        ..Case::default()
    };
    assert_eq!(pairs(&chain), named(&[("t1", "s0")]));
    let one_second = Case {
        screens: vec![(50 * H, "150")],
        serums: vec![(50 * H, "140"), (50 * H, "141")],
        ..Case::default()
    };
    assert_eq!(pairs(&one_second), named(&[("t0", "s0")]));
    let rows = one_second.network().pairs();
    assert_eq!(rows[0].difference_micro, 10_000_000);
    assert!(rows[0].is_first_of_baby);
}

#[test]
fn bounds_and_phototherapy_make_no_pair() {
    for (screen, serum, stop_s, expected) in [
        (">150", "140", 10 * H, 0),
        ("150", "<140", 10 * H, 0),
        ("150", "140", 26 * H, 1),
        ("150", "140", 26 * H + 1, 0),
    ] {
        let case = Case {
            screens: vec![(50 * H, screen)],
            serums: vec![(50 * H, serum)],
            courses: vec![(5 * H, Some(stop_s))],
            ..Case::default()
        };
        assert_eq!(case.network().pairs().len(), expected, "{screen} {serum} {stop_s}");
    }
}

#[test]
fn a_dangerous_miss_is_a_serum_above_the_line_beside_a_screen_that_called_for_none() {
    // The line at 96 h is 350, at 24 h 200.
    for (age_s, screen, serum, expected) in [
        (96 * H, "250", "350", "not_above_line 1"),
        (96 * H, "250", "350.000001", "above_line 1"),
        (96 * H, "250.000001", "351", "due 1"),
        (24 * H, "150", "300", "age_below_limit 1"),
        (24 * H + 1, "150", "300", "above_line 1"),
    ] {
        let case = Case {
            screens: vec![(age_s, screen)],
            serums: vec![(age_s, serum)],
            ..Case::default()
        };
        assert_eq!(case.outcome("dangerous_miss"), expected, "{age_s} {screen} {serum}");
    }
}
