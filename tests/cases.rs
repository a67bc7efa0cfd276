//! Whole cases, worked by hand: extracts in, expected rows of a table out. A case
//! is a folder below `tests/cases`; adding one needs no code (see `README.md`).

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use jiff::tz::TimeZone;
use serde::Deserialize;

use siskin::intake::settle::Through;
use siskin::intake::time::{self, When};
use siskin::queries::figures::Figure;

use crate::harness::{PROTOCOL, TestWarehouse, aap_protocol};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    title: String,
    through: String,
    /// When each load happens; at `through` where it does not say.
    #[serde(default)]
    loaded: Vec<String>,
    /// Whose manner it is judged in.
    #[serde(default)]
    protocol: Manner,
    /// What its protocol says otherwise: text of it, and what stands there instead.
    #[serde(default)]
    changed: BTreeMap<String, String>,
}

/// The protocol of a case.
#[derive(Clone, Copy, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Manner {
    /// The sample's: NICE CG98, with universal screening.
    #[default]
    Nice,
    /// The AAP 2022 manner, with lines invented for tests.
    Aap,
}

/// Every fourth folder, so that four tests run side by side; or the one that `CASE` names.
fn cases_come_out_as_worked_by_hand(part: usize) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases");
    let all: Vec<PathBuf> = below(&root);
    let only = std::env::var("CASE").ok();
    if let Some(only) = &only {
        assert!(
            all.iter().any(|folder| folder.ends_with(only)),
            "there is no case {only}"
        );
    }
    let folders = all.iter().skip(part).step_by(4);
    let asked = folders.filter(|folder| only.as_ref().is_none_or(|only| folder.ends_with(only)));
    let wrong: Vec<String> = asked.flat_map(|folder| check(folder)).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

#[test]
fn cases_come_out_as_worked_by_hand_first_part() {
    cases_come_out_as_worked_by_hand(0);
}

#[test]
fn cases_come_out_as_worked_by_hand_second_part() {
    cases_come_out_as_worked_by_hand(1);
}

#[test]
fn cases_come_out_as_worked_by_hand_third_part() {
    cases_come_out_as_worked_by_hand(2);
}

#[test]
fn cases_come_out_as_worked_by_hand_last_part() {
    cases_come_out_as_worked_by_hand(3);
}

fn check(folder: &Path) -> Vec<String> {
    let name = folder.file_name().unwrap().to_string_lossy().into_owned();
    let case: Case = toml::from_str(&fs::read_to_string(folder.join("case.toml")).unwrap()).unwrap();
    let zone = TimeZone::get("Europe/London").unwrap();
    let through_s = moment(&case.through, &zone).unwrap();
    let (warehouse, mut protocol) = match case.protocol {
        Manner::Nice => (TestWarehouse::new(), PROTOCOL.to_owned()),
        Manner::Aap => (TestWarehouse::aap(), aap_protocol()),
    };
    for (from, to) in &case.changed {
        assert!(protocol.contains(from), "case {name}: the protocol does not say {from}");
        protocol = protocol.replace(from, to);
    }
    warehouse.set_protocol(&protocol);
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
            Some(rest) => measured(&warehouse, &rest[..MONTH_LENGTH], rows),
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

/// `YYYY-MM`, by which `measures-2026-04.csv` and `measures-2026-04-delay.csv` name their month.
const MONTH_LENGTH: usize = 7;

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

/// The figures that are named, on the columns that are expected. Without a column
/// `split`, a group is that of all or of a unit.
fn measured(warehouse: &TestWarehouse, month: &str, mut rows: Vec<Row>) -> (Vec<String>, Vec<String>) {
    let is_of_groups = |row: &Row| row.get("split").is_some_and(|split| split != "all" && split != "unit");
    let figures = match rows.iter().any(is_of_groups) {
        true => warehouse.measure_all(month),
        false => warehouse.measure(month),
    };
    let mut found = Vec::new();
    for row in &mut rows {
        if let Some(value) = row.get_mut("value").filter(|value| !value.is_empty()) {
            *value = four_places(value.parse().unwrap());
        }
        let is_meant = |f: &&Figure| {
            let is_split = match row.get("split") {
                Some(split) => f.split == *split,
                None => f.split == "all" || f.split == "unit",
            };
            is_split && f.measure == row["measure"] && f.group == row["group"]
        };
        let Some(figure) = figures.iter().find(is_meant) else {
            continue;
        };
        let mut cells = cells_of(figure);
        cells.retain(|name, _| row.contains_key(name));
        found.push(cells);
    }
    compare(rows, found)
}

fn cells_of(f: &Figure) -> Row {
    let text = |n: Option<u64>| n.map_or_else(String::new, |n| n.to_string());
    let cells = [
        ("measure", f.measure.clone()),
        ("split", f.split.clone()),
        ("group", f.group.clone()),
        ("numerator", text(f.numerator)),
        ("denominator", text(f.denominator)),
        ("value", f.value.map_or_else(String::new, four_places)),
        ("open", f.open.to_string()),
        ("outcomes", counts(&f.outcomes)),
        ("left_out", f.left_out.values().sum::<u64>().to_string()),
        ("reasons", counts(&f.left_out)),
    ];
    cells.map(|(name, cell)| (name.to_owned(), cell)).into()
}

fn four_places(value: f64) -> String {
    format!("{value:.4}")
}

/// `in_time 1; late 2`: those above 0, by name.
fn counts(by_name: &BTreeMap<String, u64>) -> String {
    let counted = by_name.iter().filter(|(_, n)| **n > 0);
    counted
        .map(|(name, n)| format!("{name} {n}"))
        .collect::<Vec<_>>()
        .join("; ")
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
