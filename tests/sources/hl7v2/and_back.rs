//! Rows written as messages and read again are the same rows.

use siskin::extracts::hl7v2::Visits;
use siskin::extracts::record::{Record, SourceRow};
use siskin::invent::as_hl7v2::Hl7Writer;
use siskin::warehouse::tables::{SOURCE_TABLES, SourceTable};

use super::{read, read_with, settings};

/// Numbers that look random and are the same each time (SplitMix64).
struct Dice(u64);

impl Dice {
    fn below(&mut self, limit: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) % limit as u64) as usize
    }

    fn one_of(&mut self, words: &[&str]) -> String {
        words[self.below(words.len())].to_owned()
    }

    fn time(&mut self) -> String {
        let day = format!("2026-0{}-{:02}", 1 + self.below(9), 1 + self.below(28));
        let clock = format!("T{:02}:{:02}", self.below(24), self.below(60));
        let second = match self.below(3) {
            0 => String::new(),
            1 => format!(":{:02}", self.below(60)),
            _ => format!(":{:02}.{}", self.below(60), 1 + self.below(999)),
        };
        day + &clock + &second + &self.one_of(&["", "", "+00:00", "+01:00", "-09:30"])
    }

    fn cell(&mut self, table: &SourceTable, column: &str) -> String {
        let odd = [
            "a",
            "A|b",
            "x^y~z",
            "p&q",
            "back\\slash",
            "\u{e9}\u{4e2d}",
            "two\nlines",
            "\"\"",
            "E\\F\\",
            "a\u{1c}b",
        ];
        match column {
            "born_at" if self.below(4) == 0 => format!("2026-03-{:02}", 1 + self.below(28)),
            "stopped_at" | "discharged_at" | "resulted_at" | "recorded_at" if self.below(3) == 0 => String::new(),
            of if of.ends_with("_at") => self.time(),
            "gestation" => match self.below(4) {
                0 => String::new(),
                1 => format!("{}", 22 + self.below(21)),
                _ => format!("{}+{}", 22 + self.below(21), self.below(7)),
            },
            "value" => self.one_of(&[
                "",
                "200",
                "12.75",
                ">340",
                "<10",
                "hemolyzed",
                "> 20",
                ">x",
                "0",
                "3|4",
                "1e5",
                "-3",
            ]),
            "unit_of_measure" => self.one_of(&["umol/L", "mg/dL", "", "\u{b5}mol/l", "mg%", "a^b"]),
            "analyte" => self.one_of(&["total", "direct", "1975-2", "14631-6", "77137-8", "1968-7", "42719-5"]),
            "specimen" => self.one_of(&["", "serum", "plasma", "blood", "urine", "cord", "heel|prick"]),
            "status" => self.one_of(&["preliminary", "final", "corrected", "cancelled", "withdrawn"]),
            "source" => self.one_of(&["", "birth", "home", "transfer"]),
            "disposition" => self.one_of(&["", "home", "transfer", "died"]),
            "diagnoses" => self.one_of(&["", "P59.9", "P59.9;P07.3;Z38.0"]),
            "risk_factors" => self.one_of(&["", "g6pd", "g6pd;sepsis", "a^b;c~d"]),
            "outcome" => self.one_of(&["pass", "fail"]),
            "kind" => self.one_of(&["", "single", "multiple", "blan^ket"]),
            "sex" => self.one_of(&["", "F", "M", "X"]),
            "birth_weight_g" => self.one_of(&["", "3250", "980"]),
            "record_status" => self.one_of(&["", "", "", "withdrawn"]),
            of if of.ends_with("_id") && of != "mother_id" && of != "meter_id" && of != "operator_id" => {
                let id = self.below(1_000_000);
                let kind = &table.name[..2];
                format!("{kind}{id}{}", self.one_of(&["", "-1", "^|~\\&", "\u{e9}"]))
            }
            _ if self.below(3) == 0 => String::new(),
            _ => self.one_of(&odd),
        }
    }

    fn row(&mut self, table: &SourceTable) -> Vec<String> {
        let columns = table.column_names().into_iter().chain(["record_status", "recorded_at"]);
        columns.map(|column| self.cell(table, column)).collect()
    }
}

