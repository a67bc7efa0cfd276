//! Rows of all tables, written as an export and read again: the same cells.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;

use siskin::invent::as_fhir::FhirWriter;
use siskin::warehouse::tables::{Kind, SOURCE_TABLES, SourceTable};

use super::records_of;

const ZONE: &str = "Europe/Berlin";

/// The live rows: table and id to cells.
type Live = BTreeMap<(&'static str, String), Vec<String>>;

/// A generator of numbers (xorshift64*, Vigna 2016).
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 33) as usize % n
    }

    fn pick(&mut self, from: &[&str]) -> String {
        from[self.below(from.len())].to_owned()
    }
}

/// Moments, among them the repeated hour of October and the missing one of March.
const MOMENTS: &[&str] = &[
    "2025-10-26T02:30",
    "2025-10-26T02:30:00+01:00",
    "2026-03-29T02:15:10",
    "2026-03-29 04:00",
    "2026-04-02T23:59:59Z",
    "2026-04-03T10:00",
];

fn instant(text: &str) -> String {
    let zone = TimeZone::get(ZONE).unwrap();
    if let Ok(at) = text.parse::<Timestamp>() {
        return at.as_second().to_string();
    }
    match text.parse::<DateTime>() {
        Ok(local) if text.len() > 10 => zone
            .to_ambiguous_timestamp(local)
            .compatible()
            .unwrap()
            .as_second()
            .to_string(),
        _ => text.to_owned(),
    }
}

/// A cell as it is compared: moments by the second.
fn compared(kind: Kind, cell: &str) -> String {
    match kind {
        Kind::Event | Kind::Birth | Kind::Moment => instant(cell),
        _ => cell.to_owned(),
    }
}

fn cell(dice: &mut Dice, table: &str, column: &str, number: usize) -> String {
    let infants = ["N-1", "N-2", "N-3", "N 4/ä", "N-5", "nobody"];
    match column {
        "infant_id" if table == "births" => infants[number % 5].to_owned(),
        "infant_id" => dice.pick(&infants),
        "screen_id" | "specimen_id" | "episode_id" | "stay_id" | "exchange_id" | "check_id" => {
            format!("{} {}", &table[..2], dice.below(12))
        }
        "mother_id" => dice.pick(&["", "M-1", "M 2"]),
        "born_at" => dice.pick(&[
            "2025-10-25T19:42",
            "2025-10-26T02:30",
            "2025-10-25",
            "",
            "2026-03-29T02:15:10",
        ]),
        "gestation" => dice.pick(&["38+4", "38", "", "35+0", "38+9", "term"]),
        "birth_weight_g" => dice.pick(&["3250", "", "850", "3.2 kg"]),
        "sex" => dice.pick(&["F", "M", "", "other", "I"]),
        "plurality" => dice.pick(&["1", "2", ""]),
        "birth_order" => dice.pick(&["1", "2", "", "second"]),
        "unit" => dice.pick(&["", "Ward A", "NICU \"2\""]),
        "feeding" => dice.pick(&["breast", "mixed", "formula", ""]),
        "risk_factors" => dice.pick(&["", "g6pd", "g6pd;sepsis"]),
        "skin_tone" | "ethnicity" => dice.pick(&["", "light", "Fitzpatrick 4"]),
        "value" => dice.pick(&[
            "250",
            "14.2",
            ">340",
            "<10",
            "",
            "haemolysed",
            "20.0",
            "20.10",
            "1e3",
            "-5",
            "0250",
        ]),
        "unit_of_measure" => dice.pick(&["umol/L", "mg/dL", "", "mg%", "µmol/l"]),
        "body_site" => dice.pick(&["forehead", "sternum", ""]),
        "readings" => dice.pick(&["", "3", "1"]),
        "meter_id" => dice.pick(&["", "SN-1", "SN 2"]),
        "operator_id" => dice.pick(&["", "op-1", "Nurse B"]),
        "id_entry" => dice.pick(&["", "scanned", "typed"]),
        "setting" => dice.pick(&["", "inpatient", "home"]),
        "analyte" => dice.pick(&[
            "total",
            "direct",
            "14631-6",
            "1975-2",
            "42719-5",
            "",
            "bilirubin",
            "2345-7",
        ]),
        "specimen" => dice.pick(&["serum", "plasma", "urine", "", "csf"]),
        "status" => dice.pick(&["preliminary", "final", "corrected", "cancelled", "withdrawn", ""]),
        "kind" => dice.pick(&["single", "multiple", "", "fibreoptic"]),
        "source" => dice.pick(&["birth", "home", "transfer", ""]),
        "disposition" => dice.pick(&["home", "transfer", "died", ""]),
        "diagnoses" => dice.pick(&["", "P59.9", "P59.9;P55.1", "P57.0;P59.9;D55.0"]),
        "outcome" => dice.pick(&["pass", "fail", "", "weak"]),
        // Long after each birth: a stay without a source is no birth stay then.
        "admitted_at" => dice.pick(&["2026-04-03T10:00", "2026-04-05T00:00+02:00"]),
        "discharged_at" | "stopped_at" | "resulted_at" => dice.pick(&["", "2026-04-06T01:02:03", "2026-04-07T09:00Z"]),
        _ => dice.pick(MOMENTS),
    }
}

