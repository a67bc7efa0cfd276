//! A feed made by hand, message by message.

use siskin::extracts::record::SourceRow;

use super::{is_said, read, said};

const FEED: &[u8] = include_bytes!("../handmade/hl7v2/feed.hl7");

fn rows(table: &str) -> Vec<SourceRow> {
    let records = read(FEED);
    assert!(records.iter().all(|record| record.fault.is_none()));
    let rows = records.into_iter().flat_map(|record| record.rows);
    let rows: Vec<SourceRow> = rows.filter(|row| row.table.name == table).collect();
    assert!(rows.iter().all(|row| row.fault.is_none()), "{rows:#?}");
    rows
}

#[test]
fn every_message_is_a_record_with_its_line_and_text() {
    let records = read(FEED);
    assert_eq!(records.len(), 10);
    let lines: Vec<u64> = records.iter().map(|record| record.line).collect();
    assert_eq!(&lines[..3], [1, 7, 11]);
    assert!(records[1].text.starts_with("MSH|^~\\&|POC|"));
    assert!(records[1].text.ends_with("||||SN-0031"));
    assert_eq!(records[1].text.matches('\r').count(), 3);
}

#[test]
fn the_birth_has_its_moment_and_gestation() {
    let births = rows("births");
    let columns = [
        "infant_id",
        "mother_id",
        "born_at",
        "gestation",
        "sex",
        "birth_order",
        "unit",
        "recorded_at",
    ];
    let birth = [
        "N-000451",
        "M-700100",
        "2025-10-25T19:42+02:00",
        "35+4",
        "F",
        "1",
        "PNW3",
        "2025-10-25T20:01:00+02:00",
    ];
    assert_eq!(said(&births[0], &columns), birth);
    assert!(births.iter().all(|row| row.is_part));
    let gestation = births[0].place("gestation").and_then(|i| births[0].cells[i].clone());
    assert_eq!(gestation.unwrap().as_written(), "249");
}

#[test]
fn a_discharge_repeats_the_birth_but_not_where_it_was() {
    let births = rows("births");
    assert_eq!(births.len(), 2);
    assert_eq!(births[1].value("born_at"), "2025-10-25T19:42+02:00");
    assert!(!is_said(&births[1], "unit") && !is_said(&births[1], "gestation"));
}

#[test]
fn a_reading_above_the_range_of_the_meter_is_a_bound() {
    let screens = rows("screens");
    let columns = [
        "screen_id",
        "infant_id",
        "measured_at",
        "value",
        "unit_of_measure",
        "meter_id",
        "unit",
    ];
    let screen = ["T-207", "N-000451", "2025-10-27T18:00", ">20", "mg/dL", "SN-0031", ""];
    assert_eq!(screens.len(), 1);
    assert_eq!(said(&screens[0], &columns), screen);
}

#[test]
fn serum_comes_in_versions() {
    let columns = [
        "specimen_id",
        "collected_at",
        "resulted_at",
        "value",
        "unit_of_measure",
        "analyte",
        "specimen",
        "status",
    ];
    let serum = rows("serum");
    let versions: Vec<String> = serum.iter().map(|row| said(row, &columns).join(" ")).collect();
    assert_eq!(
        versions,
        [
            "F-5501 2025-10-27T18:40 2025-10-27T19:29:00 298 umol/L 14631-6 serum preliminary",
            "F-5501 2025-10-27T18:40 2025-10-27T20:54:00 298 umol/L 14631-6  final",
            "F-5502 2025-10-27T18:45 2025-10-27T20:30:00 HEMOLYZED  14631-6 serum cancelled",
            "F-5533 2025-10-28T06:00 2025-10-28T07:39:00 215 umol/L 14631-6  final",
            "F-5533 2025-10-28T06:00 2025-11-02T09:59:00 251 umol/L 14631-6  corrected",
        ]
    );
}

#[test]
fn a_stay_is_told_by_its_admission_and_its_discharge() {
    let columns = [
        "stay_id",
        "unit",
        "admitted_at",
        "discharged_at",
        "source",
        "disposition",
        "diagnoses",
    ];
    let stays = rows("stays");
    let stays: Vec<String> = stays.iter().map(|row| said(row, &columns).join(" ")).collect();
    assert_eq!(
        stays,
        [
            "V-1001 PNW3 2025-10-25T19:42+02:00  birth  ",
            "V-1001 PNW3 2025-10-25T19:42+02:00 2025-10-28T11:05+01:00 birth home ",
            "V-1077 PAED1 2025-10-31T09:20+01:00  home  P59.9",
        ]
    );
}

#[test]
fn phototherapy_lasts_its_minutes() {
    let episodes = rows("phototherapy");
    assert_eq!(episodes.len(), 1);
    let columns = ["episode_id", "infant_id", "started_at", "stopped_at", "unit"];
    let episode = [
        "V-1001-P1",
        "N-000451",
        "2025-10-27T20:30+01:00",
        "2025-10-28T08:15+01:00",
        "PNW3",
    ];
    assert_eq!(said(&episodes[0], &columns), episode);
}

#[test]
fn two_numbers_of_one_baby_are_merged() {
    let merges = rows("merges");
    assert_eq!(merges.len(), 1);
    let merge = ["N-000987", "N-000452", "2025-10-29T08:00:00+01:00"];
    assert_eq!(
        said(&merges[0], &["from_infant_id", "into_infant_id", "merged_at"]),
        merge
    );
}
