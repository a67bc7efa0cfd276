//! What comes late or is mended later: rows set aside read again, rows that wait for others,
//! restated months, and pages as of earlier loads.

use std::fs;
use std::path::Path;

use siskin::intake::settle::Through;
use siskin::queries::{catalogue, history};

use crate::commands::{demo, siskin, text};
use crate::harness::{PROTOCOL, TestWarehouse};

const BIRTHS: &str = "infant_id,mother_id,born_at,gestation,birth_weight_g,sex,plurality,birth_order,unit,feeding,risk_factors,skin_tone,ethnicity\nb1,m1,2026-01-01T08:00,39+0,,,,,u1,,,,\n";
const AT_S: i64 = 1_782_860_400;

fn sources(units: &str) -> String {
    format!(
        r#"
[[source]]
name = "lab"
files = ["lab*.csv"]
[[source.target]]
table = "serum"
[source.target.columns]
specimen_id = "no"
infant_id = "baby"
collected_at = "at"
resulted_at = "out"
value = "result"
unit_of_measure = {{ column = "unit", words = {{ {units} }} }}
analyte = {{ constant = "total" }}
status = {{ constant = "final" }}
"#
    )
}

const LAB: &str = "no,baby,at,out,result,unit\ns1,b1,2026-01-02T08:00,2026-01-02T09:00,200,umol/L\ns2,b1,2026-01-03T08:00,2026-01-03T09:00,210,micromol per litre\n";

fn balance(warehouse: &TestWarehouse) {
    let unbalanced = warehouse
        .rows("select * from ledger where rows_in <> kept + superseded + duplicate + withdrawn + held + set_aside");
    assert!(unbalanced.is_empty(), "{unbalanced:?}");
}

