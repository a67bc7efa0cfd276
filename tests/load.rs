//! Loading: what is refused, what changes nothing, what the next load mends.

use std::fs;

use siskin::error::Error;
use siskin::intake::settle::Through;

use crate::harness::{PROTOCOL, TestWarehouse};

const BIRTHS: &str = "infant_id,mother_id,born_at,gestation,birth_weight_g,sex,plurality,birth_order,unit,feeding,risk_factors,skin_tone,ethnicity\n";
const SCREENS: &str = "screen_id,infant_id,measured_at,value,unit_of_measure,body_site,readings,meter_id,operator_id,id_entry,setting,unit\n";
const SERUM: &str =
    "specimen_id,infant_id,collected_at,resulted_at,value,unit_of_measure,analyte,specimen,status,unit\n";
const PHOTOTHERAPY: &str = "episode_id,infant_id,started_at,stopped_at,kind,setting,unit\n";
const STAYS: &str = "stay_id,infant_id,unit,admitted_at,discharged_at,source,disposition,diagnoses\n";

/// 2026-10-01T00:00 in London.
const OCTOBER_S: i64 = 1_790_809_200;

fn through() -> Through {
    Through {
        all: Some(OCTOBER_S),
        ..Through::default()
    }
}

/// One baby with a screen of 245 umol/L at 72 h and no serum; another with a course.
fn month() -> Vec<(&'static str, String)> {
    vec![
        (
            "births.csv",
            format!(
                "{BIRTHS}A1,W1,2026-09-01T10:00,39+0,3400,f,1,1,harbour,breast,,,\n\
                 A2,W2,2026-09-02T10:00,39+0,3400,m,1,1,harbour,formula,,,\n"
            ),
        ),
        (
            "screens.csv",
            format!("{SCREENS}S1,A1,2026-09-04T10:00,245,umol/L,sternum,3,M1,N1,scanned,inpatient,harbour\n"),
        ),
        (
            "serum.csv",
            format!("{SERUM}L1,A2,2026-09-04T10:00,2026-09-04T11:00,310,umol/L,total,serum,final,harbour\n"),
        ),
        (
            "phototherapy.csv",
            format!("{PHOTOTHERAPY}P1,A2,2026-09-04T12:00,2026-09-05T12:00,single,inpatient,harbour\n"),
        ),
        (
            "stays.csv",
            format!(
                "{STAYS}T1,A1,harbour,2026-09-01T10:00,2026-09-06T10:00,birth,home,\n\
                 T2,A2,harbour,2026-09-02T10:00,2026-09-07T10:00,birth,home,\n"
            ),
        ),
    ]
}

fn load(warehouse: &TestWarehouse, texts: &[(&str, String)]) -> Result<siskin::commands::build::Built, Error> {
    let texts: Vec<(&str, &str)> = texts.iter().map(|(name, text)| (*name, text.as_str())).collect();
    warehouse.load_texts(&texts, &through(), OCTOBER_S)
}