fn written(rows: &[(&SourceTable, Vec<String>)]) -> Vec<u8> {
    let mut writer = Hl7Writer::new(Vec::new());
    for (table, cells) in rows {
        writer.row(table.name, cells).unwrap();
    }
    writer.finish().unwrap()
}

/// What a row says, where nothing said is nothing. A withdrawal says its id and its time.
fn plain(table: &SourceTable, cells: &[String]) -> Vec<String> {
    let columns = table.column_names().into_iter().chain(["record_status", "recorded_at"]);
    let mut row: Vec<(&str, String)> = columns.zip(cells.iter().cloned()).collect();
    let is_withdrawn = row.iter().any(|(_, cell)| cell == "withdrawn");
    for (i, (column, cell)) in row.iter_mut().enumerate() {
        if !is_withdrawn {
            continue;
        } else if *column == "record_status" {
            "withdrawn".clone_into(cell);
        } else if i != 0 && *column != "recorded_at" {
            cell.clear();
        }
    }
    row.into_iter().map(|(_, cell)| cell).collect()
}

fn read_back(row: &SourceRow) -> Vec<String> {
    let cells = row
        .cells
        .iter()
        .map(|cell| cell.as_ref().map(|cell| cell.value.clone()));
    let cells: Vec<String> = cells.map(Option::unwrap_or_default).collect();
    plain(row.table, &cells)
}

#[test]
fn rows_of_every_table_come_back() {
    let mut dice = Dice(7);
    let settings = settings();
    for table in SOURCE_TABLES {
        for _ in 0..2000 {
            let cells = dice.row(table);
            let bytes = written(&[(table, cells.clone())]);
            let shown = String::from_utf8_lossy(&bytes).replace('\r', "\n");
            let mut records = read_with(&bytes, &settings, &mut Visits::default());
            assert_eq!(records.len(), 1, "{shown}");
            let record = records.remove(0);
            assert_eq!((&record.fault, &record.unmapped.len()), (&None, &0), "{shown}");
            assert_eq!(record.rows.len(), 1, "{shown}");
            assert_eq!(record.rows[0].fault, None, "{shown}");
            assert_eq!(record.rows[0].table, table);
            assert_eq!(read_back(&record.rows[0]), plain(table, &cells), "{shown}");
        }
    }
}

#[test]
fn many_rows_are_one_batch_in_their_order() {
    let mut dice = Dice(11);
    let rows: Vec<_> = SOURCE_TABLES.iter().map(|table| (table, dice.row(table))).collect();
    let bytes = written(&rows);
    let records: Vec<Record> = read(&bytes);
    let tables: Vec<&str> = records.iter().map(|record| record.rows[0].table.name).collect();
    let names: Vec<&str> = SOURCE_TABLES.iter().map(|table| table.name).collect();
    assert_eq!(tables, names);
    let cut = &bytes[..bytes.len() - "BTS|8\r".len()];
    assert!(read(cut).last().unwrap().fault.is_some());
}

#[test]
fn a_stay_told_twice_is_one_stay() {
    let open = ["S", "B", "U", "2026-03-01T08:00", "", "birth", "", ""].map(str::to_owned);
    let closed = [
        "S",
        "B",
        "U",
        "2026-03-01T08:00",
        "2026-03-03T08:00",
        "birth",
        "home",
        "P59.9",
    ]
    .map(str::to_owned);
    let table = SourceTable::named("stays").unwrap();
    let bytes = written(&[(table, open.to_vec()), (table, closed.to_vec())]);
    let records = read_with(&bytes, &settings(), &mut Visits::default());
    let ids: Vec<&str> = records.iter().map(|record| record.rows[0].value("stay_id")).collect();
    assert_eq!(ids, ["S", "S"]);
    assert_eq!(records[1].rows[0].value("discharged_at"), "2026-03-03T08:00");
}

#[test]
fn a_table_that_is_none_is_refused() {
    let refused = Hl7Writer::new(Vec::new()).row("visits", &[]).unwrap_err();
    assert_eq!(refused.to_string(), "visits is no table");
}
