//! Total and direct bilirubin under one specimen number are two results, in every format, in any
//! order of loads, and however a load settles.

use std::fs;

use jiff::tz::TimeZone;

use siskin::extracts::codes::{CodeLists, Codes};
use siskin::extracts::record::SourceRow;
use siskin::intake::judge::{Accepted, Judge};
use siskin::intake::settle::Through;
use siskin::protocol::Protocol;
use siskin::warehouse::tables::SourceTable;

use crate::harness::{PROTOCOL, TestWarehouse};

const AT_S: i64 = 1_775_347_200; // 2026-04-05T00:00Z
const BIRTHS: &str = "infant_id,mother_id,born_at,gestation,birth_weight_g,sex,plurality,birth_order,unit,feeding,risk_factors,skin_tone,ethnicity\nb1,m1,2026-04-01T08:00,39+0,,,,,u1,,,,\n";

fn serum_row(number: &str, analyte: &str, status: &str) -> SourceRow {
    let mut row = SourceRow::of(SourceTable::named("serum").unwrap());
    for (column, cell) in [
        ("specimen_id", number),
        ("infant_id", "b1"),
        ("collected_at", "2026-04-03T08:00"),
        ("value", "200"),
        ("unit_of_measure", "umol/L"),
        ("analyte", analyte),
        ("status", status),
    ] {
        row.say(column, cell);
    }
    row
}

fn id(number: &str, analyte: &str, status: &str) -> Option<String> {
    let (zone, protocol) = (TimeZone::UTC, Protocol::parse(PROTOCOL).unwrap());
    let judge = Judge {
        zone: &zone,
        plausible: protocol.plausible(),
    };
    let row = serum_row(number, analyte, status);
    let id = |row: Accepted<'_>| row.row_id.into_owned();
    judge.row(&row).ok().map(id)
}

#[test]
fn a_result_is_a_specimen_and_what_was_measured_in_it() {
    let is = |number: &str, analyte: &str| id(number, analyte, "final").unwrap();
    for total in ["total", "Total", "1975-2", "14631-6", "77137-8"] {
        assert_eq!(is("S1", total), "S1");
    }
    for direct in ["direct", "1968-7", "14629-0", "15152-2"] {
        assert_eq!(is(" S1 ", direct), "S1#direct");
    }
    assert_eq!(is("S1", "42719-5"), "S1#42719-5");
    for unsaid in ["", "bilirubin", "?"] {
        assert_eq!(id("S1", unsaid, "final"), None, "set aside");
        assert_eq!(id("S1", unsaid, "withdrawn").unwrap(), "S1#?");
    }
    assert_eq!(id("S1", "1968-7", "withdrawn").unwrap(), "S1#direct");
    assert_eq!(id("", "total", "final"), None);
}

#[test]
fn no_number_is_taken_for_another_result() {
    let is = |number: &str| id(number, "total", "final").unwrap();
    assert_eq!(is("S1#2"), "S1#2");
    for number in ["S1#direct", "S1#1975-2", "S1#?", "S1#total"] {
        assert_eq!(is(number), format!("{number}#total"));
    }
}

#[test]
fn a_site_cannot_change_which_results_replace_each_other() {
    let lists: CodeLists = toml::from_str("[words.measures]\n\"42719-5\" = \"total\"").unwrap();
    let refused = Codes::with(&lists).err().unwrap();
    assert!(refused.contains("words.measures cannot be changed"), "{refused}");
}

/// One result as the laboratory reports it.
#[derive(Clone, Copy)]
struct Report {
    code: &'static str,
    value: &'static str,
    status: &'static str,
    resulted: &'static str,
}

const fn report(code: &'static str, value: &'static str, status: &'static str, resulted: &'static str) -> Report {
    Report {
        code,
        value,
        status,
        resulted,
    }
}