/// Rows in the order in which they are written.
fn rows(dice: &mut Dice) -> Vec<(&'static SourceTable, Vec<String>)> {
    let mut rows = Vec::new();
    for number in 0..120 {
        let table = match number {
            0..5 => &SOURCE_TABLES[0],
            _ => &SOURCE_TABLES[dice.below(7)],
        };
        let mut cells: Vec<String> = table
            .columns
            .iter()
            .map(|(column, _)| cell(dice, table.name, column, number))
            .collect();
        if table.name == "births" && number >= 5 {
            // A birth cannot lose its mother or its moment in FHIR.
            cells[1] = "M-9".to_owned();
            cells[2] = "2025-10-25T19:42".to_owned();
        }
        let is_withdrawn = number > 60 && dice.below(12) == 0;
        cells.push(if is_withdrawn { "withdrawn" } else { "" }.to_owned());
        cells.push(format!("2026-05-01T{:02}:{:02}:00Z", number / 60, number % 60));
        rows.push((table, cells));
    }
    let merges = SourceTable::named("merges").unwrap();
    let merge =
        |from: &str, into: &str, at: &str, status: &str| [from, into, at, status, at].map(str::to_owned).to_vec();
    rows.push((merges, merge("N-3", "N-2", "2026-06-01T10:00:00Z", "")));
    rows.push((merges, merge("elsewhere", "N-2", "2026-06-01T11:00:00Z", "")));
    rows.push((merges, merge("N-5", "N-1", "2026-06-01T10:00:00Z", "")));
    rows.push((merges, merge("N-5", "N-1", "2026-06-02T10:00:00Z", "withdrawn")));
    rows
}

