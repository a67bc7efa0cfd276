//! A protocol that changes on a date: later events are judged by it, earlier ones as before.

use std::collections::BTreeMap;

use jiff::tz::TimeZone;

use siskin::intake::time;

use crate::commands::{siskin, text};
use crate::harness::{PROTOCOL, TestWarehouse};
use crate::oracle_equality::load_all;
use crate::random;

type Row = BTreeMap<String, String>;

/// Judged rows with their moment as `at_s`.
const JUDGED: [&str; 4] = [
    "select screen_id, measured_s as at_s, left_out, is_due, version from judged_screens",
    "select index_screen_id, index_s as at_s, within_s, outcome, due_screens from referral_episodes",
    "select rule, trigger_table, trigger_id, trigger_s as at_s, latest_s, outcome, left_out from recheck_obligations",
    "select specimen_id, collected_s as at_s, is_above_line, is_valid from judged_serum",
];

fn judged(warehouse: &TestWarehouse, query: &str, is_meant: impl Fn(i64) -> bool) -> Vec<Row> {
    let mut rows = warehouse.rows(query);
    rows.retain(|row| is_meant(row["at_s"].parse().unwrap()));
    rows.sort();
    rows
}

#[test]
fn a_change_on_a_date_changes_the_judgement_of_later_events_only() {
    let warehouse = TestWarehouse::new();
    load_all(&warehouse, &random::extracts(2, 200));
    let day = "2026-07-20";
    let zone = TimeZone::get("Europe/London").unwrap();
    let from_s = time::day_begins_s(day.parse().unwrap(), &zone).unwrap();
    let before = JUDGED.map(|query| judged(&warehouse, query, |_| true));

    let version = &PROTOCOL[PROTOCOL.find("[[version]]").unwrap()..];
    let changed = [
        ("NICE CG98 manner, 2026", "stricter"),
        ("2026-01-01", day),
        ("umol_l = 250", "umol_l = 200"),
        ("above_when = \"greater\"", "above_when = \"at_least\""),
        ("age_from_h = 24, within_h = 6", "age_from_h = 24, within_h = 4"),
        ("latest_h = 18", "latest_h = 12"),
    ];
    let stricter = changed.iter().fold(version.to_owned(), |text, (old, new)| {
        assert!(text.contains(old), "{old}");
        text.replace(old, new)
    });
    warehouse.set_protocol(&format!("{PROTOCOL}\n{stricter}"));
    let figures = warehouse.measure("2026-07");
    let name = format!("NICE CG98 manner, 2026; stricter from {day}");
    assert!(figures.iter().all(|figure| figure.protocol == name));
    assert!(
        warehouse
            .measure("2026-08")
            .iter()
            .all(|figure| figure.protocol == "stricter")
    );

    for (query, before) in JUDGED.iter().zip(before) {
        let (earlier, later): (Vec<Row>, Vec<Row>) = before
            .into_iter()
            .partition(|row| row["at_s"].parse::<i64>().unwrap() < from_s);
        assert!(earlier.len() > 5 && later.len() > 5, "{query}");
        assert_eq!(judged(&warehouse, query, |at_s| at_s < from_s), earlier, "{query}");
        let is_of_serum = query.contains("judged_serum");
        // Whether a serum equals its line to the last digit is rarely seen; the others must move.
        assert!(
            is_of_serum || judged(&warehouse, query, |at_s| at_s >= from_s) != later,
            "{query}"
        );
    }
}

#[test]
fn the_page_tells_targets_and_that_the_protocol_changed() {
    let warehouse = TestWarehouse::new();
    load_all(&warehouse, &random::extracts(2, 60));
    let target = |figure: &str, bound: &str| {
        format!("\n[[version.targets]]\nfigure = \"{figure}\"\n{bound}\nsource = \"local\"\n")
    };
    let version = PROTOCOL[PROTOCOL.find("[[version]]").unwrap()..]
        .replace("NICE CG98 manner, 2026", "second")
        .replace("2026-01-01", "2026-07-20");
    let targets =
        target("screening_coverage", "at_most_percent = 0") + &target("referral_in_time", "at_least_percent = 0");
    warehouse.set_protocol(&format!("{PROTOCOL}\n{version}{targets}"));
    let out = warehouse.path().join("reports");
    let (path, to) = (warehouse.path().to_str().unwrap(), out.to_str().unwrap());
    let done = siskin(&["report", "--warehouse", path, "--month", "2026-07", "--out", to]);
    assert!(done.status.success(), "{}", text(&done.stderr));
    let page = std::fs::read_to_string(out.join("2026-07/quality/dashboard.html")).unwrap();
    assert!(page.contains("at most 0 %: not met") && page.contains("at least 0 %: met"));
    assert!(page.contains("The protocol changed within July 2026"));
}
