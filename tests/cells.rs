//! How single cells are read: times, values, units.

use jiff::tz::TimeZone;

use siskin::extracts::reason::Reason;
use siskin::intake::time::{self, ClockFlag, When};
use siskin::intake::value::{self, Bound, Unit};
use siskin::protocol::Protocol;

use crate::harness::PROTOCOL;

fn london(text: &str) -> Option<(i64, Option<ClockFlag>)> {
    match time::read(text, &TimeZone::get("Europe/London").unwrap())? {
        When::Moment(moment) => Some((moment.at_s, moment.clock)),
        When::Day(_) => None,
    }
}

#[test]
fn times_are_iso_8601_to_the_second() {
    let noon = Some((1_767_268_800, None)); // 2026-01-01T12:00Z
    for text in [
        "2026-01-01T12:00",
        "2026-01-01 12:00",
        "2026-01-01T12:00:00",
        "2026-01-01T12:00:00.999",
        "2026-01-01T12:00Z",
        "2026-01-01T13:00+01:00",
        "2026-01-01T13:00:00+0100",
        "2026-01-01T07:00-05",
    ] {
        assert_eq!(london(text), noon, "{text}");
    }
}

#[test]
fn what_is_no_time_is_not_read() {
    for text in [
        "",
        "yesterday",
        "2026-02-30T12:00",
        "2026-13-01T12:00",
        "2026-01-01T24:00",
        "2026-01-01T12:60",
        "2026-01-01T12",
        "01/02/2026 12:00",
        "2026-01-01T12:00+1",
        "2026-01-01T12:00+01:99",
        "2026-01-01T12:00:00.",
        "2026-01-01T12:00:00:00",
        "2026-01-0\u{e9}T12:00",
    ] {
        assert_eq!(london(text), None, "{text}");
    }
}

#[test]
fn the_repeated_hour_is_read_as_the_first_and_flagged() {
    // The clocks went back on 2026-10-25 at 01:00 UTC.
    assert_eq!(
        london("2026-10-25T01:30"),
        Some((1_792_888_200, Some(ClockFlag::RepeatedHour)))
    );
    assert_eq!(london("2026-10-25T01:30+00:00"), Some((1_792_891_800, None)));
}

#[test]
fn the_missing_hour_is_read_with_the_offset_before_and_flagged() {
    // The clocks went forward on 2026-03-29 at 01:00 UTC.
    assert_eq!(
        london("2026-03-29T01:30"),
        Some((1_774_747_800, Some(ClockFlag::MissingHour)))
    );
}

#[test]
fn units_are_known_in_any_case_and_with_either_mu() {
    for text in ["umol/L", "UMOL/L", "\u{b5}mol/l", "\u{3bc}mol/L"] {
        assert_eq!(Unit::read(text), Some(Unit::UmolL), "{text}");
    }
    assert_eq!(Unit::read("MG/DL"), Some(Unit::MgDl));
    for text in ["", "mmol/L", "mg", "umol", "mg/dl "] {
        assert_eq!(Unit::read(text), None, "{text}");
    }
}

#[test]
fn values_convert_by_the_customary_factor() {
    let protocol = Protocol::parse(PROTOCOL).unwrap();
    let read = |value: &str, unit: &str| value::read(value, unit, protocol.plausible());
    let milligrams = read("14.62", "mg/dL").unwrap().unwrap();
    assert_eq!(milligrams.micro, 250_002_000);
    let above = read(">340", "umol/L").unwrap().unwrap();
    assert_eq!(
        (above.bound, above.micro, above.compare_micro()),
        (Bound::Above, 340_000_000, 340_000_001)
    );
    let below = read("< 10", "umol/L").unwrap().unwrap();
    assert_eq!((below.bound, below.compare_micro()), (Bound::Below, 9_999_999));
    assert_eq!(read("", "").unwrap(), None);
    assert_eq!(read("haemolysed", "").unwrap(), None);
    assert!(read("0", "umol/L").is_ok() && read("855", "umol/L").is_ok());
}

#[test]
fn a_value_that_cannot_be_trusted_says_why() {
    let protocol = Protocol::parse(PROTOCOL).unwrap();
    let why = |value: &str, unit: &str| value::read(value, unit, protocol.plausible()).unwrap_err();
    assert_eq!(why("250,5", "umol/L").reason, Reason::UnreadableValue);
    assert_eq!(why("1e3", "umol/L").reason, Reason::UnreadableValue);
    assert_eq!(why("see 3", "umol/L").reason, Reason::UnreadableValue);
    assert_eq!(why("250", "").reason, Reason::MissingUnit);
    assert_eq!(why("250", "mmol/L").reason, Reason::UnknownUnit);
    assert_eq!(why("-1", "umol/L").reason, Reason::ImplausibleValue);
    let swapped = why("250", "mg/dL");
    assert_eq!(swapped.reason, Reason::ImplausibleValue);
    assert!(
        swapped.remedy.contains("in umol/L it would be plausible"),
        "{}",
        swapped.remedy
    );
}
