//! Total and direct bilirubin under one specimen number are two results, in every format, in any
//! order of loads, and however a load settles.

use std::fs;

use jiff::tz::TimeZone;

use siskin::extracts::codes::{CodeLists, Codes};
use siskin::extracts::record::SourceRow;
use siskin::intake::judge::{Accepted, Judge};
use siskin::intake::settle::Through;
use siskin::protocol::Protocol;
use siskin::queries::catalogue;
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
    number: &'static str,
    code: &'static str,
    value: &'static str,
    status: &'static str,
    resulted: &'static str,
}

const TOTAL: &str = "14631-6";
const OTHER_TOTAL: &str = "1975-2";
const DIRECT: &str = "14629-0";

/// `number value status resulted`.
fn report(code: &'static str, said: &'static str) -> Report {
    let words: Vec<&str> = said.split(' ').collect();
    Report {
        number: words[0],
        code,
        value: words[1],
        status: words[2],
        resulted: words[3],
    }
}

type Format = fn(&[Report]) -> (&'static str, String);

const FORMATS: [(&str, Format); 4] = [("csv", csv), ("mapped", mapped), ("fhir", fhir), ("hl7v2", hl7v2)];

const SERUM: &str =
    "specimen_id,infant_id,collected_at,resulted_at,value,unit_of_measure,analyte,specimen,status,unit\n";

fn csv(reports: &[Report]) -> (&'static str, String) {
    let mut text = SERUM.to_owned();
    for r in reports {
        text += &format!(
            "{},b1,2026-04-03T08:00,2026-04-03T{},{},umol/L,{},serum,{},u1\n",
            r.number, r.resulted, r.value, r.code, r.status
        );
    }
    ("serum.csv", text)
}

/// A laboratory's own names, by `SOURCES`.
fn mapped(reports: &[Report]) -> (&'static str, String) {
    let mut text = "no;baby;taken;out;test;result;state\n".to_owned();
    for r in reports {
        text += &format!(
            "{};b1;2026-04-03 08:00;2026-04-03 {};LAB {};{};{}\n",
            r.number, r.resulted, r.code, r.value, r.status
        );
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
    for r in reports {
        let status = match r.status {
            "withdrawn" => "entered-in-error",
            status => status,
        };
        let Report {
            number,
            code,
            value,
            resulted,
            ..
        } = r;
        text += &format!(
            r#"{{"resourceType":"Observation","id":"{number}-{code}","identifier":[{{"value":"{number}"}}],"status":"{status}","code":{{"coding":[{{"system":"http://loinc.org","code":"{code}"}}]}},"subject":{{"reference":"Patient/p1"}},"effectiveDateTime":"2026-04-03T08:00:00+01:00","issued":"2026-04-03T{resulted}:00+01:00","valueQuantity":{{"value":{value},"unit":"umol/L"}}}}"#
        );
        text.push('\n');
    }
    ("export.ndjson", text)
}

/// Each result in a message and an order of its own, all orders under one number.
fn hl7v2(reports: &[Report]) -> (&'static str, String) {
    let mut text = String::new();
    for (place, r) in reports.iter().enumerate() {
        let status = match r.status {
            "withdrawn" => "D",
            "corrected" => "C",
            "cancelled" => "X",
            _ => "F",
        };
        let (number, code, value) = (r.number, r.code, r.value);
        let resulted = r.resulted.replace(':', "");
        text += &format!(
            "MSH|^~\\&|LAB|H|A|H|20260403{resulted}00||ORU^R01|M{place}{resulted}|P|2.5.1\rPID|1||b1^^^H^MR\r\
             OBR|1|P-1|{number}|{code}^^LN|||202604030800|||||||||||||||20260403{resulted}|||{status}\r\
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

/// A: a direct after the total, and corrected; B: a direct before it, of a higher status; C and D:
/// both in one load; E: a total by two codes, of which the last resulted stands; F: the direct is
/// withdrawn; G: the total is, by another of its codes.
#[test]
fn neither_of_two_results_of_a_specimen_replaces_the_other_in_any_format() {
    let loads = [
        vec![
            report(TOTAL, "A 360 final 09:00"),
            report(DIRECT, "B 13 corrected 16:00"),
            report(TOTAL, "C 360 final 09:00"),
            report(DIRECT, "C 12 final 15:00"),
            report(DIRECT, "D 12 final 15:00"),
            report(TOTAL, "D 360 final 09:00"),
            report(TOTAL, "E 300 final 09:00"),
            report(TOTAL, "F 360 final 09:00"),
            report(DIRECT, "F 12 final 15:00"),
            report(TOTAL, "G 360 final 09:00"),
            report(DIRECT, "G 12 final 15:00"),
        ],
        vec![
            report(DIRECT, "A 12 final 15:00"),
            report(TOTAL, "B 360 final 09:00"),
            report(OTHER_TOTAL, "E 360 final 15:00"),
            report(DIRECT, "F 12 withdrawn 16:00"),
            report(OTHER_TOTAL, "G 360 withdrawn 16:00"),
        ],
        vec![
            report(DIRECT, "A 13 corrected 16:00"),
            report(TOTAL, "E 310 final 10:00"),
            report(DIRECT, "F 14 corrected 17:00"),
            report(TOTAL, "G 370 corrected 17:00"),
        ],
    ];
    let of_both = |letter: &str, direct: &str| [format!("{letter} 360"), format!("{letter}#direct {direct}")];
    for (name, format) in FORMATS {
        let warehouse = mapped_warehouse();
        for (number, reports) in loads.iter().enumerate() {
            let (file, text) = format(reports);
            let mut files = vec![(file, text.as_str())];
            if number == 0 {
                files.insert(0, ("births.csv", BIRTHS));
            }
            let at_s = AT_S + number as i64;
            warehouse.load_texts(&files, &Through::default(), at_s).unwrap();
            balance(&warehouse);
            let corrected = if number == 2 { "13" } else { "12" };
            let mut stands = of_both("A", corrected).to_vec();
            stands.extend(of_both("B", "13"));
            stands.extend(["C", "D"].iter().flat_map(|letter| of_both(letter, "12")));
            stands.extend(["E 360", "F 360", "G#direct 12"].map(str::to_owned));
            if number > 0 {
                assert_eq!(live(&warehouse), stands, "{name}, load {number}");
            }
        }
        let aside = warehouse.rows("select * from set_aside");
        assert!(aside.is_empty(), "{name}: {aside:?}");
        let numbers = warehouse.rows("select distinct specimen_number as number from serum order by number");
        assert_eq!(numbers.len(), 7, "{name}: {numbers:?}");
        let twice = warehouse.rows("select test_id from aged_tests group by test_id having count(*) > 1");
        assert!(twice.is_empty(), "{name}: {twice:?}");
    }
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

/// Rows of serum, each as `number analyte value status`; `-` for no analyte.
fn rows(cells: &[&str]) -> String {
    let row = |cells: &&str| {
        let words: Vec<&str> = cells.split(' ').collect();
        let analyte = words[1].trim_start_matches('-');
        format!(
            "{},b1,2026-04-03T08:00,2026-04-03T09:00,{},umol/L,{analyte},serum,{},u1\n",
            words[0], words[2], words[3]
        )
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
    let paths = ["births.csv", "serum.csv"].map(|name| folder.path().join(name));
    fs::write(&paths[0], BIRTHS).unwrap();
    for (number, load) in loads.iter().enumerate() {
        fs::write(&paths[1], rows(load)).unwrap();
        for warehouse in [&ours, &whole] {
            let files = &paths[usize::from(number > 0)..];
            let at_s = AT_S + number as i64;
            warehouse.load(files, &Through::default(), at_s).unwrap();
        }
        let tables = |warehouse: &TestWarehouse| warehouse.warehouse().newest().unwrap().manifest().tables.clone();
        let (ours, whole) = (tables(&ours), tables(&whole));
        for (name, table) in &whole {
            assert_eq!(ours[name].files, table.files, "{name}, load {number}");
        }
    }
    balance(&ours);
    ours
}

/// What a withdrawal without an analyte (-) withdraws: the only other result of its specimen,
/// whichever comes first (A, B); none where there are two, whichever comes when (C, D, E), also when
/// the other cannot be used (F, G) or was withdrawn itself (H). Said again with its analyte it is
/// done (I). What a row set aside without an analyte flags: the only other result (J) until there is
/// a second (K); nothing that comes after it (M). A direct that is set aside flags the direct (L),
/// and says nothing of a total (N).
#[test]
fn a_row_that_does_not_say_what_was_measured_is_of_the_only_other_result() {
    let warehouse = loaded(&[
        &[
            "A total 360 final",
            "B - 360 withdrawn",
            "C total 360 final",
            "D total 360 final",
            "E - 360 withdrawn",
            "F total 360 final",
            "G total 360 final",
            "H total 360 final",
            "H direct 12 final",
            "I total 360 final",
            "I direct 12 final",
            "J total 200 final",
            "K total 200 final",
            "L total 200 final",
            "L direct 12 final",
            "M - 360 final",
            "N direct 900 final",
        ],
        &[
            "A - 360 withdrawn",
            "B 1975-2 360 final",
            "C direct 12 final",
            "D - 360 withdrawn",
            "E direct 12 final",
            "F direct 900 final",
            "G - 360 withdrawn",
            "H direct 12 withdrawn",
            "I - 360 withdrawn",
            "J - 360 corrected",
            "K - 360 corrected",
            "L direct 900 corrected",
            "M total 360 final",
            "N total 360 final",
        ],
        &[
            "C - 360 withdrawn",
            "D direct 12 final",
            "E total 360 final",
            "F - 360 withdrawn",
            "G direct 900 final",
            "H - 360 withdrawn",
            "I total 360 withdrawn",
            "K direct 12 final",
        ],
    ]);
    let of_both = ["C", "D", "E"]
        .iter()
        .flat_map(|letter| [format!("{letter} 360"), format!("{letter}#direct 12")]);
    let mut stands: Vec<String> = of_both.collect();
    stands.extend(
        [
            "F 360",
            "G 360",
            "H 360",
            "I#direct 12",
            "J 200",
            "K 200",
            "K#direct 12",
        ]
        .map(str::to_owned),
    );
    stands.extend(["L 200", "L#direct 12", "M 360", "N 360"].map(str::to_owned));
    assert_eq!(live(&warehouse), stands);
    let ids = |sql: &str| {
        let rows = warehouse.rows(sql);
        rows.iter().map(|row| row["row_id"].clone()).collect::<Vec<_>>()
    };
    assert_eq!(
        ids("select row_id from held where reason = 'which_result' order by row_id"),
        ["C#?", "D#?", "E#?", "F#?", "G#?", "H#?", "I#?"]
    );
    assert_eq!(
        ids("select row_id from serum where newer_version_set_aside order by row_id"),
        ["J", "L#direct"]
    );
    // Listed to be mended: not what a later row of the same result has replaced (M).
    let to_mend = catalogue::listings::rows_to_mend.text.replace("$first_load", "1");
    let listed = warehouse.rows(&to_mend);
    assert_eq!(
        listed.iter().filter(|row| row["reason"] == "missing_word").count(),
        2,
        "J, K"
    );
    assert_eq!(
        listed.iter().filter(|row| row["reason"] == "implausible_value").count(),
        4,
        "F, G, L, N"
    );
    assert_eq!(listed.iter().filter(|row| row["reason"] == "which_result").count(), 7);
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
        report(TOTAL, "S1 360 final 09:00"),
        report(DIRECT, "S1 900 final 15:00"),
        report(DIRECT, "S1 12 final 16:00"),
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
    let serum = rows(&["S1 total 360 final"]) + &rows(&["S1 direct 12 final"]).replace("b1", "b2")[SERUM.len()..];
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
    let serum = rows(&["S1 total 360 final", "S1 42719-5 350 final", "S1 direct 12 final"]);
    let screens = "screen_id,infant_id,measured_at,value,unit_of_measure,body_site,readings,meter_id,operator_id,id_entry,setting,unit\nt1,b1,2026-04-03T08:10,300,umol/L,,,,,,,u1\n";
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
    let serum = rows(&["S1 total 360 final"]);
    let files = [("births.csv", BIRTHS), ("serum.csv", serum.as_str())];
    warehouse.load_texts(&files, &Through::default(), AT_S).unwrap();
    let path = warehouse.warehouse().newest().unwrap().path().join("manifest.json");
    let mut manifest: serde_json::Value = serde_json::from_slice(&fs::read(&path).unwrap()).unwrap();
    let columns = manifest["tables"]["row_keys"]["columns"].as_array_mut().unwrap();
    columns.retain(|column| column["name"] != "says_analyte" && column["name"] != "specimen_number");
    fs::write(&path, manifest.to_string()).unwrap();
    let more = rows(&["S1 direct 12 final"]);
    let refused = warehouse
        .load_texts(&[("serum.csv", &more)], &Through::default(), AT_S + 1)
        .err()
        .unwrap()
        .to_string();
    assert!(refused.contains("load the extracts into a new warehouse"), "{refused}");
}
