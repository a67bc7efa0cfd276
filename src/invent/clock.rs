//! Local time: the invented months, the hour of day, and times as the extracts write them.

use std::fmt::Write;

use jiff::Timestamp;
use jiff::civil::{Date, DateTime};
use jiff::tz::TimeZone;

use super::error::InventError;

const DAY_S: i64 = 86_400;

/// The months of an invention in one time zone. Instants are seconds since 1970 in UTC.
#[derive(Debug)]
pub(crate) struct Calendar {
    zone: TimeZone,
    starts_s: Vec<i64>,
    names: Vec<String>,
}

impl Calendar {
    /// The `months` months that end with `ending` (year, month).
    pub(crate) fn new(zone: &str, ending: (i16, i8), months: u32) -> Result<Calendar, InventError> {
        let unknown_zone = || InventError::Zone { zone: zone.into() };
        let out_of_range = || InventError::Option {
            option: "ending",
            value: format!("{}-{:02}", ending.0, ending.1),
            remedy: "give a year and month such that all months lie between 1900 and 2200",
        };
        let tz = TimeZone::get(zone).map_err(|_| unknown_zone())?;
        if !(1..=12).contains(&ending.1) || !(1900..=2200).contains(&ending.0) {
            return Err(out_of_range());
        }
        let after_last = i64::from(ending.0) * 12 + i64::from(ending.1);
        let first = after_last - i64::from(months);
        let mut starts_s = Vec::new();
        let mut names = Vec::new();
        for index in first..=after_last {
            let year = i16::try_from(index.div_euclid(12)).map_err(|_| out_of_range())?;
            let month = index.rem_euclid(12) as i8 + 1;
            if year < 1900 {
                return Err(out_of_range());
            }
            let midnight = Date::new(year, month, 1)
                .map_err(|_| out_of_range())?
                .to_datetime(jiff::civil::Time::midnight());
            let start = tz.to_timestamp(midnight).map_err(|_| out_of_range())?;
            starts_s.push(start.as_second());
            names.push(format!("{year:04}-{month:02}"));
        }
        names.pop();
        Ok(Calendar {
            zone: tz,
            starts_s,
            names,
        })
    }

    /// How many months there are.
    pub(crate) fn months(&self) -> usize {
        self.names.len()
    }

    /// A month as `2026-09`.
    pub(crate) fn name(&self, month: usize) -> &str {
        &self.names[month]
    }

    /// The first instant of a month; of the month after the last: data end.
    pub(crate) fn start_s(&self, month: usize) -> i64 {
        self.starts_s[month]
    }

    /// The midnight that ends the last month.
    pub(crate) fn data_end_s(&self) -> i64 {
        self.starts_s[self.months()]
    }

    /// The month an instant lies in; none outside the invention.
    pub(crate) fn month_of(&self, at_s: i64) -> Option<usize> {
        let after = self.starts_s.partition_point(|start| *start <= at_s);
        (1..=self.months()).contains(&after).then(|| after - 1)
    }

    /// The local hour of day, 0 to 23.
    pub(crate) fn hour(&self, at_s: i64) -> i64 {
        i64::from(self.local(at_s).0.hour())
    }

    /// Writes a time to the minute, with its offset only where the local time occurs twice.
    pub(crate) fn write_minute(&self, out: &mut String, at_s: i64) {
        self.write(out, at_s, false);
    }

    /// Writes a time to the second, with its offset only where the local time occurs twice.
    pub(crate) fn write_second(&self, out: &mut String, at_s: i64) {
        self.write(out, at_s, true);
    }

    /// Writes the local day.
    pub(crate) fn write_day(&self, out: &mut String, at_s: i64) {
        let (local, _) = self.local(at_s);
        let _ = write!(out, "{:04}-{:02}-{:02}", local.year(), local.month(), local.day());
    }

    /// A time to the second with its offset, whatever the hour.
    pub(crate) fn with_offset(&self, at_s: i64) -> String {
        let (local, offset_s) = self.local(at_s);
        let mut out = String::new();
        self.write_day(&mut out, at_s);
        write_time(&mut out, local, true);
        write_offset(&mut out, offset_s);
        out
    }

    fn write(&self, out: &mut String, at_s: i64, seconds: bool) {
        let (local, offset_s) = self.local(at_s);
        self.write_day(out, at_s);
        write_time(out, local, seconds);
        if self.zone.to_ambiguous_timestamp(local).is_ambiguous() {
            write_offset(out, offset_s);
        }
    }

    /// The local midnight nearest to a moment that is no more than some hours from one.
    pub(crate) fn midnight_near(&self, at_s: i64) -> i64 {
        let (local, _) = self.local(at_s);
        let since_s = i64::from(local.hour()) * 3600 + i64::from(local.minute()) * 60 + i64::from(local.second());
        if since_s > DAY_S / 2 {
            at_s + DAY_S - since_s
        } else {
            at_s - since_s
        }
    }

    fn local(&self, at_s: i64) -> (DateTime, i32) {
        // Instants come from the months above and are in range; the epoch stands in otherwise.
        let timestamp = Timestamp::from_second(at_s).unwrap_or(Timestamp::UNIX_EPOCH);
        let offset = self.zone.to_offset(timestamp);
        (offset.to_datetime(timestamp), offset.seconds())
    }
}

fn write_time(out: &mut String, local: DateTime, seconds: bool) {
    let _ = write!(out, "T{:02}:{:02}", local.hour(), local.minute());
    if seconds {
        let _ = write!(out, ":{:02}", local.second());
    }
}

fn write_offset(out: &mut String, offset_s: i32) {
    let sign = if offset_s < 0 { '-' } else { '+' };
    let minutes = offset_s.abs() / 60;
    let _ = write!(out, "{sign}{:02}:{:02}", minutes / 60, minutes % 60);
}

/// The start of the minute an instant lies in.
pub(crate) fn minute(at_s: i64) -> i64 {
    at_s - at_s.rem_euclid(60)
}
