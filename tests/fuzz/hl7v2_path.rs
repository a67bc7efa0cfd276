//! The way of an HL7 v2 file from bytes to records, on any bytes: nothing panics, a record
//! is in lines that ascend, and whatever cannot be read has a remedy.

use std::sync::LazyLock;

use jiff::tz::TimeZone;

use siskin::extracts::codes::Codes;
use siskin::extracts::hl7v2::{Hl7Reader, Hl7Settings, Visits, record_of};
use siskin::extracts::record::Record;

static SETTINGS: LazyLock<Hl7Settings> = LazyLock::new(|| Hl7Settings {
    codes: Codes::default(),
    zone: TimeZone::get("Europe/Amsterdam").unwrap(),
    identifier_type: "MR".to_owned(),
    identifier_authority: None,
    charset: None,
});

/// Reads the bytes, and each record again from its text.
pub fn run(bytes: &[u8]) {
    let mut visits = Visits::default();
    let mut reader = Hl7Reader::new(bytes, &SETTINGS, &mut visits);
    let mut records = Vec::new();
    let mut last_line = 1;
    while let Some(record) = reader.next_record().unwrap() {
        assert!(record.line >= last_line, "line {} after {last_line}", record.line);
        last_line = record.line;
        check(&record);
        records.push(record);
    }
    let learned = visits.learned();
    for record in &records {
        let again = record_of(&record.text, &SETTINGS, &mut visits);
        check(&again);
    }
    let mut next = Visits::default();
    assert!(learned.iter().all(|(visit, known)| next.recall(visit, known)));
}

fn check(record: &Record) {
    if let Some(fault) = &record.fault {
        assert!(record.rows.is_empty() && fault.remedy.is_some(), "{record:?}");
    }
    for row in &record.rows {
        let width = row.table.columns.len() + 2;
        assert_eq!(row.cells.len(), width);
        assert!(row.fault.as_ref().is_none_or(|fault| fault.remedy.is_some()));
    }
}
