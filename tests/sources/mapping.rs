//! The handmade files of an invented hospital, read as their `sources.toml` says.

use std::path::{Path, PathBuf};

use jiff::tz::TimeZone;
use siskin::extracts::Reader;
use siskin::extracts::mapped::{MappedReader, record_of};
use siskin::extracts::reason::Reason;
use siskin::extracts::record::{Record, SourceRow};
use siskin::extracts::sources::{EXAMPLE, Format, Sources};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/sources/handmade/csv")
}

fn sources() -> Sources {
    Sources::read(&folder().join("sources.toml"))
        .unwrap()
        .expect("it is there")
}

fn zone() -> TimeZone {
    TimeZone::get("Europe/Berlin").unwrap()
}

fn open(file: &str) -> MappedReader {
    let sources = sources();
    let path = folder().join(file);
    let source = sources.for_file(&path).expect("a source");
    MappedReader::open(&path, source, &sources, &zone()).unwrap()
}

fn records(file: &str) -> Vec<Record> {
    let mut reader = open(file);
    std::iter::from_fn(|| reader.next_record().unwrap()).collect()
}

fn row<'a>(record: &'a Record, table: &str) -> &'a SourceRow {
    record
        .rows
        .iter()
        .find(|row| row.table.name == table)
        .expect("a row of the table")
}

/// Column and value of all that is said.
fn said(row: &SourceRow) -> Vec<(&'static str, &str)> {
    let columns = row.table.columns.iter().map(|(name, _)| *name);
    let cells = columns.filter(|name| !row.value(name).is_empty());
    cells.map(|name| (name, row.value(name))).collect()
}

const LAB: [&str; 3] = [
    "lab_2025-10_cp1252_semicolon_decimalcomma.csv",
    "lab_2025-10_utf16le_bom.csv",
    "lab_2025-10_utf8bom.csv",
];

#[test]
fn the_laboratory_says_the_same_in_three_encodings() {
    let names = LAB.map(|file| open(file).encoding().name());
    assert_eq!(names, ["windows-1252", "UTF-16LE", "UTF-8"]);
    let told = LAB.map(|file| open(file).encoding().remark().is_some());
    assert_eq!(
        told,
        [true, false, false],
        "only the encoding that nothing says is told"
    );
    let [one, two, three] = LAB.map(records);
    assert_eq!(one.len(), 7);
    assert_eq!(one, two);
    assert_eq!(one, three);
}

#[test]
fn a_row_of_the_laboratory_is_a_serum_and_part_of_a_birth() {
    let all = records(LAB[2]);
    assert_eq!(all[0].line, 2);
    assert_eq!(
        said(row(&all[0], "births")),
        [
            ("infant_id", "000451"),
            ("mother_id", "700100"),
            ("born_at", "2025-10-25T19:42"),
            ("gestation", "35+4")
        ]
    );
    assert!(row(&all[0], "births").is_part);
    assert_eq!(
        said(row(&all[0], "serum")),
        [
            ("specimen_id", "F-5501"),
            ("infant_id", "000451"),
            ("collected_at", "2025-10-27T18:40"),
            ("resulted_at", "2025-10-27T20:54"),
            ("value", "298"),
            ("unit_of_measure", "umol/L"),
            ("analyte", "total"),
            ("status", "final"),
            ("unit", "PNW3"),
        ]
    );
    let place = row(&all[0], "serum").place("collected_at").unwrap();
    let cell = row(&all[0], "serum").cells[place].as_ref().unwrap();
    assert_eq!(cell.as_written(), "27.10.2025 18:40");
}

#[test]
fn a_tcb_of_the_laboratory_is_a_screen_with_its_bound() {
    let all = records(LAB[2]);
    let screen = row(&all[1], "screens");
    assert_eq!(
        (screen.value("value"), screen.value("unit_of_measure")),
        (">20.0", "mg/dL")
    );
    assert_eq!(screen.value("screen_id"), "T-207");
    assert_eq!(row(&all[2], "screens").value("value"), "5.9");
    assert!(all[1].rows.iter().all(|row| row.table.name != "serum"));
}

#[test]
fn a_haemolysed_specimen_is_a_cancelled_attempt() {
    let all = records(LAB[2]);
    let serum = row(&all[3], "serum");
    assert_eq!(
        (serum.value("value"), serum.value("status")),
        ("HEMOLYZED", "cancelled")
    );
    assert_eq!((serum.value("unit_of_measure"), &serum.fault), ("", &None));
}

#[test]
fn an_implausible_unit_is_left_to_the_judge() {
    let all = records(LAB[2]);
    let serum = row(&all[4], "serum");
    assert_eq!(
        (serum.value("value"), serum.value("unit_of_measure"), &serum.fault),
        ("143", "mg/dL", &None)
    );
}

#[test]
fn an_empty_gestation_says_nothing_of_the_twin() {
    let all = records(LAB[2]);
    let twin = row(&all[3], "births");
    assert_eq!((twin.value("infant_id"), twin.value("mother_id")), ("000452", "700100"));
    let place = twin.place("gestation").unwrap();
    assert_eq!(twin.cells[place], None, "what an earlier row said stays");
}