type Format = fn(&[Report]) -> (&'static str, String);

const FORMATS: [(&str, Format); 4] = [("csv", csv), ("mapped", mapped), ("fhir", fhir), ("hl7v2", hl7v2)];

const SERUM: &str =
    "specimen_id,infant_id,collected_at,resulted_at,value,unit_of_measure,analyte,specimen,status,unit\n";

fn csv(reports: &[Report]) -> (&'static str, String) {
    let mut text = SERUM.to_owned();
    for Report {
        code,
        value,
        status,
        resulted,
    } in reports
    {
        text += &format!("S1,b1,2026-04-03T08:00,2026-04-03T{resulted},{value},umol/L,{code},serum,{status},u1\n");
    }
    ("serum.csv", text)
}

/// A laboratory's own names, by `SOURCES`.
fn mapped(reports: &[Report]) -> (&'static str, String) {
    let mut text = "no;baby;taken;out;test;result;state\n".to_owned();
    for Report {
        code,
        value,
        status,
        resulted,
    } in reports
    {
        text += &format!("S1;b1;2026-04-03 08:00;2026-04-03 {resulted};LAB {code};{value};{status}\n");
    }
    ("lab_1.csv", text)
}

const SOURCES: &str = r#"
[[source]]
name = "lab"
files = ["lab_*.csv"]
delimiter = ";"
[[source.target]]
table = "serum"
[source.target.columns]
specimen_id = "no"
infant_id = "baby"
collected_at = "taken"
resulted_at = "out"
value = "result"
unit_of_measure = { assumed = "umol/L" }
analyte = { column = "test", words = { "LAB 14631-6" = "total", "LAB 1975-2" = "1975-2", "LAB 14629-0" = "direct" } }
status = "state"

[[source]]
name = "wide"
files = ["wide_*.csv"]
[[source.target]]
table = "serum"
[source.target.columns]
specimen_id = "no"
infant_id = "baby"
collected_at = "taken"
value = "total"
unit_of_measure = { column = "unit", words = { "umol" = "umol/L" } }
analyte = { constant = "total" }
status = { constant = "final" }
[[source.target]]
table = "serum"
[source.target.columns]
specimen_id = "no"
infant_id = "baby"
collected_at = "taken"
value = "direct"
unit_of_measure = { column = "unit", words = { "umol" = "umol/L" } }
analyte = { constant = "direct" }
status = { constant = "final" }
"#;

/// Observations with the number of the specimen as their identifier.
fn fhir(reports: &[Report]) -> (&'static str, String) {
    let mut text = String::from(
        r#"{"resourceType":"Patient","id":"p1","identifier":[{"type":{"coding":[{"system":"http://terminology.hl7.org/CodeSystem/v2-0203","code":"MR"}]},"value":"b1"}],"birthDate":"2026-04-01","_birthDate":{"extension":[{"url":"http://hl7.org/fhir/StructureDefinition/patient-birthTime","valueDateTime":"2026-04-01T08:00:00+01:00"}]},"multipleBirthInteger":1}"#,
    );
    text.push('\n');
    for Report {
        code,
        value,
        status,
        resulted,
    } in reports
    {
        let status = if *status == "withdrawn" {
            "entered-in-error"
        } else {
            status
        };
        text += &format!(
            r#"{{"resourceType":"Observation","id":"o-{code}","identifier":[{{"value":"S1"}}],"status":"{status}","code":{{"coding":[{{"system":"http://loinc.org","code":"{code}"}}]}},"subject":{{"reference":"Patient/p1"}},"effectiveDateTime":"2026-04-03T08:00:00+01:00","issued":"2026-04-03T{resulted}:00+01:00","valueQuantity":{{"value":{value},"unit":"umol/L"}}}}"#
        );
        text.push('\n');
    }
    ("export.ndjson", text)
}

/// Each result in a message and an order of its own, all orders under one number.
fn hl7v2(reports: &[Report]) -> (&'static str, String) {
    let mut text = String::new();
    for (
        place,
        Report {
            code,
            value,
            status,
            resulted,
        },
    ) in reports.iter().enumerate()
    {
        let status = match *status {
            "withdrawn" => "D",
            "corrected" => "C",
            "cancelled" => "X",
            _ => "F",
        };
        let resulted = resulted.replace(':', "");
        text += &format!(
            "MSH|^~\\&|LAB|H|A|H|20260403{resulted}00||ORU^R01|M{place}{resulted}|P|2.5.1\rPID|1||b1^^^H^MR\r\
             OBR|1|P-1|S1|{code}^^LN|||202604030800|||||||||||||||20260403{resulted}|||{status}\r\
             OBX|1|NM|{code}^^LN||{value}|umol/L|||||{status}|||202604030800\r"
        );
    }
    ("messages.hl7", text)
}

fn mapped_warehouse() -> TestWarehouse {
    let warehouse = TestWarehouse::new();
    fs::write(warehouse.path().join("sources.toml"), SOURCES).unwrap();
    warehouse
}

fn balance(warehouse: &TestWarehouse) {
    let unbalanced = warehouse
        .rows("select * from ledger where rows_in <> kept + superseded + duplicate + withdrawn + held + set_aside");
    assert!(unbalanced.is_empty(), "{unbalanced:?}");
}

/// Live results as `id value`, in the order of their ids.
fn live(warehouse: &TestWarehouse) -> Vec<String> {
    let rows = warehouse.rows("select specimen_id, value_micro from serum order by specimen_id");
    let value = |micro: &str| {
        micro
            .parse::<i64>()
            .map_or_else(|_| "-".to_owned(), |micro| (micro / 1_000_000).to_string())
    };
    rows.iter()
        .map(|row| format!("{} {}", row["specimen_id"], value(&row["value_micro"])))
        .collect()
}

/// Loads, each with its reports, and what stands after each of them.
fn stands_in_every_format(loads: &[(&[Report], &[&str])]) {
    for (name, format) in FORMATS {
        let warehouse = mapped_warehouse();
        warehouse
            .load_texts(&[("births.csv", BIRTHS)], &Through::default(), AT_S)
            .unwrap();
        for (number, (reports, stands)) in loads.iter().enumerate() {
            let (file, text) = format(reports);
            warehouse
                .load_texts(&[(file, &text)], &Through::default(), AT_S + 1 + number as i64)
                .unwrap();
            assert_eq!(live(&warehouse), *stands, "{name}, load {number}");
            balance(&warehouse);
        }
        let aside = warehouse.rows("select * from set_aside");
        assert!(aside.is_empty(), "{name}: {aside:?}");
        let twice = warehouse.rows("select test_id from aged_tests group by test_id having count(*) > 1");
        assert!(twice.is_empty(), "{name}: {twice:?}");
    }
}

#[test]
fn a_direct_that_comes_after_the_total_or_before_it_leaves_it_above_the_line() {
    let total = report("14631-6", "360", "final", "09:00");
    let direct = report("14629-0", "12", "final", "15:00");
    let corrected = report("14629-0", "13", "corrected", "16:00");
    stands_in_every_format(&[
        (&[total], &["S1 360"]),
        (&[direct], &["S1 360", "S1#direct 12"]),
        (&[corrected], &["S1 360", "S1#direct 13"]),
    ]);
    stands_in_every_format(&[
        (&[corrected], &["S1#direct 13"]),
        (&[total], &["S1 360", "S1#direct 13"]),
    ]);
    stands_in_every_format(&[(&[total, direct], &["S1 360", "S1#direct 12"])]);
    stands_in_every_format(&[(&[direct, total], &["S1 360", "S1#direct 12"])]);
}

#[test]
fn two_codes_of_total_are_one_result() {
    stands_in_every_format(&[
        (&[report("14631-6", "300", "final", "09:00")], &["S1 300"]),
        (&[report("1975-2", "360", "final", "15:00")], &["S1 360"]),
        (&[report("14631-6", "310", "final", "10:00")], &["S1 360"]),
    ]);
}

#[test]
fn a_withdrawal_removes_that_result_only() {
    let total = report("14631-6", "360", "final", "09:00");
    let direct = report("14629-0", "12", "final", "15:00");
    let both: &[&str] = &["S1 360", "S1#direct 12"];
    stands_in_every_format(&[
        (&[total, direct], both),
        (&[report("14629-0", "12", "withdrawn", "16:00")], &["S1 360"]),
        (&[direct], &["S1 360"]),
    ]);
    stands_in_every_format(&[
        (&[total, direct], both),
        (&[report("1975-2", "360", "withdrawn", "16:00")], &["S1#direct 12"]),
        (&[report("14631-6", "370", "corrected", "17:00")], &["S1#direct 12"]),
    ]);
}

/// Several results of one order in one message (HL7 v2): all are of its number.
#[test]
fn results_of_one_order_in_one_message_are_results_of_one_specimen() {
    let warehouse = mapped_warehouse();
    let message = |observations: &str| {
        format!(
            "MSH|^~\\&|LAB|H|A|H|20260403090000||ORU^R01|M1|P|2.5.1\rPID|1||b1^^^H^MR\r\
             OBR|1|P-1|S1|24325-3^Panel^LN|||202604030800|||||||||||||||202604030900|||F\r{observations}"
        )
    };
    let panel = message(
        "OBX|1|NM|14629-0^^LN||12|umol/L|||||F\rOBX|2|NM|14631-6^^LN||360|umol/L|||||F\rOBX|3|NM|14631-6^^LN||350|umol/L|||||F\r",
    );
    let files = [("births.csv", BIRTHS), ("messages.hl7", panel.as_str())];
    warehouse.load_texts(&files, &Through::default(), AT_S).unwrap();
    assert_eq!(live(&warehouse), ["S1 360", "S1#2 350", "S1#direct 12"]);
    let alone = message("OBX|1|NM|14629-0^^LN||14|umol/L|||||C\r");
    warehouse
        .load_texts(&[("messages.hl7", &alone)], &Through::default(), AT_S + 1)
        .unwrap();
    assert_eq!(live(&warehouse), ["S1 360", "S1#2 350", "S1#direct 14"]);
}

fn rows(cells: &[&str]) -> String {
    let row = |cells: &&str| {
        let (analyte, rest) = cells.split_once(' ').unwrap();
        let (value, status) = rest.split_once(' ').unwrap();
        format!("S1,b1,2026-04-03T08:00,2026-04-03T09:00,{value},umol/L,{analyte},serum,{status},u1\n")
    };
    SERUM.to_owned() + &cells.iter().map(row).collect::<String>()
}

/// Loads one after the other into a warehouse that settles what changes, and one that settles
/// everything; the files of both are the same after each.
fn loaded(loads: &[&[&str]]) -> TestWarehouse {
    let ours = TestWarehouse::new();
    let mut whole = TestWarehouse::new();
    whole.is_whole = true;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("serum.csv");
    for warehouse in [&ours, &whole] {
        warehouse
            .load_texts(&[("births.csv", BIRTHS)], &Through::default(), AT_S)
            .unwrap();
    }
    for (number, load) in loads.iter().enumerate() {
        fs::write(&path, rows(load)).unwrap();
        for warehouse in [&ours, &whole] {
            let at_s = AT_S + 1 + number as i64;
            warehouse
                .load(std::slice::from_ref(&path), &Through::default(), at_s)
                .unwrap();
        }
        let files = |warehouse: &TestWarehouse, table: &str| {
            let snapshot = warehouse.warehouse().newest().unwrap();
            snapshot.manifest().tables[table].files.clone()
        };
        for table in [
            "serum",
            "versions_serum",
            "row_keys",
            "aged_tests",
            "judged_serum",
            "corrected_serum",
            "cases",
        ] {
            assert_eq!(files(&ours, table), files(&whole, table), "{table}, load {number}");
        }
        let held = |warehouse: &TestWarehouse| warehouse.rows("select row_id, reason, load, seq from held");
        assert_eq!(held(&ours), held(&whole), "load {number}");
        balance(&ours);
    }
    ours
}

fn held(warehouse: &TestWarehouse) -> Vec<String> {
    let rows = warehouse.rows("select row_id, reason from held order by row_id");
    rows.iter()
        .map(|row| format!("{} {}", row["row_id"], row["reason"]))
        .collect()
}

#[test]
fn a_withdrawal_that_does_not_say_which_is_of_the_only_other_result() {
    let gone = loaded(&[&["total 360 final"], &[" 360 withdrawn"]]);
    assert_eq!((live(&gone), held(&gone)), (vec![], vec![]));
    let gone = loaded(&[&[" 360 withdrawn"], &["1975-2 360 final"]]);
    assert_eq!((live(&gone), held(&gone)), (vec![], vec![]));
    // Of two it may be either, whichever comes when; the total is seen.
    let unclear = ["S1#? which_result".to_owned()];
    for loads in [
        [&["total 360 final"][..], &["direct 12 final"], &[" 360 withdrawn"]],
        [&["total 360 final"], &[" 360 withdrawn"], &["direct 12 final"]],
        [&[" 360 withdrawn"], &["direct 12 final"], &["total 360 final"]],
    ] {
        let both = loaded(&loads);
        assert_eq!(live(&both), ["S1 360", "S1#direct 12"]);
        assert_eq!(held(&both), unclear);
    }
    // Also when one of the two cannot be used, or has been withdrawn itself.
    for loads in [
        [&["total 360 final"][..], &["direct 900 final"], &[" 360 withdrawn"]],
        [&["total 360 final"], &[" 360 withdrawn"], &["direct 900 final"]],
        [
            &["total 360 final", "direct 12 final"],
            &["direct 12 withdrawn"],
            &[" 360 withdrawn"],
        ],
    ] {
        let total = loaded(&loads);
        assert_eq!(live(&total), ["S1 360"]);
        assert_eq!(held(&total), unclear);
    }
    // Said again with its analyte it is done.
    let direct = loaded(&[
        &["total 360 final", "direct 12 final"],
        &[" 360 withdrawn"],
        &["total 360 withdrawn"],
    ]);
    assert_eq!(live(&direct), ["S1#direct 12"]);
}

#[test]
fn a_row_set_aside_without_an_analyte_flags_the_only_other_result() {
    let flags = |warehouse: &TestWarehouse| {
        let rows = warehouse.rows("select specimen_id, newer_version_set_aside from serum order by specimen_id");
        let flag = |row: &std::collections::BTreeMap<String, String>| {
            format!("{} {}", row["specimen_id"], row["newer_version_set_aside"])
        };
        rows.iter().map(flag).collect::<Vec<_>>()
    };
    let flagged = loaded(&[&["total 200 final"], &[" 360 corrected"]]);
    assert_eq!(flags(&flagged), ["S1 true"]);
    let parted = loaded(&[&["total 200 final"], &[" 360 corrected"], &["direct 12 final"]]);
    assert_eq!(flags(&parted), ["S1 false", "S1#direct false"]);
    // A direct that is set aside says nothing of the total.
    let other = loaded(&[&["total 200 final", "direct 12 final"], &["direct 900 corrected"]]);
    assert_eq!(flags(&other), ["S1 false", "S1#direct true"]);
    // A later total takes the place of what was set aside in the list of rows to mend.
    let listed = |warehouse: &TestWarehouse| {
        let text = siskin::queries::catalogue::listings::rows_to_mend.text;
        warehouse.rows(&text.replace("$first_load", "1")).len()
    };
    let mended = loaded(&[&[" 360 final"], &["total 360 final"]]);
    assert_eq!((listed(&flagged), listed(&mended)), (1, 0));
    let aside = loaded(&[&["direct 900 final"], &["total 360 final"]]);
    assert_eq!(listed(&aside), 1, "the direct still cannot be used");
}

/// A direct that can never be used does not keep its total from being taken in.
#[test]
fn a_row_of_two_results_read_again_gives_those_that_can_be_used() {
    let mut warehouse = TestWarehouse::new();
    let path = warehouse.path().join("sources.toml");
    fs::write(&path, SOURCES.replace("\"umol\" = \"umol/L\"", "\"mol\" = \"umol/L\"")).unwrap();
    let wide =
        "no,baby,taken,total,direct,unit\nS1,b1,2026-04-03T08:00,360,900,umol\nS2,b1,2026-04-03T09:00,200,12,umol\n";
    let files = [("births.csv", BIRTHS), ("wide_1.csv", wide)];
    warehouse.load_texts(&files, &Through::default(), AT_S).unwrap();
    assert!(live(&warehouse).is_empty());
    fs::write(&path, SOURCES).unwrap();
    warehouse.retry = true;
    warehouse.load(&[], &Through::default(), AT_S + 1).unwrap();
    assert_eq!(live(&warehouse), ["S1 360", "S2 200", "S2#direct 12"]);
    assert_eq!(warehouse.rows("select * from mended").len(), 3);
    balance(&warehouse);
    assert!(
        warehouse
            .load(&[], &Through::default(), AT_S + 2)
            .unwrap()
            .snapshot
            .is_none()
    );
}

/// Words of a laboratory that say what was measured once they are mapped.
#[test]
fn results_set_aside_for_an_unknown_test_become_two_once_it_is_mapped() {
    let mut warehouse = TestWarehouse::new();
    let path = warehouse.path().join("sources.toml");
    fs::write(
        &path,
        SOURCES.replace("LAB 14631-6", "BILT").replace("LAB 14629-0", "BILD"),
    )
    .unwrap();
    let (file, text) = mapped(&[
        report("14631-6", "360", "final", "09:00"),
        report("14629-0", "900", "final", "15:00"),
        report("14629-0", "12", "final", "16:00"),
    ]);
    let files = [("births.csv", BIRTHS), (file, text.as_str())];
    warehouse.load_texts(&files, &Through::default(), AT_S).unwrap();
    let aside = warehouse.rows("select distinct row_id from set_aside");
    assert_eq!((aside.len(), aside[0]["row_id"].as_str()), (1, "S1#?"));
    fs::write(&path, SOURCES).unwrap();
    warehouse.retry = true;
    warehouse.load(&[], &Through::default(), AT_S + 1).unwrap();
    assert_eq!(live(&warehouse), ["S1 360", "S1#direct 12"]);
    balance(&warehouse);
}

#[test]
fn merged_babies_keep_both_results_of_a_specimen() {
    let warehouse = TestWarehouse::new();
    let births = BIRTHS.to_owned() + "b2,m1,2026-04-01T08:00,39+0,,,,,u1,,,,\n";
    let serum = rows(&["total 360 final"]) + &rows(&["direct 12 final"]).replace("b1", "b2")[SERUM.len()..];
    let files = [("births.csv", births.as_str()), ("serum.csv", serum.as_str())];
    warehouse.load_texts(&files, &Through::default(), AT_S).unwrap();
    let merges = "from_infant_id,into_infant_id,merged_at\nb1,b2,2026-04-04T10:00\n";
    warehouse
        .load_texts(&[("merges.csv", merges)], &Through::default(), AT_S + 1)
        .unwrap();
    let of_b2 = warehouse.rows("select specimen_id from judged_serum where infant_id = 'b2' order by specimen_id");
    let ids: Vec<&str> = of_b2.iter().map(|row| row["specimen_id"].as_str()).collect();
    assert_eq!(ids, ["S1", "S1#direct"]);
}

/// A unit that also takes the code for whole blood for a total has two valid results of one tube.
#[test]
fn what_the_protocol_takes_for_a_total_doubles_no_row() {
    let protocol = PROTOCOL.replace("\"77137-8\"]", "\"77137-8\", \"42719-5\"]");
    assert_ne!(protocol, PROTOCOL);
    let warehouse = TestWarehouse::with_protocol(&protocol);
    let serum = rows(&["total 360 final", "42719-5 350 final", "direct 12 final"]);
    let screens = "screen_id,infant_id,measured_at,value,unit_of_measure,unit\nt1,b1,2026-04-03T08:10,300,umol/L,u1\n";
    let files = [
        ("births.csv", BIRTHS),
        ("serum.csv", serum.as_str()),
        ("screens.csv", screens),
    ];
    warehouse.load_texts(&files, &Through::default(), AT_S).unwrap();
    let valid = warehouse.rows("select specimen_id from judged_serum where is_valid order by specimen_id");
    let ids: Vec<&str> = valid.iter().map(|row| row["specimen_id"].as_str()).collect();
    assert_eq!(ids, ["S1", "S1#42719-5"]);
    for (table, key) in [
        ("aged_tests", "test_table, test_id"),
        ("judged_serum", "specimen_id"),
        ("pairs", "screen_id"),
        ("above_line_serum", "infant_id"),
        ("severe_cases", "case_kind, infant_id"),
        ("cases", "measure, figure, case_id"),
    ] {
        let twice = warehouse.rows(&format!("select {key} from {table} group by {key} having count(*) > 1"));
        assert!(twice.is_empty(), "{table}: {twice:?}");
    }
}

/// A warehouse whose keys do not say what was measured is not read on.
#[test]
fn a_warehouse_in_which_the_number_alone_was_the_id_is_refused() {
    let warehouse = TestWarehouse::new();
    let serum = rows(&["total 360 final"]);
    let files = [("births.csv", BIRTHS), ("serum.csv", serum.as_str())];
    warehouse.load_texts(&files, &Through::default(), AT_S).unwrap();
    let path = warehouse.warehouse().newest().unwrap().path().join("manifest.json");
    let mut manifest: serde_json::Value = serde_json::from_slice(&fs::read(&path).unwrap()).unwrap();
    let columns = manifest["tables"]["row_keys"]["columns"].as_array_mut().unwrap();
    columns.retain(|column| column["name"] != "says_analyte" && column["name"] != "specimen_number");
    fs::write(&path, manifest.to_string()).unwrap();
    let more = rows(&["direct 12 final"]);
    let refused = warehouse
        .load_texts(&[("serum.csv", &more)], &Through::default(), AT_S + 1)
        .err()
        .unwrap()
        .to_string();
    assert!(refused.contains("load the extracts into a new warehouse"), "{refused}");
}
