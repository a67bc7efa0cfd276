//! How times are read.

use siskin::extracts::reason::Reason;
use siskin::extracts::record::Fault;

use super::{births, records, serum_row};

fn time(settings: &str, taken: &str) -> Result<String, Fault> {
    let row = serum_row(settings, &[], ["1", "2", taken, "200", "umol/L"]);
    row.fault
        .clone()
        .map_or_else(|| Ok(row.value("collected_at").to_owned()), Err)
}

#[test]
fn iso_8601_is_read_when_nothing_is_declared() {
    for (cell, said) in [
        ("2026-03-01", "2026-03-01"),
        ("2026-03-01T04:05", "2026-03-01T04:05"),
        ("2026-03-01 04:05", "2026-03-01T04:05"),
        ("2026-03-01 04:05:06", "2026-03-01T04:05:06"),
        ("2026-03-01T04:05:06.789", "2026-03-01T04:05:06"),
        ("2026-03-01T04:05Z", "2026-03-01T04:05+00:00"),
        ("2026-03-01T04:05:06+0130", "2026-03-01T04:05:06+01:30"),
        ("2026-03-01T04:05:06-05:00", "2026-03-01T04:05:06-05:00"),
        ("2026-03-01T04:05+01", "2026-03-01T04:05+01:00"),
        ("", ""),
    ] {
        assert_eq!(time("", cell).as_deref(), Ok(said), "{cell}");
    }
}

#[test]
fn times_are_read_in_the_declared_ways_and_in_no_other() {
    let dates = "dates = [\"%d.%m.%Y %H:%M\", \"%m/%d/%y %I:%M %p\", \"%Y%m%d%H%M%z\"]";
    for (cell, said) in [
        ("27.10.2025 18:40", "2025-10-27T18:40"),
        ("7.1.2025 8:05", "2025-01-07T08:05"),
        ("10/27/25 6:40 PM", "2025-10-27T18:40"),
        ("202510271840+0100", "2025-10-27T18:40+01:00"),
    ] {
        assert_eq!(time(dates, cell).as_deref(), Ok(said), "{cell}");
    }
    for cell in [
        "2025-10-27T18:40",
        "31.02.2025 08:10",
        "27.10.25 18:40",
        "27.10.2025",
        "27.10.2025 25:00",
        "soon",
        "29.02.2025 10:00",
    ] {
        let fault = time(dates, cell).expect_err(cell);
        assert_eq!(
            (fault.kind, fault.column.as_str()),
            (Reason::UnreadableTime, "collected_at")
        );
        assert!(fault.remedy.unwrap().contains("sources.toml"));
    }
}

#[test]
fn a_time_with_two_readings_is_refused_and_both_are_told() {
    let dates = "dates = [\"%d/%m/%Y %H:%M\", \"%m/%d/%Y %H:%M\"]";
    assert_eq!(time(dates, "13/04/2026 10:00").as_deref(), Ok("2026-04-13T10:00"));
    assert_eq!(
        time(dates, "04/04/2026 10:00").as_deref(),
        Ok("2026-04-04T10:00"),
        "both say the same"
    );
    let fault = time(dates, "03/04/2026 10:00").unwrap_err();
    let remedy = fault.remedy.unwrap();
    assert!(
        remedy.contains("2026-04-03T10:00") && remedy.contains("2026-03-04T10:00"),
        "{remedy}"
    );
}

#[test]
fn times_of_another_zone_are_said_with_their_offset() {
    let london = "zone = \"Europe/London\"";
    assert_eq!(
        time(london, "2026-07-01 10:00").as_deref(),
        Ok("2026-07-01T10:00+01:00")
    );
    assert_eq!(
        time(london, "2026-01-01 10:00").as_deref(),
        Ok("2026-01-01T10:00+00:00")
    );
    assert_eq!(
        time(london, "2026-01-01 10:00+05:00").as_deref(),
        Ok("2026-01-01T10:00+05:00")
    );
    assert_eq!(time(london, "2026-01-01").as_deref(), Ok("2026-01-01"));
    assert_eq!(
        time("zone = \"Europe/Berlin\"", "2026-07-01 10:00").as_deref(),
        Ok("2026-07-01T10:00"),
        "the warehouse's own"
    );
}

#[test]
fn a_time_of_another_zone_at_its_clock_change_is_not_guessed() {
    // IANA tz: London put the clock back on 25 October 2026 at 02:00, and forward on 29 March at 01:00.
    for cell in ["2026-10-25 01:30", "2026-03-29 01:30"] {
        assert_eq!(
            time("zone = \"Europe/London\"", cell).unwrap_err().kind,
            Reason::UnreadableTime
        );
    }
    assert_eq!(
        time("", "2026-10-25 02:30").as_deref(),
        Ok("2026-10-25T02:30"),
        "the judge flags the warehouse's own"
    );
}

#[test]
fn a_date_and_a_time_of_two_columns_are_one_moment() {
    let mapping = births("born_at = { date = \"day\", time = \"hour\" }");
    let file = b"baby|day|hour\n1|2026-01-02|03:04\n2|2026-01-02|\n3||03:04\n4||\n";
    let all = records(&mapping, file);
    let born: Vec<&str> = all.iter().map(|record| record.rows[0].value("born_at")).collect();
    assert_eq!(born, ["2026-01-02T03:04", "2026-01-02", "03:04", ""]);
    let kinds: Vec<Option<Reason>> = all
        .iter()
        .map(|record| record.rows[0].fault.as_ref().map(|f| f.kind))
        .collect();
    assert_eq!(kinds, [None, None, Some(Reason::UnreadableTime), None]);
}
