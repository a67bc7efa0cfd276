//! `siskin measure --explain`: flows add up, and end at the figures; keys are those of the counts.

use std::collections::BTreeMap;

use serde_json::Value;

use crate::commands::{demo, siskin, text};

fn explained(name: &str, month: &str, more: &[&str]) -> std::process::Output {
    let warehouse = demo().warehouse();
    let path = warehouse.to_str().unwrap();
    let arguments = ["measure", "--warehouse", path, "--explain", name, "--month", month];
    siskin(&[&arguments[..], more].concat())
}

fn flows(name: &str, month: &str) -> Vec<Value> {
    let out = explained(name, month, &["--format", "json"]);
    assert!(out.status.success(), "{}", text(&out.stderr));
    serde_json::from_slice(&out.stdout).unwrap()
}

fn figures(month: &str) -> BTreeMap<String, Value> {
    let warehouse = demo().warehouse();
    let path = warehouse.to_str().unwrap();
    let out = siskin(&["measure", "--warehouse", path, "--month", month, "--format", "json"]);
    let all: Vec<Value> = serde_json::from_slice(&out.stdout).unwrap();
    let named = all.into_iter().map(|f| (f["measure"].as_str().unwrap().to_owned(), f));
    named.collect()
}

fn count(sql: &str) -> u64 {
    let warehouse = demo().warehouse();
    let path = warehouse.to_str().unwrap();
    let out = siskin(&["ask", "--warehouse", path, sql, "--format", "json"]);
    assert!(out.status.success(), "{}", text(&out.stderr));
    let rows: Value = serde_json::from_slice(&out.stdout).unwrap();
    rows[0]["n"].as_u64().unwrap()
}

fn sum(dropped: &Value) -> u64 {
    dropped.as_object().unwrap().values().map(|n| n.as_u64().unwrap()).sum()
}

/// What is left of a step is what was left before it without what dropped out.
fn assert_adds_up(flow: &Value, figure: &Value) {
    let steps = flow["steps"].as_array().unwrap();
    for pair in steps.windows(2) {
        let before = pair[0]["left"].as_u64().unwrap();
        assert_eq!(
            before,
            pair[1]["left"].as_u64().unwrap() + sum(&pair[1]["dropped"]),
            "{flow}"
        );
    }
    let (of, counted) = (&steps[steps.len() - 2], &steps[steps.len() - 1]);
    assert_eq!(of["left"], figure["denominator"], "{flow}");
    assert_eq!(counted["left"], figure["numerator"], "{flow}");
}

#[test]
fn every_flow_adds_up_and_ends_at_its_figure() {
    let figures = figures("2026-06");
    let mut told = 0;
    for query in siskin::queries::catalogue::measures() {
        let kind = query.header.get("kind");
        for flow in flows(query.name, "2026-06") {
            let name = flow["figure"].as_str().unwrap();
            // A share by an hour counts only part of those drawn; a rate has two beginnings.
            if kind == "proportion" || kind == "median" {
                assert_adds_up(&flow, &figures[name]);
                told += 1;
            }
            if kind == "rate" {
                let steps = flow["steps"].as_array().unwrap();
                assert_eq!(steps[0]["left"], figures[name]["denominator"]);
                assert_eq!(steps[2]["left"], figures[name]["numerator"]);
                assert_eq!(
                    steps[1]["left"].as_u64().unwrap(),
                    steps[2]["left"].as_u64().unwrap() + sum(&steps[2]["dropped"])
                );
                told += 1;
            }
        }
    }
    assert!(told > 35, "{told}");
}

/// The first step holds every row there is, counted apart from the measure.
#[test]
fn flows_begin_with_all_rows_of_the_month() {
    let begins = |name: &str| flows(name, "2026-06")[0]["steps"][0]["left"].as_u64().unwrap();
    let screens = count("select count(*) as n from screens where month = '2026-06'");
    assert!(screens > 1000);
    assert_eq!(begins("missed_referral"), screens);
    assert_eq!(begins("screens_outside_limits_few_readings"), screens);
    let births = count("select count(*) as n from births where month = '2026-06'");
    assert_eq!(begins("screening_coverage"), births);
    assert_eq!(begins("jaundice_readmission_28d"), births);
    assert_eq!(
        begins("treatment_below_line"),
        count("select count(*) as n from courses where month = '2026-06'")
    );
    assert_eq!(
        begins("dangerous_miss"),
        count("select count(*) as n from pairs where month = '2026-06'")
    );
}