/// What stands after all rows: the later row of an id, a withdrawn id for good.
fn live(rows: &[(&'static SourceTable, Vec<String>)]) -> Live {
    let mut live = Live::new();
    let mut gone = BTreeSet::new();
    for (table, cells) in rows {
        let key = (table.name, cells[0].clone());
        let status = table.columns.iter().position(|(column, _)| *column == "status");
        let is_withdrawn = status.is_some_and(|place| cells[place] == "withdrawn");
        if is_withdrawn || cells[table.columns.len()] == "withdrawn" {
            live.remove(&key);
            gone.insert(key);
        } else if !gone.contains(&key) {
            let kinds = table.columns.iter().map(|(_, kind)| *kind);
            live.insert(key, kinds.zip(cells).map(|(kind, cell)| compared(kind, cell)).collect());
        }
    }
    live
}

/// The same of an export that was read: parts change only what they say.
fn live_in(folder: &std::path::Path) -> Live {
    let records = records_of(folder);
    let mut read = Vec::new();
    for (file, record) in &records {
        assert_eq!(record.fault, None, "{file} {record:?}");
        read.extend(&record.rows);
    }
    read.sort_by_key(|row| row.value("recorded_at").parse::<Timestamp>().ok());
    let mut live = Live::new();
    let mut gone = BTreeSet::new();
    for row in read {
        assert_eq!(row.fault, None, "{row:?}");
        let key = (row.table.name, row.cells[0].as_ref().unwrap().value.clone());
        if row.value("record_status") == "withdrawn" {
            gone.insert(key);
            continue;
        }
        let width = row.table.columns.len();
        let known = live.entry(key).or_insert_with(|| vec![String::new(); width]);
        for ((cell, known), (_, kind)) in row.cells.iter().zip(known).zip(row.table.columns) {
            match cell {
                Some(cell) => *known = compared(*kind, &cell.value),
                None if !row.is_part => known.clear(),
                None => {}
            }
        }
    }
    live.retain(|key, _| !gone.contains(key));
    live
}

#[test]
fn random_rows_come_back_with_the_same_cells() {
    for seed in 1..=200 {
        let rows = rows(&mut Dice(seed * 7919));
        let folder = tempfile::tempdir().unwrap();
        let zone = TimeZone::get(ZONE).unwrap();
        let mut writer = FhirWriter::new(folder.path(), zone, "2026-06-03T00:00:00Z").unwrap();
        for (table, cells) in &rows {
            writer.row(table.name, cells).unwrap();
        }
        writer.finish().unwrap();
        let (expected, read) = (live(&rows), live_in(folder.path()));
        for (key, cells) in &expected {
            assert_eq!(read.get(key), Some(cells), "seed {seed}: {key:?}");
        }
        assert_eq!(read.len(), expected.len(), "seed {seed}");
        let tables: BTreeSet<&str> = expected.keys().map(|(table, _)| *table).collect();
        assert_eq!(tables.len(), 8, "seed {seed}: {tables:?}");
    }
}

#[test]
fn versions_of_a_specimen_are_lines_of_one_id_with_growing_versions() {
    let folder = tempfile::tempdir().unwrap();
    let zone = TimeZone::get(ZONE).unwrap();
    let mut writer = FhirWriter::new(folder.path(), zone, "2026-06-03T00:00:00Z").unwrap();
    for status in ["preliminary", "final", "corrected"] {
        let cells = [
            "sp-1",
            "N-1",
            "2026-04-03T10:00",
            "2026-04-03T11:00",
            "250",
            "umol/L",
            "total",
            "",
            status,
            "",
        ];
        writer.row("serum", &cells.map(str::to_owned)).unwrap();
    }
    writer.finish().unwrap();
    let text = std::fs::read_to_string(folder.path().join("Observation.ndjson")).unwrap();
    let lines: Vec<serde_json::Value> = text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let versions: Vec<_> = lines
        .iter()
        .map(|line| (&line["id"], &line["meta"]["versionId"], &line["status"]))
        .collect();
    let id = serde_json::json!("serum-sp-1");
    let expected = [("1", "preliminary"), ("2", "final"), ("3", "corrected")];
    let expected = expected.map(|(version, status)| (id.clone(), version.into(), status.into()));
    assert_eq!(
        versions,
        expected.each_ref().map(|(id, version, status)| (id, version, status))
    );
    assert_eq!(lines[0]["effectiveDateTime"], "2026-04-03T10:00:00+02:00");
}

#[test]
fn a_row_of_no_table_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let mut writer = FhirWriter::new(folder.path(), TimeZone::UTC, "2026-06-03T00:00:00Z").unwrap();
    assert!(
        writer
            .row("nurses", &[])
            .unwrap_err()
            .to_string()
            .contains("no table nurses")
    );
}