#[test]
fn a_row_set_aside_is_taken_in_once_the_mapping_is_mended_and_asked_to_retry() {
    let mut warehouse = TestWarehouse::new();
    let path = warehouse.path().join("sources.toml");
    fs::write(&path, sources(r#""umol/L" = "umol/L""#)).unwrap();
    let files = [("births.csv", BIRTHS), ("lab_1.csv", LAB)];
    warehouse.load_texts(&files, &Through::default(), AT_S).unwrap();
    let aside = warehouse.rows("select row_id, reason, remedy, line from set_aside");
    assert_eq!(
        (aside[0]["row_id"].as_str(), aside[0]["reason"].as_str()),
        ("s2", "unknown_word")
    );
    assert!(
        aside[0]["remedy"].contains("micromol per litre"),
        "{}",
        aside[0]["remedy"]
    );
    warehouse.retry = true;
    let again = warehouse.load(&[], &Through::default(), AT_S + 60).unwrap();
    assert!(again.snapshot.is_none(), "nothing was mended, so nothing is new");
    fs::write(
        &path,
        sources(r#""umol/L" = "umol/L", "micromol per litre" = "umol/L""#),
    )
    .unwrap();
    let again = warehouse.load(&[], &Through::default(), AT_S + 120).unwrap();
    assert_eq!(again.settled.lines.len(), 1);
    assert_eq!(
        (again.settled.lines[0].rows_in, again.settled.lines[0].rows("kept")),
        (1, 1)
    );
    let serum = warehouse.rows("select value_umol_l, line, load from serum where specimen_id = 's2'");
    assert_eq!(
        (
            serum[0]["value_umol_l"].as_str(),
            serum[0]["line"].as_str(),
            serum[0]["load"].as_str()
        ),
        ("210.0", "3", "2")
    );
    balance(&warehouse);
    let once_more = warehouse.load(&[], &Through::default(), AT_S + 180).unwrap();
    assert!(once_more.snapshot.is_none(), "what was mended is not read again");
    assert_eq!(
        once_more.settled.more_to_mend + once_more.settled.to_mend.len() as u64,
        0
    );
}

#[test]
fn a_result_set_aside_beside_a_good_one_stays_until_it_can_be_taken_in_itself() {
    let message = "MSH|^~\\&|LAB|H|A|H|20260301080000||ORU^R01|M1|P|2.5.1\rPID|1||b1^^^H^MR\r\
        OBR|1||S10|1975-2^^LN|||20260102080000|||||||||||||||20260102090000|||F\r\
        OBX|1|NM|1975-2^^LN||900|mg/dL|||||F\rOBX|2|NM|1968-7^^LN||0.4|mg/dL|||||F\r";
    let mut warehouse = TestWarehouse::new();
    let files = [("births.csv", BIRTHS), ("lab.hl7", message)];
    let first = warehouse.load_texts(&files, &Through::default(), AT_S).unwrap();
    assert_eq!(first.settled.set_aside, [("implausible_value".to_owned(), 1)]);
    assert_eq!(warehouse.rows("select * from serum").len(), 1);
    warehouse.retry = true;
    let again = warehouse.load(&[], &Through::default(), AT_S + 60).unwrap();
    assert!(
        again.snapshot.is_none(),
        "the good result beside it is no reason to take it as mended"
    );
    let bounds = "umol_l_at_most = ";
    let at = PROTOCOL.find(bounds).unwrap() + bounds.len();
    let end = at + PROTOCOL[at..].find(|c: char| !c.is_ascii_digit()).unwrap();
    warehouse.set_protocol(&format!("{}20000{}", &PROTOCOL[..at], &PROTOCOL[end..]));
    warehouse.load(&[], &Through::default(), AT_S + 120).unwrap();
    assert_eq!(warehouse.rows("select * from serum").len(), 2);
    assert_eq!(warehouse.rows("select * from mended").len(), 1);
    balance(&warehouse);
}

#[test]
fn a_row_whose_bytes_could_not_be_read_waits_for_its_file() {
    let folder = tempfile::tempdir().unwrap();
    let lab = folder.path().join("lab_1.csv");
    let mut bytes = LAB.as_bytes().to_vec();
    bytes.extend(b"s3,b1,2026-01-04T08:00,2026-01-04T09:00,220,\xb5mol/L\n");
    fs::write(&lab, bytes).unwrap();
    let words = r#""umol/L" = "umol/L", "micromol per litre" = "umol/L", "\u00b5mol/L" = "umol/L""#;
    let encoded = |name: &str| {
        let files = r#"files = ["lab*.csv"]"#;
        sources(words).replace(files, &format!("{files}\nencoding = \"{name}\""))
    };
    let mut warehouse = TestWarehouse::new();
    let path = warehouse.path().join("sources.toml");
    fs::write(&path, encoded("utf-8")).unwrap();
    let births = folder.path().join("births.csv");
    fs::write(&births, BIRTHS).unwrap();
    let first = warehouse
        .load(&[births, lab.clone()], &Through::default(), AT_S)
        .unwrap();
    assert_eq!(first.settled.set_aside, [("not_utf8".to_owned(), 1)]);
    fs::write(&path, encoded("windows-1252")).unwrap();
    warehouse.retry = true;
    let again = warehouse.load(&[], &Through::default(), AT_S + 60).unwrap();
    assert!(again.snapshot.is_none(), "its text was kept without the bytes");
    assert_eq!(again.still_aside, 1);
    warehouse.load(&[lab], &Through::default(), AT_S + 120).unwrap();
    assert_eq!(warehouse.rows("select * from serum where specimen_id = 's3'").len(), 1);
    let listing = catalogue::listings::rows_to_mend.text.replace("$first_load", "1");
    let waiting = warehouse.rows(&listing);
    assert_eq!(waiting.len(), 1, "its id is not known, so it stays listed: {waiting:?}");
    balance(&warehouse);
}

#[test]
fn a_result_that_refers_to_an_absent_specimen_is_held_and_taken_in_when_that_comes() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    write(
        "Patient.ndjson",
        r#"{"resourceType":"Patient","id":"p","identifier":[{"value":"b1"}],"birthDate":"2026-01-01","_birthDate":{"extension":[{"url":"http://hl7.org/fhir/StructureDefinition/patient-birthTime","valueDateTime":"2026-01-01T08:00:00Z"}]}}"#,
    );
    write(
        "Observation.ndjson",
        r#"{"resourceType":"Observation","id":"o","status":"final","code":{"coding":[{"system":"http://loinc.org","code":"14631-6"}]},"subject":{"reference":"Patient/p"},"effectiveDateTime":"2026-01-02T08:00:00Z","issued":"2026-01-02T09:00:00Z","valueQuantity":{"value":200,"code":"umol/L","system":"http://unitsofmeasure.org"},"specimen":{"reference":"Specimen/s"}}"#,
    );
    let warehouse = TestWarehouse::new();
    let load = |at| {
        warehouse
            .load(&[folder.path().to_owned()], &Through::default(), at)
            .unwrap()
    };
    let first = load(AT_S);
    let line = first.settled.lines.iter().find(|line| line.table == "serum").unwrap();
    assert_eq!((line.rows_in, line.rows("held")), (1, 1));
    assert!(warehouse.rows("select * from serum").is_empty());
    fs::remove_file(folder.path().join("Patient.ndjson")).unwrap();
    fs::remove_file(folder.path().join("Observation.ndjson")).unwrap();
    write(
        "Specimen.ndjson",
        r#"{"resourceType":"Specimen","id":"s","type":{"text":"cord blood"},"collection":{"collectedDateTime":"2026-01-02T07:55:00Z"}}"#,
    );
    load(AT_S + 60);
    let serum = warehouse.rows("select infant_id, specimen, collected_s from serum");
    assert_eq!(
        (serum[0]["infant_id"].as_str(), serum[0]["specimen"].as_str()),
        ("b1", "cord")
    );
    assert_eq!(
        serum[0]["collected_s"], "1767340500",
        "07:55, when the specimen was collected"
    );
    let valid = warehouse.rows("select is_valid from judged_serum");
    assert_eq!(valid[0]["is_valid"], "false", "cord blood is no serum");
    balance(&warehouse);
}

#[test]
fn a_past_month_that_a_correction_moves_is_told_as_restated() {
    let screens = "screen_id,infant_id,measured_at,value,unit_of_measure,body_site,readings,meter_id,operator_id,id_entry,setting,unit\ns1,b1,2026-01-03T08:00,290,umol/L,,,,,,,u1\n";
    let stays = "stay_id,infant_id,unit,admitted_at,discharged_at,source,disposition,diagnoses\nh1,b1,u1,2026-01-01T08:00,2026-01-06T08:00,birth,home,\n";
    let phototherapy = "episode_id,infant_id,started_at,stopped_at,kind,setting,unit\np1,b1,2026-01-05T08:00,2026-01-05T20:00,single,,u1\n";
    let serum = "specimen_id,infant_id,collected_at,resulted_at,value,unit_of_measure,analyte,specimen,status,unit\nl1,b1,2026-01-04T20:00,2026-01-04T21:00,200,umol/L,total,serum,final,u1\n";
    let warehouse = TestWarehouse::new();
    let through = Through {
        all: Some(AT_S),
        ..Through::default()
    };
    let files = [
        ("births.csv", BIRTHS),
        ("screens.csv", screens),
        ("stays.csv", stays),
        ("phototherapy.csv", phototherapy),
        ("serum.csv", serum),
    ];
    warehouse.load_texts(&files, &through, AT_S).unwrap();
    let month = "2026-01".parse().unwrap();
    let restated = |warehouse: &TestWarehouse| {
        warehouse.run(|session| async move { history::restated(&session, month).await.unwrap() })
    };
    assert_eq!(restated(&warehouse), []);
    // The serum was drawn on the day of the screen after all: not missed, but late.
    let corrected = serum
        .replace("2026-01-04T20:00", "2026-01-03T20:00")
        .replace("final", "corrected");
    warehouse
        .load_texts(&[("serum.csv", &corrected)], &through, AT_S + 60)
        .unwrap();
    let found = restated(&warehouse);
    let missed = found.iter().find(|r| r.measure == "missed_referral").unwrap();
    assert_eq!(
        (missed.told_load, missed.told_numerator, missed.told_denominator),
        (1, Some(1), Some(1))
    );
    assert_eq!(
        (missed.since_load, missed.now_numerator, missed.now_denominator),
        (2, Some(0), Some(1))
    );
    assert_eq!(missed.cause, "data");
    assert!(
        found.iter().all(|r| r.measure != "jaundice_readmission_7d"),
        "nobody was readmitted, then or now"
    );
    // In time even, and by a protocol that has changed: either may be why.
    warehouse.set_protocol(&format!("{PROTOCOL}\n# renewed\n"));
    let once_more = corrected
        .replace("2026-01-03T20:00", "2026-01-03T10:00")
        .replace("2026-01-04T21:00", "2026-01-04T22:00");
    warehouse
        .load_texts(&[("serum.csv", &once_more)], &through, AT_S + 120)
        .unwrap();
    let found = restated(&warehouse);
    let in_time = found.iter().find(|r| r.measure == "referral_in_time").unwrap();
    assert_eq!(
        (in_time.since_load, in_time.now_numerator, in_time.cause.as_str()),
        (3, Some(1), "data_and_definitions")
    );
}

fn page(warehouse: &Path, load: Option<&str>, out: &Path) -> (Vec<u8>, Vec<u8>) {
    let mut words = vec![
        "report",
        "--warehouse",
        warehouse.to_str().unwrap(),
        "--month",
        "2025-03",
    ];
    if let Some(load) = load {
        words.extend(["--as-of", load]);
    }
    words.extend(["--out", out.to_str().unwrap()]);
    let done = siskin(&words);
    assert!(done.status.success(), "{}", text(&done.stderr));
    let folder = out.join("2025-03/quality");
    let read = |name: &str| fs::read(folder.join(name)).unwrap();
    (read("dashboard.html"), read("measures.json"))
}

#[test]
fn a_page_as_of_an_earlier_load_is_the_page_of_that_time_byte_for_byte() {
    let copy = tempfile::tempdir().unwrap();
    let warehouse = copy.path().join("warehouse");
    crate::commands::copy_folder(&demo().warehouse().join("extracts"), &copy.path().join("extracts"));
    fs::create_dir(&warehouse).unwrap();
    fs::copy(
        demo().warehouse().join("protocol.toml"),
        warehouse.join("protocol.toml"),
    )
    .unwrap();
    let load = |month: &str, end: &str| {
        let extracts = copy.path().join("extracts").join(month);
        let words = [
            "load",
            "--warehouse",
            warehouse.to_str().unwrap(),
            "--through",
            end,
            extracts.to_str().unwrap(),
        ];
        let done = siskin(&words);
        assert!(done.status.success(), "{}", text(&done.stderr));
    };
    load("2025-03", "2025-04-01T00:00");
    let then = page(&warehouse, None, &copy.path().join("then"));
    load("2025-04", "2025-05-01T00:00");
    let now = page(&warehouse, None, &copy.path().join("now"));
    assert!(now != then, "the later load moves the month");
    let again = page(&warehouse, Some("1"), &copy.path().join("again"));
    assert!(again == then, "as of load 1 the page is the one rendered then");
}

#[test]
fn the_page_of_the_sample_says_which_figures_were_restated_since_which_load() {
    let out = tempfile::tempdir().unwrap();
    let (page, _) = page(&demo().warehouse(), None, out.path());
    let page = String::from_utf8(page).unwrap();
    assert!(
        page.contains("Restated: 2 figures of this month have moved"),
        "2025-03 was moved by load 7"
    );
    assert!(page.contains("<td>6</td><td>56 %, 49 of 87</td><td>7</td>"));
    assert!(page.contains("<td>6</td><td>6.5 %, 22 of 341</td><td>7</td>"));
}

/// An earlier load as a siskin made it that did not store the cases of the measures yet: what cannot
/// be told of it is refused in words; its tables can still be asked.
#[test]
fn an_earlier_load_without_cases_is_refused_in_words() {
    let warehouse = TestWarehouse::new();
    let through = Through::default();
    warehouse.load_texts(&[("births.csv", BIRTHS)], &through, AT_S).unwrap();
    let manifest = warehouse.warehouse().newest().unwrap().path().join("manifest.json");
    let mut told: serde_json::Value = serde_json::from_str(&fs::read_to_string(&manifest).unwrap()).unwrap();
    let tables = told["tables"].as_object_mut().unwrap();
    assert!(tables.remove("cases").is_some());
    fs::write(&manifest, told.to_string()).unwrap();
    let path = warehouse.path().to_str().unwrap();
    let out = tempfile::tempdir().unwrap();
    let out = out.path().to_str().unwrap();
    let of_load = ["--warehouse", path, "--as-of", "1"];
    for command in [
        &["measure", "--month", "2026-01"][..],
        &["report", "--month", "2026-01", "--out", out],
        &["ask", "select * from measures"],
    ] {
        let refused = siskin(&[command, &of_load].concat());
        assert_eq!(refused.status.code(), Some(3), "{command:?}");
        let said = text(&refused.stderr);
        assert!(said.contains("did not store the cases of its measures"), "{said}");
        assert!(said.contains("to do: report it by that siskin"), "{said}");
    }
    let births = siskin(&[&["ask", "select count(*) as n from births"], &of_load[..]].concat());
    assert!(births.status.success(), "{}", text(&births.stderr));
}