/// Screens that could not call, called for none, and belong to an open referral, each counted
/// by a query of its own.
#[test]
fn the_flow_of_missed_referral_tells_who_dropped_out_where() {
    let flow = &flows("missed_referral", "2026-06")[0];
    let of_month = "from judged_screens where month = '2026-06'";
    let dropped = |name: &str| {
        let steps = flow["steps"].as_array().unwrap().iter();
        steps.filter_map(|step| step["dropped"][name].as_u64()).sum::<u64>()
    };
    let not_due = count(&format!(
        "select count(*) as n {of_month} and left_out is null and not is_due"
    ));
    assert_eq!(dropped("not_due"), not_due);
    let could_not = count(&format!(
        "select count(*) as n {of_month} and left_out is not null and not meets_plain_clause"
    ));
    assert_eq!(dropped("could_not_call"), could_not);
    let due = count(&format!("select count(*) as n {of_month} and is_due"));
    let referrals = count("select count(*) as n from referral_episodes where month = '2026-06'");
    assert!(due > referrals && referrals > 0);
    assert_eq!(dropped("same_referral"), due - referrals);
}

#[test]
fn rows_are_the_keys_behind_each_count() {
    let out = explained("missed_referral", "2026-06", &["--rows", "--format", "csv"]);
    let rows = text(&out.stdout);
    let mut lines = rows.lines();
    assert_eq!(lines.next(), Some("figure,kind,name,unit,infant_id,case_id,at"));
    let figure = &figures("2026-06")["missed_referral"];
    let of_figure: Vec<&str> = lines.filter(|line| line.starts_with("missed_referral,")).collect();
    for (outcome, n) in figure["outcomes"].as_object().unwrap() {
        let stem = format!("missed_referral,outcome,{outcome},");
        let found = of_figure.iter().filter(|line| line.starts_with(&stem)).count() as u64;
        assert_eq!(found, n.as_u64().unwrap(), "{outcome}");
    }
    let missed = of_figure.iter().find(|line| line.contains(",outcome,missed,")).unwrap();
    let cells: Vec<&str> = missed.split(',').collect();
    let is_there = count(&format!(
        "select count(*) as n from screens where screen_id = '{}' and infant_id = '{}'",
        cells[5], cells[4]
    ));
    assert_eq!(is_there, 1);
    assert!(cells[6].ends_with("+01:00"), "{missed}");
}

