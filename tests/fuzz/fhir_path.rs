//! The way of FHIR NDJSON from bytes to rows, on any bytes: nothing panics, every line
//! that is not blank is a record, and each record that cannot be read says what to do.

use std::io::Cursor;

use siskin::extracts::fhir::{FhirReader, FhirSettings, References};

/// Takes the bytes through both passes, and what the first learned through a second index.
/// Returns how many rows and how many faults there were.
pub fn run(bytes: &[u8], settings: &FhirSettings) -> (usize, usize) {
    let mut references = References::default();
    references.index(Cursor::new(bytes), settings).unwrap();
    let learned = references.learned();
    let mut recalled = References::default();
    for (key, value) in &learned {
        assert!(recalled.recall(key, value), "{key} {value}");
    }
    assert!(recalled.learned().is_empty());
    let mut reader = FhirReader::new(Cursor::new(bytes), settings, &references);
    let mut later = FhirReader::new(Cursor::new(bytes), settings, &recalled);
    let (mut rows, mut faults, mut last_line) = (0, 0, 0);
    while let Some(record) = reader.next_record().unwrap() {
        assert!(record.line > last_line, "line {} after {last_line}", record.line);
        last_line = record.line;
        assert_eq!(later.next_record().unwrap().as_ref(), Some(&record));
        let of_rows = record.rows.iter().filter_map(|row| row.fault.as_ref());
        for fault in record.fault.iter().chain(of_rows) {
            assert!(fault.remedy.as_ref().is_some_and(|remedy| !remedy.is_empty()));
            faults += 1;
        }
        for row in &record.rows {
            assert_eq!(row.cells.len(), row.table.columns.len() + 2);
            rows += 1;
        }
    }
    assert!(later.next_record().unwrap().is_none());
    (rows, faults)
}
