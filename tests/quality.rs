//! The checks of the records: for each a folder of extracts that trip it, with near misses,
//! and the findings worked by hand. Adding one needs no code (see `README.md`).

use std::fs;
use std::path::Path;

use jiff::tz::TimeZone;
use serde::Deserialize;

use siskin::engine::{Limits, Session};
use siskin::intake::settle::Through;
use siskin::intake::time::{self, When};
use siskin::queries::catalogue;
use siskin::queries::quality::{self, Level};
use siskin::warehouse::Warehouse;

use crate::harness::TestWarehouse;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    title: String,
    through: String,
}

/// About, month, what was found, rows.
type Row = (String, String, String, i64);

fn root() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/quality")
}

/// Loads the folders of a case, each a load; the last as `despite` says.
fn loaded(check: &str, despite: &[&str]) -> (TestWarehouse, Result<(), String>) {
    let folder = root().join(check);
    let case: Case = toml::from_str(&fs::read_to_string(folder.join("case.toml")).unwrap()).unwrap();
    assert!(!case.title.is_empty());
    let zone = TimeZone::get("Europe/London").unwrap();
    let Some(When::Moment(through)) = time::read(&case.through, &zone) else {
        panic!("{check}: {} is no moment", case.through);
    };
    let mut warehouse = TestWarehouse::new();
    warehouse.despite = despite.iter().map(|name| (*name).to_owned()).collect();
    let terms = Through {
        all: Some(through.at_s),
        ..Through::default()
    };
    let mut last = Ok(());
    for load in 1.. {
        let path = folder.join(load.to_string());
        if !path.is_dir() {
            break;
        }
        let built = warehouse.load(&[path], &terms, through.at_s);
        last = built.map(|_| ()).map_err(|error| error.to_string());
    }
    (warehouse, last)
}

fn expected(check: &str) -> Vec<Row> {
    let mut reader = csv::Reader::from_path(root().join(check).join("expected.csv")).unwrap();
    let mut rows: Vec<Row> = reader.deserialize().map(Result::unwrap).collect();
    rows.sort();
    rows
}

#[test]
fn every_check_of_the_records_finds_what_was_worked_by_hand() {
    let mut wrong = Vec::new();
    for query in catalogue::quality() {
        let (warehouse, last) = loaded(query.name, &["most_rows_set_aside", "nothing_taken"]);
        last.unwrap();
        let found = warehouse.run(|session| async move {
            let mut all = quality::run(&session, Level::Warn, 2).await.unwrap();
            all.extend(quality::run(&session, Level::Stop, 2).await.unwrap());
            all
        });
        let of_check = found.into_iter().filter(|f| f.check == query.name);
        let mut rows: Vec<Row> = of_check.map(|f| (f.about, f.month, f.found, f.n)).collect();
        rows.sort();
        let by_hand = expected(query.name);
        assert!(!by_hand.is_empty(), "{}: no finding is expected", query.name);
        if rows != by_hand {
            wrong.push(format!("{}:\n  found    {rows:?}\n  expected {by_hand:?}", query.name));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_check_of_level_stop_publishes_nothing_and_says_why() {
    for check in ["most_rows_set_aside", "nothing_taken"] {
        let (warehouse, last) = loaded(check, &[]);
        let error = last.unwrap_err();
        assert!(error.contains("nothing was published"), "{error}");
        assert!(error.contains(&format!("{check}: ")), "{check} is not named: {error}");
        let loads = warehouse
            .warehouse()
            .newest()
            .map_or(0, |newest| newest.manifest().load);
        let folders = (1..)
            .take_while(|load| root().join(check).join(load.to_string()).is_dir())
            .count();
        assert!(
            loads < folders as i64,
            "{check}: load {loads} of {folders} was published"
        );
    }
}

#[test]
fn the_unchanged_sample_gives_no_finding() {
    let snapshot = Warehouse::at(&crate::commands::demo().warehouse())
        .unwrap()
        .newest()
        .unwrap();
    let session = Session::of(&snapshot, &Limits::default()).unwrap();
    let runtime = tokio::runtime::Runtime::new().unwrap();
    let found = runtime.block_on(quality::run(&session, Level::Warn, 2)).unwrap();
    assert_eq!(found, []);
}

#[test]
fn a_limit_of_the_protocol_takes_the_place_of_the_one_that_ships() {
    let warehouse = TestWarehouse::with_protocol(&crate::harness::PROTOCOL.replacen(
        "[[version]]",
        "[records]\nstop_percent = 100\nstop_rows = 1000\n\n[[version]]",
        1,
    ));
    let folder = tempfile::tempdir().unwrap();
    fs::write(
        folder.path().join("births.csv"),
        "infant_id,mother_id,born_at,gestation,birth_weight_g,sex,plurality,birth_order,unit,feeding,risk_factors,skin_tone,ethnicity\nb1,,2026-01-01T08:00,39,,,,,,,,,\n",
    )
    .unwrap();
    warehouse
        .load(&[folder.path().to_owned()], &Through::default(), 1_782_860_400)
        .unwrap();
    let limits = &warehouse.rows("select stop_percent, stop_rows, nothing_rows from quality_limits")[0];
    assert_eq!(
        (
            limits["stop_percent"].as_str(),
            limits["stop_rows"].as_str(),
            limits["nothing_rows"].as_str()
        ),
        ("100", "1000", "5")
    );
}
