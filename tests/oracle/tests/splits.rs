//! The groups a figure is split by.

use super::*;

/// The groups of one missed referral, by split.
fn groups(case: &Case) -> Vec<(String, String)> {
    let all = case.network().figures("2026-07");
    let rows = all.iter().filter(|row| {
        let counts_one = row.outcomes.get("missed") == Some(&1);
        row.measure == "missed_referral" && counts_one
    });
    rows.map(|row| (row.split.clone(), row.group.clone())).collect()
}

#[test]
fn a_referral_is_counted_in_each_of_its_groups_and_again_with_its_unit() {
    // Born on a Wednesday at 01:00 local time: 78 h later it is Saturday, 07:00.
    let case = Case {
        screens: vec![(78 * H, "260")],
        gestation: "36+6",
        words: ",Breast,Dark,North",
        ..Case::default()
    };
    let found = groups(&case);
    let expected = [
        ("all", "all"),
        ("ethnicity", "North"),
        ("feeding", "breast"),
        ("gestation", "36"),
        ("night", "night"),
        ("skin_tone", "dark"),
        ("unit", "hill"),
        ("unit_and_ethnicity", "hill: North"),
        ("unit_and_feeding", "hill: breast"),
        ("unit_and_gestation", "hill: 36"),
        ("unit_and_night", "hill: night"),
        ("unit_and_skin_tone", "hill: dark"),
        ("unit_and_weekend", "hill: weekend"),
        ("weekend", "weekend"),
    ];
    let expected = expected.map(|(split, group)| (split.to_string(), group.to_string()));
    assert_eq!(found, expected);
}

#[test]
fn weekend_and_night_begin_by_the_local_clock() {
    let holds = |age_s: i64, split: &str, group: &str| {
        let case = Case {
            screens: vec![(age_s, "260")],
            ..Case::default()
        };
        groups(&case).contains(&(split.to_string(), group.to_string()))
    };
    // Local midnight of Saturday is at 71 h, of Monday at 119 h.
    assert!(holds(71 * H - 1, "weekend", "weekday"));
    assert!(holds(71 * H, "weekend", "weekend"));
    assert!(holds(119 * H - 1, "weekend", "weekend"));
    assert!(holds(119 * H, "weekend", "weekday"));
    // 08:00 is at 79 h, 20:00 at 91 h.
    assert!(holds(79 * H - 1, "night", "night"));
    assert!(holds(79 * H, "night", "day"));
    assert!(holds(91 * H - 1, "night", "day"));
    assert!(holds(91 * H, "night", "night"));
}

#[test]
fn bands_of_gestation_and_what_is_unknown() {
    let band = |gestation: &'static str| {
        let case = Case {
            serums: vec![(100 * H, "400")],
            gestation,
            ..Case::default()
        };
        let all = case.network().figures("2026-07");
        let mut rows = all.into_iter();
        let row = rows.find(|row| {
            row.measure == "severe_jaundice_above_340" && row.split == "gestation" && row.numerator == Some(1)
        });
        row.map(|row| row.group)
    };
    for (gestation, expected) in [
        ("34+6", "under 35"),
        ("35+0", "35"),
        ("39+6", "39"),
        ("40", "40 or more"),
        ("42+1", "40 or more"),
    ] {
        assert_eq!(band(gestation).as_deref(), Some(expected), "{gestation}");
    }
    let by_date = Case {
        by_date_only: true,
        ..Case::default()
    };
    let all = by_date.network().figures("2026-07");
    let row = all.iter().find(|row| {
        row.measure == "screening_coverage" && row.split == "unit_and_night" && row.group == "hill: unknown"
    });
    assert_eq!(row.and_then(|row| row.left_out.get("birth_time_unknown")), Some(&1));
}
