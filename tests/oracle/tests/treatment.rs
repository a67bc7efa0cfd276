//! Time to treatment and treatment below the line at their edges. The line at 96 h is 350; the
//! result comes 1 h after collection.

use super::*;

fn treated_after(result_to_start_s: i64) -> Case {
    Case {
        serums: vec![(96 * H, "351")],
        courses: vec![(97 * H + result_to_start_s, Some(160 * H))],
        ..Case::default()
    }
}

#[test]
fn treatment_is_in_time_by_6_hours_and_late_by_24() {
    for (after_s, in_time, ever) in [
        (-H, "in_time 1", "treated 1"),
        (6 * H, "in_time 1", "treated 1"),
        (6 * H + 1, "late 1", "treated 1"),
        (24 * H, "late 1", "treated 1"),
        (24 * H + 1, "none 1", "treated 1"),
        // A course that was running: beside the lamps up to 2 h after its start.
        (-H - 1, "in_time 1", "treated 1"),
        (-3 * H, "in_time 1", "treated 1"),
        (-3 * H - 1, "nothing", "nothing"),
    ] {
        let case = treated_after(after_s);
        assert_eq!(case.outcome("time_to_treatment"), in_time, "{after_s}");
        assert_eq!(case.outcome("never_treated"), ever, "{after_s}");
    }
    let late = treated_after(6 * H + 1);
    assert_eq!(late.figure("untreated_6h").numerator, Some(1));
    assert_eq!(late.figure("untreated_24h").numerator, Some(0));
}

#[test]
fn untreated_is_open_until_24_hours_after_the_result() {
    for (end_s, in_time, ever) in [
        (121 * H - 1, "open 1", "open 1"),
        (121 * H, "none 1", "never 1"),
        // Collected, and the result is not there yet.
        (96 * H, "open 1", "open 1"),
    ] {
        let case = Case {
            serums: vec![(96 * H, "351")],
            data_end_s: Some(end_s),
            ..Case::default()
        };
        assert_eq!(case.outcome("time_to_treatment"), in_time, "{end_s}");
        assert_eq!(case.outcome("never_treated"), ever, "{end_s}");
    }
}

#[test]
fn leaving_counts_from_collection_until_6_hours_after_the_result() {
    for (end_s, disposition, expected) in [
        (96 * H - 1, "died", "none 1"),
        (96 * H, "died", "left 1"),
        (97 * H, "died", "left 1"),
        (103 * H - 1, "transfer", "left 1"),
        (103 * H, "transfer", "none 1"),
        (100 * H, "", "disposition_unknown 1"),
        (100 * H, "home", "none 1"),
    ] {
        let case = Case {
            serums: vec![(96 * H, "351")],
            stays: vec![(0, Some(end_s), "birth", disposition, "")],
            ..Case::default()
        };
        assert_eq!(case.outcome("time_to_treatment"), expected, "{end_s} {disposition}");
    }
}

#[test]
fn the_first_serum_above_the_line_outside_a_course_counts() {
    for (age_s, value, expected) in [
        (96 * H, "350", "nothing"),
        (96 * H, "350.000001", "none 1"),
        (96 * H, ">350", "none 1"),
        (672 * H, "351", "none 1"),
        (672 * H + 1, "351", "nothing"),
        // At the very start or end of a course it is not inside it.
        (200 * H, "351", "in_time 1"),
        (200 * H + 1, "351", "in_time 1"),
        (202 * H, "351", "in_time 1"),
        (202 * H + 1, "351", "nothing"),
        (210 * H - 1, "351", "nothing"),
        (210 * H, "351", "none 1"),
    ] {
        let case = Case {
            serums: vec![(age_s, value)],
            courses: vec![(200 * H, Some(210 * H))],
            ..Case::default()
        };
        assert_eq!(case.outcome("time_to_treatment"), expected, "{age_s} {value}");
    }
}

#[test]
fn the_clock_starts_with_the_version_that_was_itself_above_the_line() {
    let header = "specimen_id,infant_id,collected_at,resulted_at,value,unit_of_measure,analyte,specimen,status,unit\n";
    let version = |resulted_s: Option<i64>, value: &str, status: &str| {
        let resulted = resulted_s.map(|s| at(96 * H + s)).unwrap_or_default();
        format!("v,b,{},{resulted},{value},umol/L,total,,{status},hill\n", at(96 * H))
    };
    for (versions, expected) in [
        // Treated 10 h after collection: 9 h after the final, 4 h after the corrected version.
        (
            [
                version(Some(H), "300", "final"),
                version(Some(6 * H), "360", "corrected"),
            ],
            "in_time 1",
        ),
        (
            [
                version(Some(H), "355", "final"),
                version(Some(6 * H), "360", "corrected"),
            ],
            "late 1",
        ),
        (
            [
                version(Some(H), "360", "preliminary"),
                version(Some(4 * H), "360", "final"),
            ],
            "in_time 1",
        ),
        (
            [
                version(Some(H), "360", "final"),
                version(Some(6 * H), "300", "corrected"),
            ],
            "nothing",
        ),
        // Without a result time from collection.
        (
            [version(Some(5 * H), "300", "final"), version(None, "360", "corrected")],
            "late 1",
        ),
    ] {
        let case = Case {
            courses: vec![(106 * H, Some(130 * H))],
            more: vec![("serum", format!("{header}{}", versions.concat()))],
            ..Case::default()
        };
        assert_eq!(case.outcome("time_to_treatment"), expected, "{versions:?}");
    }
}

#[test]
fn babies_without_a_line_are_left_out_once() {
    let case = Case {
        serums: vec![(96 * H, "100"), (99 * H, "400")],
        gestation: "22",
        ..Case::default()
    };
    assert_eq!(case.outcome("time_to_treatment"), "no_line 1");
    let case = Case {
        by_date_only: true,
        ..case
    };
    assert_eq!(case.outcome("never_treated"), "birth_time_unknown 1");
}

#[test]
fn a_course_is_above_the_line_when_a_serum_was_within_12_hours() {
    for (serum_s, value, gestation, expected) in [
        (96 * H, "351", "", "above 1"),
        // Earlier, and still waiting: the course ends the wait.
        (96 * H - 1, "351", "", "above 1"),
        (90 * H, "340", "", "above 1"),
        (108 * H, "351", "", "above 1"),
        (110 * H, "351", "", "above 1"),
        (110 * H + 1, "351", "", "no_serum 1"),
        (96 * H - 1, "340", "", "no_serum 1"),
        (96 * H, "350", "", "near_below 1"),
        (96 * H, "315.8", "", "near_below 1"),
        (96 * H, "315.7", "", "below 1"),
        (96 * H, "351", "22", "no_line 1"),
    ] {
        let case = Case {
            serums: vec![(serum_s, value)],
            courses: vec![(108 * H, Some(130 * H))],
            gestation,
            ..Case::default()
        };
        assert_eq!(case.outcome("treatment_below_line"), expected, "{serum_s} {value}");
    }
    let by_its_own_age = Case {
        serums: vec![(84 * H, "326")],
        courses: vec![(96 * H, Some(130 * H))],
        ..Case::default()
    };
    assert_eq!(by_its_own_age.outcome("treatment_below_line"), "above 1");
}
