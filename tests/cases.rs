//! Whole cases, worked by hand: extracts in, expected rows of a table out. A case
//! is a folder below `tests/cases`; adding one needs no code (see `README.md`).

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use jiff::tz::TimeZone;
use serde::Deserialize;

use siskin::intake::settle::Through;
use siskin::intake::time::{self, When};

use crate::harness::TestWarehouse;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    title: String,
    through: String,
    /// When each load happens; at `through` where it does not say.
    #[serde(default)]
    loaded: Vec<String>,
}

#[test]
fn every_case_comes_out_as_worked_by_hand() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases");
    let mut folders: Vec<PathBuf> = below(&root);
    if let Ok(only) = std::env::var("CASE") {
        folders.retain(|folder| folder.ends_with(&only));
    }
    assert!(!folders.is_empty());
    let wrong: Vec<String> = folders.iter().flat_map(|folder| check(folder)).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

fn check(folder: &Path) -> Vec<String> {
    let name = folder.file_name().unwrap().to_string_lossy().into_owned();
    let case: Case = toml::from_str(&fs::read_to_string(folder.join("case.toml")).unwrap()).unwrap();
    let zone = TimeZone::get("Europe/London").unwrap();
    let through_s = moment(&case.through, &zone).unwrap();
    let warehouse = TestWarehouse::new();
    let loads = below(folder).into_iter().filter(|path| !path.ends_with("expect"));
    for (number, load) in loads.enumerate() {
        let loaded_at = case.loaded.get(number).unwrap_or(&case.through);
        let loaded_at_s = moment(loaded_at, &zone).unwrap();
        let through = Through {
            all: Some(through_s),
            ..Through::default()
        };
        warehouse.load(&[load], &through, loaded_at_s).unwrap();
    }
    let mut wrong = Vec::new();
    for expected in below(&folder.join("expect")) {
        let table = expected.file_stem().unwrap().to_string_lossy().into_owned();
        let rows = expected_rows(&expected, &zone);
        let (missing, unexpected) = match table.strip_prefix("measures-") {
            Some(month) => measured(&warehouse, month, rows),
            None => stored(&warehouse, &table, rows),
        };
        if !missing.is_empty() || !unexpected.is_empty() {
            wrong.push(format!(
                "case {name} ({}), {table}:\n  expected, not found:\n    {}\n  found, not expected:\n    {}",
                case.title,
                missing.join("\n    "),
                unexpected.join("\n    ")
            ));
        }
    }
    wrong
}

type Row = BTreeMap<String, String>;

/// All rows of a table, on the columns that are expected.
fn stored(warehouse: &TestWarehouse, table: &str, rows: Vec<Row>) -> (Vec<String>, Vec<String>) {
    let columns: Vec<String> = rows
        .first()
        .map(|row| row.keys().cloned().collect())
        .unwrap_or_default();
    let all = warehouse.rows(&format!("select * from {table}"));
    let found: Vec<Row> = all
        .into_iter()
        .map(|row| row.into_iter().filter(|(k, _)| columns.contains(k)).collect())
        .collect();
    compare(rows, found)
}

/// The figures that are named, on the columns that are expected.
fn measured(warehouse: &TestWarehouse, month: &str, rows: Vec<Row>) -> (Vec<String>, Vec<String>) {
    let text = |n: Option<u64>| n.map_or_else(String::new, |n| n.to_string());
    let figures = warehouse.measure(month);
    let mut found = Vec::new();
    for row in &rows {
        let figure = figures
            .iter()
            .find(|f| f.measure == row["measure"] && f.group == row["group"]);
        let Some(f) = figure else { continue };
        let cells = [
            ("measure", f.measure.clone()),
            ("group", f.group.clone()),
            ("numerator", text(f.numerator)),
            ("denominator", text(f.denominator)),
            ("open", f.open.to_string()),
            ("left_out", f.left_out.values().sum::<u64>().to_string()),
        ];
        let cells = cells.into_iter().filter(|(name, _)| row.contains_key(*name));
        found.push(cells.map(|(name, value)| (name.to_owned(), value)).collect());
    }
    compare(rows, found)
}

fn compare(expected: Vec<Row>, found: Vec<Row>) -> (Vec<String>, Vec<String>) {
    let mut unexpected: Vec<String> = found.iter().map(told).collect();
    let mut missing = Vec::new();
    for row in expected.iter().map(told) {
        match unexpected.iter().position(|other| *other == row) {
            Some(place) => {
                unexpected.remove(place);
            }
            None => missing.push(row),
        }
    }
    (missing, unexpected)
}

fn told(row: &Row) -> String {
    row.iter()
        .map(|(k, v)| format!("{k}={v}"))
        .collect::<Vec<_>>()
        .join(" ")
}

fn expected_rows(path: &Path, zone: &TimeZone) -> Vec<Row> {
    let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_path(path).unwrap();
    let header = reader.headers().unwrap().clone();
    let records = reader.records().map(|record| record.unwrap());
    let row = |record: csv::StringRecord| {
        let cells = header.iter().zip(record.iter());
        cells
            .map(|(name, cell)| (name.to_owned(), read(name, cell, zone)))
            .collect()
    };
    records.map(row).collect()
}

/// A cell as it is stored: umol/L as micro-umol/L, a local time as epoch
/// seconds, `26:00:00` as seconds.
fn read(column: &str, cell: &str, zone: &TimeZone) -> String {
    if cell.is_empty() {
        return String::new();
    }
    if column.ends_with("_micro") {
        return ((cell.parse::<f64>().unwrap() * 1e6).round() as i64).to_string();
    }
    if !column.ends_with("_s") {
        return cell.to_owned();
    }
    if let Some(at_s) = moment(cell, zone) {
        return at_s.to_string();
    }
    let sign = if cell.starts_with('-') { -1 } else { 1 };
    let parts: Vec<i64> = cell
        .trim_start_matches('-')
        .split(':')
        .map(|p| p.parse().unwrap())
        .collect();
    match parts[..] {
        [hours, minutes, seconds] => (sign * (hours * 3600 + minutes * 60 + seconds)).to_string(),
        _ => cell.to_owned(),
    }
}

fn moment(text: &str, zone: &TimeZone) -> Option<i64> {
    match time::read(text, zone) {
        Some(When::Moment(moment)) => Some(moment.at_s),
        _ => None,
    }
}

fn below(folder: &Path) -> Vec<PathBuf> {
    let Ok(entries) = fs::read_dir(folder) else {
        return Vec::new();
    };
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.unwrap().path()).collect();
    paths.retain(|path| path.is_dir() || path.extension().is_some_and(|e| e == "csv"));
    paths.sort();
    paths
}
