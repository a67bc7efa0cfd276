//! The measures, by SQL, equal the oracle's, by loops over raw rows.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use jiff::tz::TimeZone;

use siskin::intake::settle::Through;
use siskin::intake::time;
use siskin::month::Month;
use siskin::queries::figures::Figure;

use crate::commands::{demo, measure};
use crate::harness::TestWarehouse;
use crate::oracle::{self, Load, Rules};
use crate::random;

/// What is compared of one row.
#[derive(Debug, PartialEq)]
struct Told {
    numerator: Option<u64>,
    denominator: Option<u64>,
    value: Option<f64>,
    outcomes: BTreeMap<String, u64>,
    left_out: BTreeMap<String, u64>,
    open: u64,
    provisional: bool,
}

type Key = (String, String, String, String);

/// Differences between the two, in words.
pub fn differences(ours: &[Figure], theirs: &[oracle::Figure]) -> Vec<String> {
    // Completeness is counted by hand in `tests/cases/record_quality`, not by the oracle.
    let is_of_care = |figure: &&Figure| !figure.measure.starts_with("record_quality_");
    let ours: BTreeMap<Key, Told> = ours
        .iter()
        .filter(is_of_care)
        .map(ours_told)
        .filter(|(key, told)| is_told(key, told))
        .collect();
    let theirs: BTreeMap<Key, Told> = theirs
        .iter()
        .map(theirs_told)
        .filter(|(key, told)| is_told(key, told))
        .collect();
    let mut found = Vec::new();
    for (key, told) in &ours {
        match theirs.get(key) {
            None => found.push(format!("{key:?}: SQL {told:?}, the oracle has no such row")),
            Some(other) if !same(told, other) => found.push(format!("{key:?}:\n  SQL    {told:?}\n  oracle {other:?}")),
            Some(_) => {}
        }
    }
    for (key, told) in theirs.iter().filter(|(key, _)| !ours.contains_key(*key)) {
        found.push(format!("{key:?}: oracle {told:?}, SQL has no such row"));
    }
    found
}

/// A unit in which nothing is counted may have a row or none.
fn is_told(key: &Key, told: &Told) -> bool {
    let counted = told.outcomes.values().sum::<u64>() + told.left_out.values().sum::<u64>();
    key.2 == "all" || counted + told.denominator.unwrap_or(0) > 0
}

fn same(a: &Told, b: &Told) -> bool {
    let close = match (a.value, b.value) {
        (Some(a), Some(b)) => (a - b).abs() < 1e-9,
        (a, b) => a == b,
    };
    let rest = |told: &Told| {
        (
            told.numerator,
            told.denominator,
            told.outcomes.clone(),
            told.left_out.clone(),
            told.open,
            told.provisional,
        )
    };
    close && rest(a) == rest(b)
}

fn key(measure: &str, month: &str, split: &str, group: &str) -> Key {
    (measure.to_owned(), month.to_owned(), split.to_owned(), group.to_owned())
}

/// Failed attempts are counted beside the referrals: only their counts are compared.
fn trimmed(measure: &str, mut told: Told) -> Told {
    if measure == "referral_failed_attempts" {
        told.outcomes.clear();
        told.left_out.clear();
        told.open = 0;
    }
    told
}

fn ours_told(f: &Figure) -> (Key, Told) {
    let told = Told {
        numerator: f.numerator,
        denominator: f.denominator,
        value: f.value,
        outcomes: f.outcomes.clone(),
        left_out: f.left_out.clone(),
        open: f.open,
        provisional: f.provisional,
    };
    (key(&f.measure, &f.month, &f.split, &f.group), trimmed(&f.measure, told))
}

fn theirs_told(f: &oracle::Figure) -> (Key, Told) {
    let told = Told {
        numerator: f.numerator,
        denominator: f.denominator,
        value: f.value,
        outcomes: f.outcomes.clone(),
        left_out: f.left_out.clone(),
        open: f.open,
        provisional: f.provisional,
    };
    (key(&f.measure, &f.month, &f.split, &f.group), trimmed(&f.measure, told))
}

