//! One month through CSV, FHIR and HL7 v2, and the handmade files of each.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use siskin::extracts::sources::Format;
use siskin::intake::settle::Through;
use siskin::invent::{Options, Rules, invent, rewrite};
use siskin::protocol::Protocol;
use siskin::queries::figures::Figure;

use crate::harness::{PROTOCOL, TestWarehouse};

/// 2025-11-01 00:00 in London.
const MONTH_END_S: i64 = 1_761_955_200;

type Rows = Vec<BTreeMap<String, String>>;

/// Loads one invented October with its clock change, in a format, and returns the rows of each
/// table and the figures.
fn october(format: Format) -> (BTreeMap<&'static str, Rows>, Vec<Figure>) {
    let protocol = Protocol::parse(PROTOCOL).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let options = Options {
        births_per_month: 150,
        months: 1,
        ending: (2025, 10),
        seed: 11,
        out: out.clone(),
    };
    invent(&options, &Rules::of(&protocol).unwrap(), &mut |_, _| {}).unwrap();
    rewrite(&out, format, protocol.zone()).unwrap();
    let warehouse = TestWarehouse::new();
    // Where there was no exchange, FHIR and HL7 v2 have no record that says so.
    let through = Through {
        all: Some(MONTH_END_S),
        tables: [("exchanges".to_owned(), MONTH_END_S)].into(),
    };
    warehouse.load(&[out.join("2025-10")], &through, MONTH_END_S).unwrap();
    let tables = [
        "births",
        "screens",
        "serum",
        "phototherapy",
        "stays",
        "exchanges",
        "meter_checks",
    ];
    let rows = tables.map(|table| (table, canonical(&warehouse, table)));
    (rows.into_iter().collect(), warehouse.measure("2025-10"))
}

/// The rows of a table without what tells where and how they were written. A time with its
/// offset is in no doubt at a clock change, so that flag differs rightly.
fn canonical(warehouse: &TestWarehouse, table: &str) -> Rows {
    let mut rows = warehouse.rows(&format!("select * from {table} order by row_id"));
    let is_of_file = |name: &str| {
        name.ends_with("_text")
            || [
                "row_hash",
                "load",
                "seq",
                "file",
                "line",
                "said",
                "recorded_s",
                "clock_flag",
            ]
            .contains(&name)
    };
    for row in &mut rows {
        row.retain(|name, _| !is_of_file(name));
    }
    rows
}

#[test]
fn one_month_gives_the_same_rows_and_figures_in_every_format() {
    let (rows, figures) = october(Format::Csv);
    assert!(rows["births"].len() > 140 && rows["screens"].len() > 300 && rows["serum"].len() > 50);
    assert!(
        figures
            .iter()
            .any(|f| f.measure == "missed_referral" && f.denominator > Some(0))
    );
    for format in [Format::Fhir, Format::Hl7v2] {
        let (other_rows, other_figures) = october(format);
        for (table, rows) in &rows {
            assert_eq!(rows.len(), other_rows[table].len(), "{format:?}, {table}");
            for (ours, theirs) in rows.iter().zip(&other_rows[table]) {
                assert_eq!(ours, theirs, "{format:?}, {table}");
            }
        }
        let differing = figures
            .iter()
            .zip(&other_figures)
            .filter(|(ours, theirs)| ours != theirs);
        let differing: Vec<&str> = differing.map(|(ours, _)| ours.measure.as_str()).collect();
        assert!(differing.is_empty(), "{format:?}: {differing:?}");
        assert_eq!(figures, other_figures, "{format:?}");
    }
}

/// The handmade files tell one story in three formats: twins born at 19:42 before the clocks
/// went back, a reading above the meter's range, a corrected result, a haemolysed specimen, two
/// records of one twin merged, and a readmission.
fn handmade(format: &str) -> TestWarehouse {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/sources/handmade")
        .join(format);
    let warehouse = TestWarehouse::with_protocol(&PROTOCOL.replacen("Europe/London", "Europe/Amsterdam", 1));
    if folder.join("sources.toml").is_file() {
        fs::copy(folder.join("sources.toml"), warehouse.path().join("sources.toml")).unwrap();
    }
    warehouse.load(&[folder], &Through::default(), 1_762_300_000).unwrap();
    warehouse
}

