//! Moments on the warehouse's clock, as pages and tables of cases write them.

use jiff::Timestamp;
use jiff::tz::TimeZone;

/// Writes moments on a zone's clock, with the offset from UTC where it is not the same for all.
pub(super) struct LocalTime<'a> {
    zone: &'a TimeZone,
    has_offset: bool,
}

impl<'a> LocalTime<'a> {
    /// For these moments: their offsets are written when the clock changed between them.
    pub(super) fn for_moments(zone: &'a TimeZone, moments: impl IntoIterator<Item = i64>) -> Self {
        let mut offsets = moments.into_iter().filter_map(|at_s| {
            let at = Timestamp::from_second(at_s).ok()?;
            Some(zone.to_offset(at).seconds())
        });
        let first = offsets.next();
        Self {
            zone,
            has_offset: offsets.any(|offset| Some(offset) != first),
        }
    }

    /// `12 Sep, 11:20`.
    pub(super) fn short(&self, at_s: i64) -> String {
        self.written(at_s, "%-d %b, %H:%M")
    }

    /// `12 Sep 2026, 11:20`.
    pub(super) fn long(&self, at_s: i64) -> String {
        self.written(at_s, "%-d %b %Y, %H:%M")
    }

    /// `12 September 2026`.
    pub(super) fn day(&self, at_s: i64) -> String {
        let at = Timestamp::from_second(at_s).ok();
        at.map_or_else(String::new, |at| {
            self.zone.to_datetime(at).strftime("%-d %B %Y").to_string()
        })
    }

    fn written(&self, at_s: i64, format: &str) -> String {
        let Ok(at) = Timestamp::from_second(at_s) else {
            return String::new();
        };
        let local = self.zone.to_datetime(at).strftime(format).to_string();
        match self.has_offset {
            true => format!("{local} {}", offset(self.zone, at)),
            false => local,
        }
    }
}

/// `2026-09-12T11:20:00+01:00`; empty for a moment that no calendar has.
pub fn iso(at_s: i64, zone: &TimeZone) -> String {
    let at = Timestamp::from_second(at_s).ok();
    at.map_or_else(String::new, |at| {
        let local = zone.to_datetime(at).strftime("%Y-%m-%dT%H:%M:%S").to_string();
        format!("{local}{}", offset(zone, at))
    })
}

/// An offset from UTC as ISO 8601 writes it: `+01:00`.
fn offset(zone: &TimeZone, at: Timestamp) -> String {
    let seconds = zone.to_offset(at).seconds();
    let (sign, minutes) = (if seconds < 0 { '-' } else { '+' }, seconds.abs() / 60);
    format!("{sign}{:02}:{:02}", minutes / 60, minutes % 60)
}
