//! Meter checks at their edges.

use super::*;

/// Readings as (age, meter, unit of measure) and checks as (age, meter, outcome), all of July.
fn outcomes(readings: &[(i64, &str, &str)], checks: &[(i64, &str, &str)]) -> (String, String) {
    outcomes_by(Rules::nice(), readings, checks)
}

fn outcomes_by(rules: Rules, readings: &[(i64, &str, &str)], checks: &[(i64, &str, &str)]) -> (String, String) {
    let mut screens = "screen_id,infant_id,measured_at,value,unit_of_measure,meter_id,unit\n".to_string();
    for (number, (age_s, meter_id, unit)) in readings.iter().enumerate() {
        screens += &format!("m{number},b,{},90,{unit},{meter_id},dale\n", at(*age_s));
    }
    let mut text = "check_id,meter_id,checked_at,outcome,unit\n".to_string();
    for (number, (age_s, meter_id, outcome)) in checks.iter().enumerate() {
        text += &format!("c{number},{meter_id},{},{outcome},hill\n", at(*age_s));
    }
    text += &format!("c-far,none,{},pass,\n", at(600 * H));
    let case = Case {
        more: vec![("screens", screens), ("meter_checks", text)],
        rules,
        ..Case::default()
    };
    let all = case.network().figures("2026-07");
    let told = |measure: &str| {
        let mut rows = all.iter();
        let row = rows.find(|row| row.measure == measure && row.group == "dale");
        let counts = row.map(|row| row.outcomes.iter().chain(&row.left_out));
        let counted = counts.into_iter().flatten().filter(|(_, count)| **count > 0);
        let words: Vec<String> = counted.map(|(name, count)| format!("{name} {count}")).collect();
        words.join(", ")
    };
    (told("meter_checks"), told("unverified_readings"))
}

fn both(days: &str, readings: &str) -> (String, String) {
    (days.to_string(), readings.to_string())
}

#[test]
fn the_last_check_at_or_before_a_reading_decides() {
    let reading = [(30 * H, "M1", "umol/L"), (33 * H, "M1", "umol/L")];
    for (checks, days, of_readings) in [
        (&[(30 * H - 1, "M1", "pass")][..], "good 1", "verified 2"),
        (&[(30 * H, "M1", "pass")], "good 1", "verified 2"),
        (&[(30 * H + 1, "M1", "pass")], "unchecked 1", "unverified 1, verified 1"),
        (&[(30 * H - 1, "M2", "pass")], "unchecked 1", "unverified 2"),
        (
            &[(26 * H, "M1", "fail"), (27 * H, "M1", "pass")],
            "good 1",
            "verified 2",
        ),
        (
            &[(27 * H, "M1", "fail"), (26 * H, "M1", "pass")],
            "failed 1",
            "unverified 2",
        ),
        // A check that fails later in the day makes what is read after it unverified.
        (
            &[(29 * H, "M1", "pass"), (33 * H, "M1", "fail")],
            "failed 1",
            "unverified 1, verified 1",
        ),
        // Of one second, by id.
        (
            &[(27 * H, "M1", "fail"), (27 * H, "M1", "pass")],
            "good 1",
            "verified 2",
        ),
    ] {
        assert_eq!(outcomes(&reading, checks), both(days, of_readings), "{checks:?}");
    }
}

#[test]
fn a_passed_check_holds_for_a_day_and_a_failed_one_until_the_next() {
    let reading = [(90 * H, "M1", "umol/L")];
    for (check, days, of_readings) in [
        ((66 * H, "M1", "pass"), "good 1", "verified 1"),
        ((66 * H - 1, "M1", "pass"), "unchecked 1", "unverified 1"),
        ((66 * H - 1, "M1", "fail"), "failed 1", "unverified 1"),
        ((-500 * H, "M1", "fail"), "failed 1", "unverified 1"),
    ] {
        assert_eq!(outcomes(&reading, &[check]), both(days, of_readings), "{check:?}");
    }
}

#[test]
fn a_meter_day_is_a_local_day() {
    // Born at 01:00 local time: local midnight is at 23 h.
    let reading = [(23 * H, "M1", "umol/L")];
    let one_second_before = [(23 * H - 1, "M1", "pass")];
    assert_eq!(outcomes(&reading, &one_second_before), both("good 1", "verified 1"));
    let daily = Rules::nice_without_options();
    assert_eq!(
        outcomes_by(daily.clone(), &reading, &one_second_before),
        both("unchecked 1", "unverified 1")
    );
    let two_days = [(23 * H - 1, "M1", "umol/L"), (23 * H, "M1", "umol/L")];
    let check = [(10 * H, "M1", "pass")];
    assert_eq!(outcomes(&two_days, &check), both("good 2", "verified 2"));
    assert_eq!(
        outcomes_by(daily, &two_days, &check),
        both("good 1, unchecked 1", "unverified 1, verified 1")
    );
}

#[test]
fn a_reading_set_aside_for_its_unit_was_taken_and_one_without_a_meter_makes_no_day() {
    let readings = [(30 * H, "M1", ""), (32 * H, "M1", "umol/L"), (33 * H, "", "umol/L")];
    assert_eq!(
        outcomes(&readings, &[(31 * H, "M1", "pass")]),
        both("unchecked 1", "unverified 1, verified 1, meter_unknown 1")
    );
    let cells = "screen_id,infant_id,measured_at,value,unit_of_measure,meter_id,unit\n";
    let row = |value: &str, unit: &str, moment: String| format!("x,b,{moment},{value},{unit},M9,dale\n");
    for (rows, readings) in [
        // The row that mends it stands instead.
        ([row("90", "", at(30 * H)), row("90", "umol/L", at(31 * H))], 1),
        ([row("900", "umol/L", at(30 * H)), row("90", "mg", at(31 * H))], 1),
        (
            [row("", "umol/L", at(30 * H)), row("90", "", "2026-07-02".to_string())],
            0,
        ),
    ] {
        let case = Case {
            more: vec![("screens", cells.to_string() + &rows.concat())],
            ..Case::default()
        };
        let network = case.network();
        let all = network.register.readings_without_value.len();
        let live = network.register.babies["b"]
            .screens
            .iter()
            .filter(|s| s.meter_id == "M9")
            .count();
        assert_eq!(all + live, readings, "{rows:?}");
    }
}