fn one(warehouse: &TestWarehouse, sql: &str) -> BTreeMap<String, String> {
    let mut rows = warehouse.rows(sql);
    assert_eq!(rows.len(), 1, "{sql}: {rows:?}");
    rows.remove(0)
}

#[test]
fn twin_a_is_47_hours_old_at_her_reading_in_every_format_whatever_the_clocks_did() {
    for format in ["csv", "fhir", "hl7v2"] {
        let warehouse = handmade(format);
        let row = one(
            &warehouse,
            "select infant_id, age_s, gestation_days, is_due, value_micro from judged_screens
             where screen_id in ('T-207', 'tcb-a3')",
        );
        // 19:42 summer time to 18:00 winter time two days later: 47 h 18 min, 47.3 h.
        assert_eq!(row["age_s"], "170280", "{format}");
        assert_eq!(row["gestation_days"], "249", "{format}");
        assert_eq!(row["value_micro"], "342000000", "{format}: 20 mg/dL");
        assert_eq!(row["is_due"], "true", "{format}: above the meter's range");
        let bound = one(
            &warehouse,
            "select bound from screens where screen_id in ('T-207', 'tcb-a3')",
        );
        assert_eq!(bound["bound"], ">", "{format}");
    }
}

#[test]
fn a_time_in_the_repeated_hour_is_flagged_unless_its_offset_tells_which() {
    let flags = |format| handmade(format).rows("select measured_s, clock_flag from screens order by measured_s");
    let csv = flags("csv");
    assert_eq!(csv[0]["clock_flag"], "repeated_hour");
    let fhir = flags("fhir");
    let first: i64 = fhir[0]["measured_s"].parse().unwrap();
    let second: i64 = fhir[1]["measured_s"].parse().unwrap();
    assert_eq!(
        (fhir[0]["clock_flag"].as_str(), fhir[1]["clock_flag"].as_str()),
        ("", "")
    );
    assert_eq!(second - first, 3600, "02:30 came twice, an hour apart");
    assert_eq!(
        csv[0]["measured_s"], fhir[0]["measured_s"],
        "without an offset it is the first"
    );
}

#[test]
fn a_corrected_result_a_haemolysed_specimen_and_a_unit_that_cannot_be_come_out_in_every_format() {
    for (format, corrected) in [("csv", "F-5533"), ("fhir", "tsb-a2"), ("hl7v2", "F-5533")] {
        let warehouse = handmade(format);
        let row = one(
            &warehouse,
            &format!("select status, value_micro from judged_serum where specimen_id = '{corrected}'"),
        );
        assert_eq!(
            (row["status"].as_str(), row["value_micro"].as_str()),
            ("corrected", "251000000"),
            "{format}"
        );
    }
    for (format, haemolysed) in [("csv", "F-5502"), ("fhir", "tsb-b1")] {
        let row = one(
            &handmade(format),
            &format!("select is_valid, is_failed_attempt from judged_serum where specimen_id = '{haemolysed}'"),
        );
        assert_eq!(
            (row["is_valid"].as_str(), row["is_failed_attempt"].as_str()),
            ("false", "true"),
            "{format}"
        );
    }
    // Twin two has no admission in the feed: his specimen waits for his birth, and is not lost.
    let held = one(&handmade("hl7v2"), "select row_id, reason from held");
    assert_eq!(
        (held["row_id"].as_str(), held["reason"].as_str()),
        ("F-5502", "unknown_baby")
    );
    // 143 mg/dL: in the other unit it would be plausible; nothing is converted by guess.
    let aside = one(
        &handmade("csv"),
        "select reason, remedy from set_aside where row_id = 'F-5509' group by reason, remedy",
    );
    assert_eq!(aside["reason"], "implausible_value");
    assert!(
        aside["remedy"].contains("in umol/L it would be plausible"),
        "{}",
        aside["remedy"]
    );
}