#[test]
fn a_day_that_is_not_in_the_calendar_costs_the_birth_and_not_the_serum() {
    let all = records(LAB[2]);
    let fault = row(&all[6], "births").fault.as_ref().unwrap();
    assert_eq!((fault.kind, fault.column.as_str()), (Reason::UnreadableTime, "born_at"));
    assert_eq!(fault.cell, "31.02.2025 08:10");
    let serum = row(&all[6], "serum");
    assert_eq!(serum.fault, None);
    assert_eq!((serum.value("value"), serum.value("unit")), ("1204.5", "PNW3; side B"));
    assert_eq!(serum.value("collected_at"), "2025-10-28T08:00");
    assert_eq!(serum.value("resulted_at"), "2025-10-28T07:10");
}

#[test]
fn the_new_system_of_november_says_the_same_ids() {
    let all = records("lab_2025-11_schema_drift.csv");
    let [record] = all.as_slice() else { panic!("{all:?}") };
    assert_eq!(
        said(row(record, "births")),
        [
            ("infant_id", "000451"),
            ("mother_id", "700100"),
            ("born_at", "2025-10-25T19:42+02:00"),
            ("gestation", "35+4"),
        ]
    );
    assert_eq!(
        said(row(record, "serum")),
        [
            ("specimen_id", "F-5533"),
            ("infant_id", "000451"),
            ("collected_at", "2025-10-28T06:00+01:00"),
            ("resulted_at", "2025-11-02T09:59+01:00"),
            ("value", "251"),
            ("unit_of_measure", "umol/L"),
            ("analyte", "14631-6"),
            ("status", "corrected"),
            ("unit", "PNW3"),
        ]
    );
    assert_eq!(open("lab_2025-11_schema_drift.csv").unread_columns(), ["collector"]);
}

#[test]
fn phototherapy_without_ids_gets_one_from_baby_and_start() {
    let all = records("phototherapy_2025-10.csv");
    let kinds: Vec<&str> = all
        .iter()
        .map(|record| row(record, "phototherapy").value("kind"))
        .collect();
    assert_eq!(kinds, ["single", "multiple", "single"]);
    let first = row(&all[0], "phototherapy");
    assert_eq!(first.value("episode_id"), "000451-2025-10-27 20:30");
    assert_eq!(first.value("started_at"), "2025-10-27T20:30");
    assert_eq!(row(&all[1], "phototherapy").value("stopped_at"), "");
    let last = row(&all[2], "phototherapy");
    assert_eq!(
        (last.value("stopped_at"), &last.fault),
        ("2025-10-28T08:00", &None),
        "the judge says that it ends too soon"
    );
}

#[test]
fn a_readmission_said_twice_is_of_one_baby() {
    let all = records("readmissions_2025-10.csv");
    let stays: Vec<&SourceRow> = all.iter().map(|record| row(record, "stays")).collect();
    for stay in &stays {
        assert_eq!((stay.value("stay_id"), stay.value("infant_id")), ("V-1077", "000451"));
        assert_eq!(stay.value("source"), "home");
    }
    assert_eq!(stays[0].value("diagnoses"), "P59.9");
    assert_eq!(stays[1].value("diagnoses"), "P59.9;P07.3");
    let place = stays[1].place("infant_id").unwrap();
    assert_eq!(stays[1].cells[place].as_ref().unwrap().as_written(), "0451");
}

#[test]
fn a_row_kept_as_text_reads_the_same_again() {
    let sources = sources();
    for file in LAB
        .into_iter()
        .chain(["phototherapy_2025-10.csv", "lab_2025-11_schema_drift.csv"])
    {
        let source = sources.for_file(Path::new(file)).unwrap();
        let header = open(file).header_text().to_owned();
        for record in records(file) {
            let again = record_of(&record.text, &header, record.line, source, &sources, &zone());
            assert_eq!(again, record);
        }
    }
}

#[test]
fn a_handmade_file_cut_anywhere_gives_records_or_a_clear_refusal() {
    let sources = sources();
    let cut = tempfile::tempdir().unwrap();
    let mut read = 0;
    for file in LAB.into_iter().chain(["readmissions_2025-10.csv"]) {
        let whole = std::fs::read(folder().join(file)).unwrap();
        let path = cut.path().join(file);
        let source = sources.for_file(&path).unwrap();
        for end in 0..whole.len() {
            std::fs::write(&path, &whole[..end]).unwrap();
            match MappedReader::open(&path, source, &sources, &zone()) {
                Err(refusal) => assert!(refusal.to_string().contains("to do:"), "{refusal}"),
                Ok(mut reader) => {
                    while let Some(record) = reader.next_record().unwrap() {
                        assert!(record.fault.is_some() || !record.rows.is_empty(), "{record:?}");
                        read += 1;
                    }
                }
            }
        }
    }
    assert!(read > 5000, "{read}");
}

#[test]
fn the_example_shows_every_setting_and_can_be_read() {
    let sources = Sources::parse(EXAMPLE, Path::new("example.toml")).unwrap();
    let formats: Vec<Format> = sources.all().iter().map(|source| source.format()).collect();
    assert_eq!(
        formats,
        [Format::Csv, Format::Csv, Format::Csv, Format::Fhir, Format::Hl7v2]
    );
    assert_eq!(sources.codes().meaning("anything", "BILI-T"), Some("serum"));
    assert_eq!(sources.codes().word("specimen", "Serum (hemolytic)"), Some("serum"));
    assert_eq!(sources.fhir().identifier_type.as_deref(), Some("MR"));
    assert_eq!(sources.hl7v2().charset.as_deref(), Some("windows-1252"));
    assert_eq!(
        sources.for_file(Path::new("in/LAB_7.TXT")).map(|source| source.name()),
        Some("laboratory")
    );
    assert!(sources.for_file(Path::new("births.csv")).is_none());
}