/// Loads one random network and compares all its months.
fn compare(seed: u64, babies: usize) -> Vec<String> {
    let loads = random::extracts(seed, babies);
    let warehouse = TestWarehouse::new();
    load_all(&warehouse, &loads);
    let mut found = Vec::new();
    for month in random::months(seed) {
        let theirs = oracle::figures(&loads, &Rules::default(), &month);
        found.extend(differences(&warehouse.measure(&month), &theirs));
    }
    found
}

pub fn load_all(warehouse: &TestWarehouse, loads: &[Load]) {
    for load in loads {
        load_from(warehouse, tempfile::tempdir().unwrap().path(), load);
    }
}

/// Writes the files of a load into a folder and loads them.
pub fn load_from(warehouse: &TestWarehouse, folder: &Path, load: &Load) {
    let mut paths = Vec::new();
    for (i, (table, text)) in (1..).zip(&load.files) {
        let path = folder.join(format!("{table}_{i}.csv"));
        fs::write(&path, text).unwrap();
        paths.push(path);
    }
    let mut through = Through::default();
    for (table, at) in &load.through {
        match table {
            Some(table) => {
                through.tables.insert(table.clone(), *at);
            }
            None => through.all = Some(*at),
        }
    }
    warehouse.load(&paths, &through, load.at).unwrap();
}

fn compare_seeds(seeds: std::ops::Range<u64>, babies: usize) {
    let mut wrong = Vec::new();
    for seed in seeds {
        let found = compare(seed, babies);
        if !found.is_empty() {
            wrong.push(format!(
                "seed {seed}: {} differences, the first:\n{}",
                found.len(),
                found[..found.len().min(4)].join("\n")
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

/// The sample as the demo loads it: a load a month, complete through its last midnight.
#[test]
fn measures_equal_the_oracle_on_the_sample() {
    let extracts = demo().warehouse().join("extracts");
    let (first, last): (Month, Month) = ("2024-10".parse().unwrap(), "2026-09".parse().unwrap());
    let months: Vec<String> = Month::range(first, last).iter().map(Month::to_string).collect();
    let zone = TimeZone::get("Europe/London").unwrap();
    let load = |month: &String| {
        let next = month.parse::<Month>().unwrap().plus(1);
        let end_s = time::day_begins_s(next.first_day(), &zone).unwrap();
        let tables = ["births", "screens", "serum", "phototherapy", "stays"];
        let read = |table: &str| fs::read_to_string(extracts.join(month).join(format!("{table}.csv"))).unwrap();
        Load {
            at: end_s,
            files: tables.map(|table| (table.to_owned(), read(table))).to_vec(),
            through: vec![(None, end_s)],
        }
    };
    let loads: Vec<Load> = months.iter().map(load).collect();
    let mut found = Vec::new();
    // One month with everything decided, and the last; `sample.rs` compares all with the truth.
    for month in ["2025-10", "2026-09"] {
        let out = measure(month, "json");
        let ours: Vec<Figure> = serde_json::from_slice(&out.stdout).unwrap();
        assert!(ours.iter().any(|f| f.denominator > Some(0)));
        found.extend(differences(&ours, &oracle::figures(&loads, &Rules::default(), month)));
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn measures_equal_the_oracle_on_random_extracts() {
    compare_seeds(0..10, 200);
    // Found to differ once: risk factors written with spaces, a baby born after data end.
    compare_seeds(1016..1017, 200);
}

/// About 200 extracts: `cargo test -- --ignored many_random_extracts`
#[test]
#[ignore = "takes long; see tests/README.md"]
fn measures_equal_the_oracle_on_many_random_extracts() {
    compare_seeds(1000..1200, 200);
}