#[test]
fn the_files_in_three_encodings_are_one_file_loaded_three_times() {
    let warehouse = handmade("csv");
    let fates = warehouse.rows(
        "select file, sum(rows_in) as rows_in, sum(duplicate) as duplicate from ledger
         where file like '%lab_2025-10%' group by file order by file",
    );
    assert_eq!(fates.len(), 3);
    for again in &fates[1..] {
        assert_eq!(again["rows_in"], again["duplicate"], "{}", again["file"]);
    }
}

#[test]
fn rows_of_a_merged_record_are_of_the_twin_and_his_withdrawn_result_is_gone() {
    let fhir = handmade("fhir");
    assert_eq!(
        fhir.rows("select * from births").len(),
        2,
        "the merged record is no third baby"
    );
    let merge = one(&fhir, "select from_infant_id, into_infant_id from merges");
    assert_eq!(
        (merge["from_infant_id"].as_str(), merge["into_infant_id"].as_str()),
        ("N-000987", "N-000452")
    );
    assert!(fhir.rows("select * from serum where specimen_id = 'tsb-x1'").is_empty());
    let merge = one(&handmade("hl7v2"), "select from_infant_id, into_infant_id from merges");
    assert_eq!(
        (merge["from_infant_id"].as_str(), merge["into_infant_id"].as_str()),
        ("N-000987", "N-000452")
    );
}

#[test]
fn an_export_without_a_newborn_measures_nothing_and_says_what_it_held() {
    let folder = tempfile::tempdir().unwrap();
    let patient = r#"{"resourceType":"Patient","id":"p1","birthDate":"1970-01-01"}"#;
    let result = |id: &str, code: &str| {
        format!(
            r#"{{"resourceType":"Observation","id":"{id}","status":"final","code":{{"coding":[{{"system":"http://loinc.org","code":"{code}"}}]}},"subject":{{"reference":"Patient/p1"}},"effectiveDateTime":"2025-10-31T10:05:00Z","valueQuantity":{{"value":1,"code":"mg/dL","system":"http://unitsofmeasure.org"}}}}"#
        )
    };
    fs::write(folder.path().join("Patient.ndjson"), patient).unwrap();
    let results = [result("o1", "1975-2"), result("o2", "718-7"), result("o3", "718-7")].join("\n");
    fs::write(folder.path().join("Observation.ndjson"), results).unwrap();
    let warehouse = TestWarehouse::new();
    let load = || {
        warehouse
            .load(&[folder.path().to_owned()], &Through::default(), MONTH_END_S)
            .unwrap()
    };
    let built = load();
    assert_eq!(built.holds, Some((0, 0)));
    let codes = warehouse.rows("select code, records from unmapped_codes order by code");
    let told: Vec<(&str, &str)> = codes
        .iter()
        .map(|row| (row["code"].as_str(), row["records"].as_str()))
        .collect();
    assert!(
        told.contains(&("718-7", "2")) && told.contains(&("1975-2", "1")),
        "{told:?}"
    );
    for figure in warehouse.measure("2025-10") {
        assert_eq!(
            (figure.numerator, figure.denominator, figure.value),
            (None, None, None),
            "{}",
            figure.measure
        );
    }
    assert!(load().snapshot.is_none(), "the same files once more are no news");
}

#[test]
fn a_table_of_another_data_model_is_refused_by_name() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(
        folder.path().join("person.csv"),
        "person_id,birth_datetime\n1,2025-10-25 19:42:00\n",
    )
    .unwrap();
    let error = TestWarehouse::new()
        .load(&[folder.path().to_owned()], &Through::default(), MONTH_END_S)
        .err()
        .unwrap();
    assert!(
        error
            .to_string()
            .contains("OMOP common data model, which siskin does not read"),
        "{error}"
    );
}
