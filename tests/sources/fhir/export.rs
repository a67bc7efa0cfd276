//! Whole exports (hl7.org/fhir/uv/bulkdata): files, manifests, gzip, broken lines, later loads.

use std::fs;
use std::io::{Cursor, Write};

use flate2::Compression;
use flate2::write::GzEncoder;

use siskin::extracts::fhir::{FhirReader, FhirSettings, References, files_in, record_of};
use siskin::extracts::reason::Reason;
use siskin::extracts::record::Record;

use super::{handmade, records_of};

fn packed(bytes: &[u8]) -> Vec<u8> {
    let mut packer = GzEncoder::new(Vec::new(), Compression::default());
    packer.write_all(bytes).unwrap();
    packer.finish().unwrap()
}

fn records_in(bytes: &[u8]) -> Vec<Record> {
    let (settings, references) = (FhirSettings::default(), References::default());
    let mut reader = FhirReader::new(Cursor::new(bytes), &settings, &references);
    std::iter::from_fn(|| reader.next_record().unwrap()).collect()
}

/// What is said, without the names of the files.
fn without_names(records: Vec<(String, Record)>) -> Vec<Record> {
    records.into_iter().map(|(_, record)| record).collect()
}

#[test]
fn gzip_of_several_members_and_plain_files_say_the_same() {
    let folder = tempfile::tempdir().unwrap();
    for entry in fs::read_dir(handmade()).unwrap() {
        let path = entry.unwrap().path();
        let bytes = fs::read(&path).unwrap();
        let name = path.file_name().unwrap().to_str().unwrap();
        if name == "manifest.json" {
            fs::write(folder.path().join(name), bytes).unwrap();
            continue;
        }
        let (one, two) = bytes.split_at(bytes.len() / 2);
        let members = [packed(one), packed(two)].concat();
        fs::write(folder.path().join(format!("{name}.gz")), members).unwrap();
    }
    let plain = without_names(records_of(&handmade()));
    assert_eq!(without_names(records_of(folder.path())), plain);
    assert_eq!(plain.len(), 4 + 2 + 2 + 2 + 1 + 2 + 9 + 2 + 1 + 1);
}

#[test]
fn without_a_manifest_a_folder_is_all_its_ndjson_deletions_last() {
    let folder = tempfile::tempdir().unwrap();
    for name in [
        "deleted.1.ndjson",
        "Observation.ndjson",
        "Patient.000.ndjson",
        "notes.txt",
        "Group.ndjson",
    ] {
        fs::write(folder.path().join(name), "").unwrap();
    }
    let files = files_in(folder.path()).unwrap();
    let names: Vec<_> = files
        .iter()
        .map(|file| file.file_name().unwrap().to_str().unwrap())
        .collect();
    assert_eq!(
        names,
        [
            "Patient.000.ndjson",
            "Observation.ndjson",
            "Group.ndjson",
            "deleted.1.ndjson"
        ]
    );
}

#[test]
fn a_folder_without_resources_and_a_path_that_is_none_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    assert!(
        files_in(folder.path())
            .unwrap_err()
            .to_string()
            .contains("holds no .ndjson file")
    );
    let none = folder.path().join("Patient.ndjson");
    assert!(files_in(&none).unwrap_err().to_string().contains("cannot read"));
}

#[test]
fn a_file_that_the_manifest_lists_and_is_missing_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let manifest = folder.path().join("manifest.json");
    let listing = |url: &str| format!(r#"{{"output":[{{"type":"Patient","url":"{url}"}}]}}"#);
    fs::write(&manifest, listing("https://h.example/out/Patient.1.ndjson?key=9")).unwrap();
    let refused = files_in(folder.path()).unwrap_err().to_string();
    assert!(
        refused.contains("lists Patient.1.ndjson, which is not beside it"),
        "{refused}"
    );
    fs::write(folder.path().join("Patient.1.ndjson"), "").unwrap();
    assert_eq!(files_in(&manifest).unwrap().len(), 1);
    for outside in ["https://h.example/out/..", "https://h.example/out/", "../../secret/"] {
        fs::write(&manifest, listing(outside)).unwrap();
        assert!(files_in(folder.path()).is_err(), "{outside}");
    }
}

#[test]
fn a_manifest_that_is_none_is_refused_with_its_line() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("manifest.json"), "{\n\"output\": 7}").unwrap();
    let refused = files_in(folder.path()).unwrap_err().to_string();
    assert!(
        refused.contains("line 2, column 11: no Bulk Data manifest"),
        "{refused}"
    );
}

