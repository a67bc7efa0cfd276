//! Any bytes: no panic, and every line is a record.

use std::fs;
use std::io::Cursor;

use siskin::extracts::fhir::{FhirReader, FhirSettings, References, record_of};

use super::{handmade, records_of};

#[path = "../../fuzz/fhir_path.rs"]
mod fhir_path;

#[test]
fn every_prefix_of_the_observations_is_read_without_a_panic() {
    let settings = FhirSettings::default();
    let bytes = fs::read(handmade().join("Observation.000.ndjson")).unwrap();
    let mut references = References::default();
    references.index(Cursor::new(&bytes), &settings).unwrap();
    let whole_lines = |bytes: &[u8]| bytes.iter().filter(|byte| **byte == b'\n').count();
    for end in 0..bytes.len() {
        let prefix = &bytes[..end];
        // The lines before the last one are the same in every prefix: only the last is read.
        let begin = prefix
            .iter()
            .rposition(|byte| *byte == b'\n')
            .map_or(0, |place| place + 1);
        let last = &prefix[begin..];
        References::default().index(Cursor::new(last), &settings).unwrap();
        let mut reader = FhirReader::new(Cursor::new(last), &settings, &references);
        match reader.next_record().unwrap() {
            None => assert!(last.is_empty(), "prefix of {end} bytes"),
            Some(record) => {
                let is_whole = bytes[end] == b'\n';
                assert_eq!(
                    record.fault.is_none(),
                    is_whole,
                    "prefix of {end} bytes, {}",
                    whole_lines(prefix)
                );
                assert_eq!(record.rows.is_empty(), !is_whole);
            }
        }
    }
}

#[test]
fn a_changed_byte_is_read_without_a_panic() {
    let settings = FhirSettings::default();
    let references = References::default();
    for (file, record) in records_of(&handmade()) {
        let bytes = record.text.as_bytes();
        for place in 0..bytes.len() {
            for byte in *b"\"{}[]:,0nx\\" {
                let mut changed = bytes.to_vec();
                changed[place] = byte;
                let Ok(text) = String::from_utf8(changed) else { continue };
                let record = record_of(&text, &settings, &references);
                let is_told = record.fault.is_some() || !record.rows.is_empty() || !record.unmapped.is_empty();
                let is_silent = file.starts_with("Specimen") || file.starts_with("Device");
                assert!(is_told || is_silent, "{text}");
            }
        }
    }
}

#[test]
fn the_corpus_takes_the_fhir_path_without_a_panic() {
    let corpus = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/corpus_fhir");
    let (mut files, mut rows, mut faults) = (0, 0, 0);
    for entry in fs::read_dir(corpus).unwrap() {
        let counted = fhir_path::run(&fs::read(entry.unwrap().path()).unwrap(), &FhirSettings::default());
        files += 1;
        rows += counted.0;
        faults += counted.1;
    }
    assert!(
        files >= 30 && rows > 20 && faults > 10,
        "{files} files, {rows} rows, {faults} faults"
    );
}
