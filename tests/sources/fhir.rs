//! FHIR R4 Bulk Data: what each resource becomes, a whole export, and the way there and back.

mod export; // files, manifests, gzip, broken lines, later loads
mod handmade; // the handmade export, every resource worked out by hand
mod resources; // single resources: what is read, what is refused
mod round_trip; // rows to an invented export and back
mod untamed; // any bytes: no panic

use std::io::Cursor;
use std::path::Path;

use siskin::extracts::fhir::{FhirReader, FhirSettings, References, files_in, open, record_of};
use siskin::extracts::record::{Record, SourceRow};

/// The index of lines of resources.
fn index_of(lines: &str) -> References {
    let mut references = References::default();
    references.index(Cursor::new(lines), &FhirSettings::default()).unwrap();
    references
}

/// What the last of some lines says, the others being known.
fn last_of(lines: &[&str]) -> Record {
    let references = index_of(&lines.join("\n"));
    record_of(lines.last().unwrap(), &FhirSettings::default(), &references)
}

/// The only row of a record.
fn only(record: &Record) -> &SourceRow {
    assert_eq!(record.rows.len(), 1, "{record:?}");
    &record.rows[0]
}

/// The cells of a row that are said, as `column=value`.
fn said(row: &SourceRow) -> String {
    let names = row
        .table
        .column_names()
        .into_iter()
        .chain(["record_status", "recorded_at"]);
    let cells = names
        .zip(&row.cells)
        .filter_map(|(name, cell)| Some(format!("{name}={}", cell.as_ref()?.value)));
    cells.collect::<Vec<_>>().join(" ")
}

/// All records of an export, with the name of their file.
fn records_of(path: &Path) -> Vec<(String, Record)> {
    let settings = FhirSettings::default();
    let files = files_in(path).unwrap();
    let mut references = References::default();
    for file in &files {
        references.index(open(file).unwrap(), &settings).unwrap();
    }
    let mut records = Vec::new();
    for file in &files {
        let name = file.file_name().unwrap().to_str().unwrap();
        let mut reader = FhirReader::new(open(file).unwrap(), &settings, &references);
        while let Some(record) = reader.next_record().unwrap() {
            records.push((name.to_owned(), record));
        }
    }
    records
}

fn handmade() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/sources/handmade/fhir")
}