fn snapshots(warehouse: &TestWarehouse) -> Vec<String> {
    let Ok(entries) = fs::read_dir(warehouse.path().join("snapshots")) else {
        return Vec::new();
    };
    let mut names: Vec<String> = entries
        .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

fn missed(warehouse: &TestWarehouse) -> (Option<u64>, Option<u64>) {
    let figures = warehouse.measure("2026-09");
    let figure = figures
        .iter()
        .find(|f| f.measure == "missed_referral" && f.split == "all")
        .unwrap();
    (figure.numerator, figure.denominator)
}

#[test]
fn loading_the_same_files_twice_says_nothing_new_and_makes_no_snapshot() {
    let warehouse = TestWarehouse::new();
    let first = load(&warehouse, &month()).unwrap();
    assert!(first.snapshot.is_some());
    let second = load(&warehouse, &month()).unwrap();
    assert!(second.snapshot.is_none());
    for line in &second.settled.lines {
        assert_eq!(line.rows("duplicate"), line.rows_in, "{line:?}");
    }
    assert_eq!(snapshots(&warehouse), ["000001"]);
}

#[test]
fn a_limit_changed_in_the_protocol_changes_the_measure_and_nothing_else_is_touched() {
    let warehouse = TestWarehouse::new();
    load(&warehouse, &month()).unwrap();
    assert_eq!(missed(&warehouse), (Some(0), Some(0)));
    let changed = PROTOCOL.replacen("umol_l = 250", "umol_l = 240", 1);
    warehouse.set_protocol(&changed);
    assert_eq!(missed(&warehouse), (Some(1), Some(1)));
    assert_eq!(snapshots(&warehouse), ["000001", "000002"]);
}

#[test]
fn a_protocol_version_judges_only_what_happens_while_it_is_in_force() {
    let warehouse = TestWarehouse::new();
    load(&warehouse, &month()).unwrap();
    let version = &PROTOCOL[PROTOCOL.find("[[version]]").unwrap()..];
    let stricter = version
        .replacen("umol_l = 250", "umol_l = 240", 1)
        .replacen("manner, 2026", "manner, stricter", 1);
    let from = |day: &str| format!("{PROTOCOL}\n{}", stricter.replacen("2026-01-01", day, 1));
    warehouse.set_protocol(&from("2026-09-05"));
    assert_eq!(missed(&warehouse), (Some(0), Some(0)));
    warehouse.set_protocol(&from("2026-09-04"));
    assert_eq!(missed(&warehouse), (Some(1), Some(1)));
}

#[test]
fn a_missing_column_refuses_the_file_and_changes_nothing() {
    let warehouse = TestWarehouse::new();
    let text = "screen_id,infant_id,measured_at,value\nS1,A1,2026-09-04T10:00,245\n".to_owned();
    let error = load(&warehouse, &[("screens.csv", text)]).err().unwrap();
    let words = error.to_string();
    assert!(words.contains("unit_of_measure, body_site"), "{words}");
    assert!(
        words.contains("screens.csv, line 1") && words.contains("to do:"),
        "{words}"
    );
    assert_eq!(error.exit_code(), 3);
    assert!(snapshots(&warehouse).is_empty());
}

#[test]
fn a_file_that_names_no_table_is_refused() {
    let warehouse = TestWarehouse::new();
    let error = load(&warehouse, &[("bilirubin.csv", "a,b\n".to_owned())])
        .err()
        .unwrap();
    assert!(error.to_string().contains("name it after its table"), "{error}");
    assert_eq!(error.exit_code(), 3);
}

#[test]
fn files_that_are_no_csv_are_refused_or_set_aside_without_a_panic() {
    let warehouse = TestWarehouse::new();
    for text in ["", "\n\n", "\u{0}\u{1}\u{2}", "\"never closed\nand more"] {
        assert!(load(&warehouse, &[("screens.csv", text.to_owned())]).is_err());
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("screens.csv");
    let mut bytes = SCREENS.as_bytes().to_vec();
    bytes.extend(b"S1,A1,2026-09-04T10:00,245,\xb5mol/L,,,,,,,\n");
    fs::write(&path, bytes).unwrap();
    let built = warehouse.load(&[path], &through(), OCTOBER_S).unwrap();
    assert_eq!(built.settled.set_aside, [("not_utf8".to_owned(), 1)]);
}

#[test]
fn rows_of_an_unknown_baby_are_held_and_taken_in_when_its_birth_is_loaded() {
    let warehouse = TestWarehouse::new();
    let month = month();
    let built = load(&warehouse, &month[1..2]).unwrap();
    assert_eq!(built.settled.lines[0].rows("held"), 1);
    let held = warehouse.rows("select * from held");
    assert_eq!(
        (held[0]["row_id"].as_str(), held[0]["reason"].as_str()),
        ("S1", "unknown_baby")
    );
    load(&warehouse, &month[..1]).unwrap();
    assert!(warehouse.rows("select * from held").is_empty());
    assert_eq!(warehouse.rows("select * from screens").len(), 1);
}

#[test]
fn a_corrected_version_set_aside_leaves_the_earlier_one_standing_and_flagged() {
    let warehouse = TestWarehouse::new();
    load(&warehouse, &month()).unwrap();
    let corrected = "L1,A2,2026-09-04T10:00,2026-09-04T15:00,210,,total,serum,corrected,harbour\n";
    load(&warehouse, &[("serum.csv", format!("{SERUM}{corrected}"))]).unwrap();
    let rows = warehouse.rows("select value_umol_l, newer_version_set_aside from serum");
    assert_eq!(
        (
            rows[0]["value_umol_l"].as_str(),
            rows[0]["newer_version_set_aside"].as_str()
        ),
        ("310.0", "true")
    );
}

#[test]
fn a_withdrawn_row_is_gone_for_good() {
    let warehouse = TestWarehouse::new();
    load(&warehouse, &month()).unwrap();
    let header = SCREENS.replace("unit\n", "unit,record_status\n");
    load(
        &warehouse,
        &[("screens.csv", format!("{header}S1,,,,,,,,,,,,withdrawn\n"))],
    )
    .unwrap();
    assert!(warehouse.rows("select * from screens").is_empty());
    let again = "S1,A1,2026-09-04T10:00,246,umol/L,sternum,3,M1,N1,scanned,inpatient,harbour\n";
    load(&warehouse, &[("screens.csv", format!("{SCREENS}{again}"))]).unwrap();
    assert!(warehouse.rows("select * from screens").is_empty());
}

#[test]
fn what_an_interrupted_load_left_is_removed_by_the_next() {
    let warehouse = TestWarehouse::new();
    load(&warehouse, &month()).unwrap();
    let folder = warehouse.path().join("snapshots");
    fs::create_dir_all(folder.join(".building/screens")).unwrap();
    fs::create_dir_all(folder.join("000002/screens")).unwrap();
    std::os::unix::fs::symlink("snapshots/000002", warehouse.path().join("current.next")).unwrap();
    assert_eq!(warehouse.warehouse().newest().unwrap().manifest().load, 1);
    load(&warehouse, &month()).unwrap();
    assert_eq!(snapshots(&warehouse), ["000001"]);
    assert!(!warehouse.path().join("current.next").exists());
}

#[test]
fn a_first_snapshot_that_was_announced_and_never_linked_is_removed() {
    let warehouse = TestWarehouse::new();
    load(&warehouse, &month()).unwrap();
    fs::rename(warehouse.path().join("current"), warehouse.path().join("current.next")).unwrap();
    assert!(warehouse.warehouse().newest().is_err());
    assert!(snapshots(&warehouse).is_empty());
    load(&warehouse, &month()).unwrap();
    assert_eq!(warehouse.rows("select * from screens").len(), 1);
}

#[test]
fn a_link_pointed_back_is_read_but_not_written_past() {
    let warehouse = TestWarehouse::new();
    load(&warehouse, &month()).unwrap();
    warehouse.set_protocol(&PROTOCOL.replacen("umol_l = 250", "umol_l = 240", 1));
    warehouse.measure("2026-09");
    warehouse.set_protocol(PROTOCOL);
    fs::remove_file(warehouse.path().join("current")).unwrap();
    std::os::unix::fs::symlink("snapshots/000001", warehouse.path().join("current")).unwrap();
    assert_eq!(warehouse.warehouse().newest().unwrap().manifest().load, 1);
    let error = load(&warehouse, &month()).err().unwrap();
    assert!(
        error.to_string().contains("snapshots up to 000002 are there"),
        "{error}"
    );
    assert_eq!(error.exit_code(), 3);
    assert_eq!(snapshots(&warehouse), ["000001", "000002"]);
}

#[test]
fn a_link_to_another_warehouse_is_refused() {
    let (warehouse, other) = (TestWarehouse::new(), TestWarehouse::new());
    load(&warehouse, &month()).unwrap();
    load(&other, &month()).unwrap();
    for target in [
        other.path().join("snapshots/000001"),
        "/etc".into(),
        "snapshots/000009".into(),
    ] {
        fs::remove_file(warehouse.path().join("current")).unwrap();
        std::os::unix::fs::symlink(&target, warehouse.path().join("current")).unwrap();
        let error = load(&warehouse, &month()).err().unwrap();
        assert!(
            error.to_string().contains("symbolic link to snapshots/000001"),
            "{error}"
        );
        assert_eq!(error.exit_code(), 3);
    }
    assert_eq!(snapshots(&warehouse), ["000001"]);
}

#[test]
fn a_lost_link_is_refused_and_no_snapshot_is_taken_for_a_leftover() {
    let warehouse = TestWarehouse::new();
    load(&warehouse, &month()).unwrap();
    warehouse.set_protocol(&PROTOCOL.replacen("umol_l = 250", "umol_l = 240", 1));
    warehouse.measure("2026-09");
    fs::remove_file(warehouse.path().join("current")).unwrap();
    for error in [
        load(&warehouse, &month()).err().unwrap(),
        warehouse.warehouse().newest().err().unwrap().into(),
    ] {
        assert!(
            error.to_string().contains("symbolic link to snapshots/000002"),
            "{error}"
        );
        assert_eq!(error.exit_code(), 3);
    }
    assert_eq!(snapshots(&warehouse), ["000001", "000002"]);
}

#[test]
fn a_snapshot_with_a_file_gone_or_cut_is_refused() {
    let warehouse = TestWarehouse::new();
    load(&warehouse, &month()).unwrap();
    let file = warehouse
        .path()
        .join("current/judged_screens/month=2026-09/rows.parquet");
    let bytes = fs::read(&file).unwrap();
    for damage in [None, Some(&bytes[..bytes.len() - 1])] {
        match damage {
            None => fs::remove_file(&file).unwrap(),
            Some(cut) => fs::write(&file, cut).unwrap(),
        }
        let error: Error = warehouse.warehouse().newest().err().unwrap().into();
        assert!(error.to_string().contains("judged_screens"), "{error}");
        assert_eq!(error.exit_code(), 3);
    }
}

#[test]
fn completeness_never_goes_back_unless_the_table_is_named() {
    let warehouse = TestWarehouse::new();
    load(&warehouse, &month()).unwrap();
    let earlier = Through {
        all: Some(OCTOBER_S - 86_400),
        ..Through::default()
    };
    let more = format!("{SERUM}L2,A2,2026-09-05T10:00,2026-09-05T11:00,200,umol/L,total,serum,final,harbour\n");
    warehouse
        .load_texts(&[("serum.csv", more.as_str())], &earlier, OCTOBER_S)
        .unwrap();
    let end = |warehouse: &TestWarehouse| {
        warehouse.rows("select through_s from data_ends where table_name = 'serum'")[0]["through_s"].clone()
    };
    assert_eq!(end(&warehouse), OCTOBER_S.to_string());
    let named = Through {
        tables: [("serum".to_owned(), OCTOBER_S - 86_400)].into(),
        ..Through::default()
    };
    warehouse
        .load_texts(&[("serum.csv", more.as_str())], &named, OCTOBER_S)
        .unwrap();
    assert_eq!(end(&warehouse), (OCTOBER_S - 86_400).to_string());
}

#[test]
fn what_is_not_comma_separated_is_refused_in_words() {
    let warehouse = TestWarehouse::new();
    for (text, word) in [
        (SCREENS.replace(',', ";"), "semicolons"),
        (SCREENS.replace(',', "\t"), "tabs"),
        (SCREENS.replace('\n', "\rS1,A1,,,,,,,,,,\r"), "carriage returns"),
    ] {
        let error = load(&warehouse, &[("screens.csv", text)]).err().unwrap();
        assert!(error.to_string().contains(word), "{error}");
        assert_eq!(error.exit_code(), 3);
    }
}

#[test]
fn a_folder_without_extracts_is_refused() {
    let warehouse = TestWarehouse::new();
    let folder = tempfile::tempdir().unwrap();
    let error = warehouse
        .load(&[folder.path().to_owned()], &through(), OCTOBER_S)
        .err()
        .unwrap();
    assert!(
        error.to_string().contains("holds no .csv, .ndjson or .hl7 file"),
        "{error}"
    );
}

#[test]
fn a_second_writer_is_told_who_holds_the_lock() {
    let warehouse = TestWarehouse::new();
    let held = siskin::warehouse::WriteLock::take(&warehouse.warehouse()).unwrap();
    let error = load(&warehouse, &month()).err().unwrap();
    assert!(
        error.to_string().contains(&format!("process {}", std::process::id())),
        "{error}"
    );
    assert_eq!(error.exit_code(), 3);
    drop(held);
    load(&warehouse, &month()).unwrap();
}

#[test]
fn unchanged_months_are_the_same_files_in_the_next_snapshot() {
    use std::os::unix::fs::MetadataExt;
    let warehouse = TestWarehouse::new();
    load(&warehouse, &month()).unwrap();
    let more = "S2,A1,2026-10-04T10:00,200,umol/L,sternum,3,M1,N1,scanned,inpatient,harbour\n";
    load(&warehouse, &[("screens.csv", format!("{SCREENS}{more}"))]).unwrap();
    let inode = |load: &str| {
        let file = format!("snapshots/{load}/screens/month=2026-09/rows.parquet");
        fs::metadata(warehouse.path().join(file)).unwrap().ino()
    };
    assert_eq!(inode("000001"), inode("000002"));
}

#[test]
fn a_month_without_a_needed_table_is_no_data_and_not_zero() {
    let warehouse = TestWarehouse::new();
    let mut month = month();
    month.remove(2);
    load(&warehouse, &month).unwrap();
    assert_eq!(missed(&warehouse), (None, None));
}

#[test]
fn figures_are_the_same_bytes_with_one_and_four_partitions() {
    let mut warehouse = TestWarehouse::new();
    let loads = crate::random::extracts(7, 150);
    crate::oracle_equality::load_all(&warehouse, &loads);
    for month in crate::random::months(7) {
        let mut told = Vec::new();
        for partitions in [1, 4] {
            warehouse.partitions = partitions;
            told.push(siskin::queries::figures::to_json(&warehouse.measure(&month)).unwrap());
        }
        assert_eq!(told[0], told[1]);
    }
}

/// As written by a siskin that knew no keys: settled anew, all its rows would be lost sight of.
#[test]
fn a_warehouse_without_keys_is_refused_and_loses_no_baby() {
    let warehouse = TestWarehouse::new();
    let load = |baby: &str, at: i64| {
        let text = format!("{BIRTHS}{baby},m,2026-01-01T08:00,39+0,,,,,u1,,,,\n");
        warehouse.load_texts(&[("births.csv", &text)], &Through::default(), at)
    };
    load("b1", 1_782_860_400).unwrap();
    let manifest = warehouse.path().join("snapshots/000001/manifest.json");
    let mut earlier: serde_json::Value = serde_json::from_slice(&fs::read(&manifest).unwrap()).unwrap();
    earlier["tables"].as_object_mut().unwrap().remove("row_keys").unwrap();
    earlier["queries_sha256"] = "of an earlier siskin".into();
    fs::write(&manifest, earlier.to_string()).unwrap();
    let error = load("b2", 1_782_946_800).err().unwrap().to_string();
    assert!(error.contains("births: 2 rows, but the keys of 1"), "{error}");
    assert!(error.contains("load the extracts into a new warehouse"), "{error}");
    let newest = warehouse.warehouse().newest().unwrap();
    assert_eq!(newest.manifest().load, 1);
    assert_eq!(newest.manifest().tables["births"].rows(), 1);
}