#[test]
fn one_figure_is_explained_alone_and_its_measure_with_all() {
    let names = |name: &str| -> Vec<String> {
        let told = flows(name, "2026-06");
        told.iter().map(|f| f["figure"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(names("untreated_24h"), ["untreated_24h"]);
    assert_eq!(
        names("time_to_treatment"),
        [
            "time_to_treatment",
            "untreated_6h",
            "untreated_24h",
            "never_treated",
            "treated_first"
        ]
    );
}

#[test]
fn the_definition_and_the_sql_are_told_without_a_month() {
    let warehouse = demo().warehouse();
    let path = warehouse.to_str().unwrap();
    let out = siskin(&["measure", "--warehouse", path, "--explain", "missed_referral"]);
    let told = text(&out.stdout);
    for part in [
        "Missed referral (missed_referral)",
        "Left out",
        "  missed_referral = missed / (in_time + late + missed)\n",
        "  referral_failed_attempts = ",
        "open: not yet decidable",
        "Table referral_indices",
        "SQL of the measure",
        "SQL of the table aged_tests",
    ] {
        assert!(told.contains(part), "{part}");
    }
    assert!(!told.contains("came about"));
    let formulas = |name: &str| text(&siskin(&["measure", "--warehouse", path, "--explain", name]).stdout);
    let treated = formulas("time_to_treatment");
    assert!(
        treated.contains("  untreated_6h = (late + none) / (in_time + late + none)\n"),
        "{treated}"
    );
    assert!(
        treated.contains("  never_treated = never / (treated + never), told besides: left, open\n"),
        "{treated}"
    );
    let timed = formulas("time_to_serum");
    assert!(timed.contains("competing: went home or died without serum"), "{timed}");
    let severe = formulas("severe_jaundice");
    assert!(
        severe.contains("  severe_jaundice_kernicterus_code = cases / births, needs the table: stays\n"),
        "{severe}"
    );
}

/// The steps as a table: the same numbers as in JSON, and nothing before them.
#[test]
fn a_flow_is_told_as_csv() {
    let out = explained("recheck_adherence", "2026-06", &["--format", "csv"]);
    let csv = text(&out.stdout);
    let mut rows = csv.lines();
    assert_eq!(rows.next(), Some("figure,step,kind,name,n"));
    let mut found: Vec<String> = rows.map(str::to_owned).collect();
    let mut expected = Vec::new();
    for flow in flows("recheck_adherence", "2026-06") {
        let figure = flow["figure"].as_str().unwrap();
        for (i, step) in flow["steps"].as_array().unwrap().iter().enumerate() {
            for (reason, n) in step["dropped"].as_object().unwrap() {
                expected.push(format!("{figure},{},dropped,{reason},{n}", i + 1));
            }
            let what = step["what"].as_str().unwrap();
            assert!(!what.contains(','), "{what}");
            expected.push(format!("{figure},{},left,{what},{}", i + 1, step["left"]));
        }
    }
    assert!(found.len() > 20, "{csv}");
    found.sort();
    expected.sort();
    assert_eq!(found, expected);
}

/// The sample's protocol has no rule by the gap at going home, no band of 400 and no day 21.
#[test]
fn a_figure_of_a_rule_that_the_protocol_lacks_is_no_bare_heading() {
    for (name, other) in [
        (
            "recheck_adherence_discharge_gap",
            "recheck_adherence_near_line, recheck_adherence_treatment_first",
        ),
        ("severe_jaundice_above_400", "severe_jaundice_above_340"),
        ("jaundice_readmission_21d", "jaundice_readmission_7d"),
    ] {
        let warehouse = demo().warehouse();
        let path = warehouse.to_str().unwrap();
        let without_month = siskin(&["measure", "--warehouse", path, "--explain", name]);
        for out in [explained(name, "2026-06", &[]), without_month] {
            assert_eq!(out.status.code(), Some(2), "{name}");
            assert_eq!(text(&out.stdout), "");
            let said = text(&out.stderr);
            assert!(
                said.contains(&format!("the protocol in force has no rule that gives '{name}'")),
                "{said}"
            );
            assert!(said.contains(&format!("name one of: {other}")), "{said}");
        }
    }
}

#[test]
fn outcomes_of_the_records_are_not_reasons_of_rows() {
    let out = text(&explained("record_quality_feeding", "2026-06", &[]).stdout);
    assert!(out.contains("incomplete: not complete"), "{out}");
    assert!(!out.contains("no record says when"), "{out}");
}

#[test]
fn columns_to_split_by_may_be_spaced_but_not_doubled() {
    let warehouse = demo().warehouse();
    let path = warehouse.to_str().unwrap();
    let by = |columns: &str| siskin(&["measure", "--warehouse", path, "--month", "2026-06", "--by", columns]);
    let spaced = by("unit, night");
    assert!(spaced.status.success(), "{}", text(&spaced.stderr));
    assert_eq!(text(&spaced.stdout), text(&by("unit,night").stdout));
    for (twice, word) in [("unit,unit", "unit"), ("night,unit,night", "night")] {
        let out = by(twice);
        assert_eq!(out.status.code(), Some(2), "{twice}");
        let said = text(&out.stderr);
        assert!(said.contains(&format!("--by names {word} twice")), "{said}");
    }
    let unknown = by("ward");
    assert_eq!(unknown.status.code(), Some(2));
    assert!(text(&unknown.stderr).contains("skin_tone"), "{}", text(&unknown.stderr));
}

#[test]
fn without_a_month_there_is_nothing_to_print_as_csv() {
    let warehouse = demo().warehouse();
    let path = warehouse.to_str().unwrap();
    for format in ["csv", "json"] {
        let out = siskin(&[
            "measure",
            "--warehouse",
            path,
            "--explain",
            "missed_referral",
            "--format",
            format,
        ]);
        assert_eq!(out.status.code(), Some(2));
        assert!(
            text(&out.stderr).contains("to do: add --month"),
            "{}",
            text(&out.stderr)
        );
    }
}

#[test]
fn what_cannot_be_explained_is_told_with_what_can() {
    let out = explained("missed_referals", "2026-06", &[]);
    assert_eq!(out.status.code(), Some(2));
    assert!(text(&out.stderr).contains("name one of: screening_coverage, missed_referral"));
    let out = explained("missed_referral", "2031-01", &[]);
    assert_eq!(out.status.code(), Some(3));
    let warehouse = demo().warehouse();
    let path = warehouse.to_str().unwrap();
    let rows = siskin(&["measure", "--warehouse", path, "--month", "2026-06", "--rows"]);
    assert_eq!(rows.status.code(), Some(2), "--rows goes with --explain");
    let two = siskin(&[
        "measure",
        "--warehouse",
        path,
        "--month",
        "2026-06",
        "--by",
        "night,feeding",
    ]);
    assert_eq!(two.status.code(), Some(2));
    assert!(text(&two.stderr).contains("unit and one other"));
}
