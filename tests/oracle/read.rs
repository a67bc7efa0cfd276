//! Loads of CSV text, and their rows in order.

use std::collections::BTreeMap;

use super::facts::{Fact, Reading};
use super::judge;
use super::moment::{When, Zone};

/// One load: its time, its files and what it says about completeness.
#[derive(Clone, Debug)]
pub struct Load {
    /// When it was loaded, epoch seconds.
    pub at: i64,
    /// Table (`births`, `screens`, `serum`, `phototherapy`, `stays`, `exchanges`,
    /// `meter_checks`) and CSV text, in order.
    pub files: Vec<(String, String)>,
    /// Complete through: a table, or every table with a file in this load, and epoch seconds.
    pub through: Vec<(Option<String>, i64)>,
}

/// The tables with their canonical columns; the first is the id.
pub const TABLES: [(&str, &str); 7] = [
    (
        "births",
        "infant_id,mother_id,born_at,gestation,birth_weight_g,sex,plurality,birth_order,unit,\
         feeding,risk_factors,skin_tone,ethnicity",
    ),
    (
        "screens",
        "screen_id,infant_id,measured_at,value,unit_of_measure,body_site,readings,meter_id,\
         operator_id,id_entry,setting,unit",
    ),
    (
        "serum",
        "specimen_id,infant_id,collected_at,resulted_at,value,unit_of_measure,analyte,specimen,\
         status,unit",
    ),
    (
        "phototherapy",
        "episode_id,infant_id,started_at,stopped_at,kind,setting,unit",
    ),
    (
        "stays",
        "stay_id,infant_id,unit,admitted_at,discharged_at,source,disposition,diagnoses",
    ),
    ("exchanges", "exchange_id,infant_id,performed_at,unit"),
    ("meter_checks", "check_id,meter_id,checked_at,outcome,unit"),
];

/// The cells of a row by column, trimmed; a column the file lacks reads as empty.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cells(BTreeMap<&'static str, String>);

impl Cells {
    /// The cell of a column.
    pub fn get(&self, column: &str) -> &str {
        self.0.get(column).map_or("", String::as_str)
    }
}

/// One data row of one file.
#[derive(Clone, Debug)]
pub struct Row {
    /// Its table.
    pub table: &'static str,
    /// Number of its load, from 0. Rows stand in the order of loads, files and lines.
    pub load: usize,
    /// Its canonical cells.
    pub cells: Cells,
    /// Its id.
    pub id: String,
    /// Its baby; empty where the table has none.
    pub infant_id: String,
    /// `recorded_at`, which orders versions before row order.
    pub recorded_at: Option<i64>,
    /// What it says; `None` when the row has to be set aside.
    pub fact: Option<Fact>,
    /// Of a screen that says nothing for want of a value that can be used: its reading.
    pub reading: Option<Reading>,
}

/// Every row of every load, in order, each judged by itself.
pub fn rows(loads: &[Load], zone: &Zone) -> Vec<Row> {
    let mut rows = Vec::new();
    for (load, given) in loads.iter().enumerate() {
        for (name, text) in &given.files {
            let Some((table, columns)) = TABLES.iter().find(|(table, _)| table == name) else {
                continue;
            };
            for cells in file_cells(text, columns) {
                rows.push(row(table, columns, load, cells, zone));
            }
        }
    }
    rows
}

/// The row with its id, baby and fact.
fn row(table: &'static str, columns: &'static str, load: usize, cells: Cells, zone: &Zone) -> Row {
    let id_column = columns.split(',').next().unwrap_or("");
    let recorded_at = match zone.read(cells.get("recorded_at")) {
        Some(When::Moment(at)) => Some(at),
        _ => None,
    };
    Row {
        table,
        load,
        id: cells.get(id_column).to_string(),
        infant_id: cells.get("infant_id").to_string(),
        recorded_at,
        fact: judge::judge(table, id_column, &cells, zone),
        reading: (table == "screens")
            .then(|| judge::reading_without_value(&cells, zone))
            .flatten(),
        cells,
    }
}

/// "Exact duplicate = same table and the same canonical cells, trimmed" (choice 12): the
/// contract's columns, with `record_status` and `recorded_at`, which any file may carry.
fn file_cells(text: &str, columns: &'static str) -> Vec<Cells> {
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes());
    let header = reader.headers().expect("a header line").clone();
    let mut all = Vec::new();
    for record in reader.records() {
        let record = record.expect("CSV text that can be read");
        let mut cells = BTreeMap::new();
        for column in columns.split(',').chain(["record_status", "recorded_at"]) {
            let place = header.iter().position(|name| name.trim() == column);
            let cell = place.and_then(|place| record.get(place)).unwrap_or("");
            cells.insert(column, cell.trim().to_string());
        }
        all.push(Cells(cells));
    }
    all
}