#[test]
fn what_the_server_reports_as_an_error_is_listed() {
    let folder = tempfile::tempdir().unwrap();
    let outcome =
        r#"{"resourceType":"OperationOutcome","issue":[{"code":"timeout","diagnostics":"Encounter cut off"}]}"#;
    fs::write(folder.path().join("errors.ndjson"), outcome).unwrap();
    fs::write(
        folder.path().join("manifest.json"),
        r#"{"output":[],"error":[{"url":"errors.ndjson"}]}"#,
    )
    .unwrap();
    let records = records_of(folder.path());
    let code = &records[0].1.unmapped[0];
    assert_eq!(
        (code.code.as_str(), code.display.as_str()),
        ("OperationOutcome", "Encounter cut off")
    );
}

#[test]
fn a_folder_with_only_adults_gives_no_births_and_no_bilirubin_but_the_codes_seen() {
    let folder = tempfile::tempdir().unwrap();
    let patient = r#"{"resourceType":"Patient","id":"a","birthDate":"1980-01-02","gender":"male"}"#;
    let tests = [("1975-2", "2026-03-01T10:00:00Z"), ("58941-6", "2026-03-02T10:00:00Z")].map(|(code, at)| {
        format!(
            r#"{{"resourceType":"Observation","id":"{code}","status":"final","code":{{"coding":[{{"system":"http://loinc.org","code":"{code}"}}]}},"subject":{{"reference":"Patient/a"}},"effectiveDateTime":"{at}","valueQuantity":{{"value":20,"unit":"umol/L"}}}}"#
        )
    });
    fs::write(folder.path().join("Patient.ndjson"), patient).unwrap();
    fs::write(folder.path().join("Observation.ndjson"), tests.join("\n")).unwrap();
    let records = records_of(folder.path());
    assert!(
        records
            .iter()
            .all(|(_, record)| record.rows.is_empty() && record.fault.is_none())
    );
    let codes: Vec<&str> = records
        .iter()
        .map(|(_, record)| record.unmapped[0].code.as_str())
        .collect();
    assert_eq!(codes, ["Patient (nothing tells of a birth)", "1975-2", "58941-6"]);
}

#[test]
fn a_line_that_is_no_text_or_too_long_is_a_fault_and_reading_goes_on() {
    let good = br#"{"resourceType":"Group","id":"g"}"#;
    let too_long = vec![b'x'; (16 << 20) + 2];
    let bytes = [
        b"\xef\xbb\xbf".as_slice(),
        good,
        b"\r\n\n",
        b"{\"a\":\"\xff\"}\n",
        &too_long,
        b"\n",
        good,
    ]
    .concat();
    let records = records_in(&bytes);
    let lines: Vec<_> = records
        .iter()
        .map(|record| (record.line, record.fault.as_ref().map(|fault| fault.kind)))
        .collect();
    let expected = [
        (1, None),
        (3, Some(Reason::NotUtf8)),
        (4, Some(Reason::UnreadableRecord)),
        (5, None),
    ];
    assert_eq!(lines, expected);
    let remedies: Vec<_> = records
        .iter()
        .filter_map(|record| record.fault.as_ref()?.remedy.as_deref())
        .collect();
    assert!(remedies[0].starts_with("column 7:"));
    assert!(remedies[1].starts_with("longer than 16777216 bytes"));
    assert!(records[2].text.len() <= 1000);
}

#[test]
fn a_later_load_knows_what_an_earlier_one_learned() {
    let settings = FhirSettings::default();
    let mut earlier = References::default();
    for (_, record) in records_of(&handmade()) {
        earlier.index(Cursor::new(&record.text), &settings).unwrap();
    }
    let mut later = References::default();
    for (key, value) in earlier.learned() {
        assert!(later.recall(&key, &value), "{key} {value}");
    }
    assert!(later.learned().is_empty());
    for (_, record) in records_of(&handmade()) {
        let again = record_of(&record.text, &settings, &later);
        assert_eq!(again.rows, record.rows);
    }
    // The same again is nothing new; a device with another serial number is.
    let device = r#"{"resourceType":"Device","id":"dev-1","serialNumber":"SN-0031"}"#;
    later.index(Cursor::new(device), &settings).unwrap();
    assert!(later.learned().is_empty());
    later
        .index(Cursor::new(device.replace("0031", "0032")), &settings)
        .unwrap();
    let learned = later.learned();
    assert_eq!(learned.len(), 1);
    assert!(learned[0].0.starts_with("Device/") && learned[0].1.contains("SN-0032"));
    assert!(!later.recall("Device/xyz", "{}") && !later.recall("Device", "{}") && !later.recall("Device/1", "no"));
}
