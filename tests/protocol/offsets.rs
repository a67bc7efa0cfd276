//! The zone's offsets as spans, and versions that begin at local midnight.

use arrow::array::{Array, Int64Array, RecordBatch};
use jiff::Timestamp;
use jiff::tz::TimeZone;

use siskin::intake::settle::Through;
use siskin::protocol::Protocol;

use crate::harness::{PROTOCOL, TestWarehouse};

const ZONES: [&str; 8] = [
    "Europe/London",
    "America/New_York",
    "Australia/Lord_Howe",
    "America/Sao_Paulo",
    "Africa/Casablanca",
    "Asia/Kathmandu",
    "Pacific/Apia",
    "UTC",
];

fn table(protocol: &Protocol, name: &str) -> RecordBatch {
    let tables = protocol.tables().unwrap();
    tables.into_iter().find(|(known, _)| *known == name).unwrap().1
}

fn ints(batch: &RecordBatch, column: &str) -> Vec<i64> {
    let column = batch.column_by_name(column).unwrap();
    column.as_any().downcast_ref::<Int64Array>().unwrap().values().to_vec()
}

fn in_zone(zone: &str) -> Protocol {
    Protocol::parse(&PROTOCOL.replacen("Europe/London", zone, 1)).unwrap()
}

/// Spans of a zone: from, to, offset.
fn spans(zone: &str) -> Vec<(i64, i64, i64)> {
    let batch = table(&in_zone(zone), "local_offsets");
    assert!(ints(&batch, "day_from_hour").iter().all(|hour| *hour == 8));
    assert!(ints(&batch, "day_until_hour").iter().all(|hour| *hour == 20));
    let columns = ["from_s", "to_s", "offset_s"].map(|name| ints(&batch, name));
    (0..batch.num_rows())
        .map(|i| (columns[0][i], columns[1][i], columns[2][i]))
        .collect()
}

#[test]
fn spans_follow_each_other_without_gaps() {
    for zone in ZONES {
        let spans = spans(zone);
        assert!(spans[0].0 < -10_000_000_000, "{zone}: open to the past");
        assert!(spans[spans.len() - 1].1 > 100_000_000_000, "{zone}: open to the future");
        for pair in spans.windows(2) {
            assert_eq!(pair[0].1, pair[1].0, "{zone}");
            assert_ne!(pair[0].2, pair[1].2, "{zone}: a change that changes nothing");
        }
    }
    assert_eq!(spans("UTC").len(), 1);
    assert!(spans("Europe/London").len() > 200);
}

#[test]
fn offsets_are_those_of_the_zone_at_any_moment_and_at_every_change() {
    let (first, last) = (315_532_800, 4_102_444_799);
    let mut state: u64 = 20_260;
    for name in ZONES {
        let zone = TimeZone::get(name).unwrap();
        let spans = spans(name);
        let mut moments: Vec<i64> = spans.iter().skip(1).flat_map(|s| [s.0 - 1, s.0, s.0 + 1]).collect();
        for _ in 0..5_000 {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            moments.push(first + ((state >> 20) % (last - first) as u64) as i64);
        }
        moments.extend([first, last]);
        for at_s in moments {
            let span = spans.iter().find(|s| s.0 <= at_s && at_s < s.1).unwrap();
            let expected = zone.to_offset(Timestamp::from_second(at_s).unwrap()).seconds();
            assert_eq!(span.2, i64::from(expected), "{name} at {at_s}");
        }
    }
}

/// Two versions, the later in force from a day.
fn from_day(zone: &str, day: &str) -> Protocol {
    let text = PROTOCOL
        .replacen("Europe/London", zone, 1)
        .replacen("2026-01-01", "2000-01-01", 1);
    let later = &text[text.find("[[version]]").unwrap()..];
    let later = later
        .replacen("2000-01-01", day, 1)
        .replacen("manner, 2026", "manner, later", 1);
    Protocol::parse(&format!("{text}\n{later}")).unwrap()
}

#[test]
fn a_version_begins_at_local_midnight() {
    for (zone, day, at) in [
        ("Europe/London", "2026-02-01", "2026-02-01T00:00:00Z"),
        ("Europe/London", "2026-07-01", "2026-06-30T23:00:00Z"),
        // The clocks change on the day itself, after midnight.
        ("Europe/London", "2026-03-29", "2026-03-29T00:00:00Z"),
        ("Europe/London", "2026-03-30", "2026-03-29T23:00:00Z"),
        ("Europe/London", "2026-10-25", "2026-10-24T23:00:00Z"),
        ("America/New_York", "2026-07-01", "2026-07-01T04:00:00Z"),
        // There was no midnight: the day began at 01:00.
        ("America/Sao_Paulo", "2018-11-04", "2018-11-04T03:00:00Z"),
    ] {
        let protocol = from_day(zone, day);
        let expected = at.parse::<Timestamp>().unwrap().as_second();
        for name in ["protocol_versions", "protocol_limits"] {
            let batch = table(&protocol, name);
            assert_eq!(ints(&batch, "from_s")[1], expected, "{zone} {day}");
            assert_eq!(ints(&batch, "to_s")[0], expected, "{zone} {day}");
        }
    }
}

const BIRTHS: &str = "infant_id,mother_id,born_at,gestation,birth_weight_g,sex,plurality,birth_order,unit,feeding,risk_factors,skin_tone,ethnicity
b1,m1,2026-06-28T08:00,38+0,,,,,harbour,,,,
";
const SCREENS: &str = "screen_id,infant_id,measured_at,value,unit_of_measure,body_site,readings,meter_id,operator_id,id_entry,setting,unit
before,b1,2026-06-30T23:59:59,100,umol/L,sternum,3,,,,inpatient,harbour
at,b1,2026-07-01T00:00:00,100,umol/L,sternum,3,,,,inpatient,harbour
";

#[test]
fn an_event_at_local_midnight_is_judged_by_the_new_version() {
    let warehouse = TestWarehouse::with_protocol(from_day("Europe/London", "2026-07-01").text());
    let texts = [("births.csv", BIRTHS), ("screens.csv", SCREENS)];
    warehouse
        .load_texts(&texts, &Through::default(), 1_783_000_000)
        .unwrap();
    let rows = warehouse.rows("select screen_id, version from judged_screens order by screen_id");
    let found: Vec<(&str, &str)> = rows
        .iter()
        .map(|r| (r["screen_id"].as_str(), r["version"].as_str()))
        .collect();
    assert_eq!(found, [("at", "2"), ("before", "1")]);
}
