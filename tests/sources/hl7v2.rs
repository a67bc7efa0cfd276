//! HL7 v2 messages: what they say of rows, and what becomes of those that cannot be read.

mod and_back;
mod any_bytes;
mod births;
mod feed;
mod files;
mod merges;
mod messages;
mod procedures;
mod results;
mod stays;

use jiff::tz::TimeZone;

use siskin::extracts::codes::{CodeLists, Codes};
use siskin::extracts::hl7v2::{Hl7Reader, Hl7Settings, Visits};
use siskin::extracts::reason::Reason;
use siskin::extracts::record::{Fault, Record, SourceRow};

fn settings() -> Hl7Settings {
    Hl7Settings {
        codes: Codes::default(),
        zone: TimeZone::get("Europe/Amsterdam").unwrap(),
        identifier_type: "MR".to_owned(),
        identifier_authority: None,
        charset: None,
    }
}

/// Settings of a site that adds to the lists of codes and words.
fn settings_with(lists: &str) -> Hl7Settings {
    let lists: CodeLists = toml::from_str(lists).unwrap();
    Hl7Settings {
        codes: Codes::with(&lists).unwrap(),
        ..settings()
    }
}

fn read_with(bytes: &[u8], settings: &Hl7Settings, visits: &mut Visits) -> Vec<Record> {
    let mut reader = Hl7Reader::new(bytes, settings, visits);
    let mut records = Vec::new();
    while let Some(record) = reader.next_record().unwrap() {
        records.push(record);
    }
    records
}

fn read(bytes: impl AsRef<[u8]>) -> Vec<Record> {
    read_with(bytes.as_ref(), &settings(), &mut Visits::default())
}

/// The only row of the only message.
fn only_row(bytes: impl AsRef<[u8]>) -> SourceRow {
    let mut records = read(bytes);
    assert_eq!(records.len(), 1, "{records:#?}");
    let mut record = records.remove(0);
    assert_eq!(record.fault, None);
    assert_eq!(record.rows.len(), 1, "{record:#?}");
    record.rows.remove(0)
}

fn said(row: &SourceRow, columns: &[&str]) -> Vec<String> {
    columns.iter().map(|column| row.value(column).to_owned()).collect()
}

fn is_said(row: &SourceRow, column: &str) -> bool {
    row.place(column).is_some_and(|place| row.cells[place].is_some())
}

#[track_caller]
fn assert_fault(fault: Option<&Fault>, kind: Reason, column: &str, remedy: &str) {
    let fault = fault.expect("there is a fault");
    assert_eq!((fault.kind, fault.column.as_str()), (kind, column), "{fault:?}");
    let told = fault.remedy.as_deref().unwrap_or_default();
    assert!(told.contains(remedy), "{told}");
}

/// A message of ADT about the baby `B-1`, with more segments.
fn adt(event: &str, control: &str, segments: &[&str]) -> String {
    let mut message = format!(
        "MSH|^~\\&|ADT|H|A|H|20260301080000||ADT^{event}|{control}|P|2.5.1\rEVN|{event}|20260301080000\rPID|1||B-1^^^H^MR\r"
    );
    for segment in segments {
        message = message + segment + "\r";
    }
    message
}

/// A message of results about the baby `B-1`.
fn oru(segments: &[&str]) -> String {
    let mut message = "MSH|^~\\&|LAB|H|A|H|20260301080000||ORU^R01|M1|P|2.5.1\rPID|1||B-1^^^H^MR\r".to_owned();
    for segment in segments {
        message = message + segment + "\r";
    }
    message
}
