//! Reads ISO 8601 times as instants, to the second.
//!
//! Accepted: `2026-09-30T14:05`, a space for the `T`, seconds, a fraction (cut
//! off), and an offset (`Z`, `+01:00`, `+0100`, `+01`). Without an offset the
//! time is local: in the repeated autumn hour it is the first of the two, in the
//! missing spring hour it is read with the offset before the change; both are
//! flagged.

use jiff::civil::{Date, DateTime};
use jiff::tz::{AmbiguousOffset, Offset, TimeZone};

use crate::words::words;

/// What a time cell says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum When {
    /// An instant.
    Moment(Moment),
    /// A day without a time.
    Day(Date),
}

/// An instant with its local reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Moment {
    /// Epoch seconds.
    pub at_s: i64,
    /// The same on the warehouse's wall clock.
    pub local: DateTime,
    /// Set when a local time fell into a clock change.
    pub clock: Option<ClockFlag>,
}

words! {
    /// A local time that a clock change made doubtful.
    pub ClockFlag {
        /// It happened twice; the first is taken.
        RepeatedHour = "repeated_hour",
        /// It never happened; read with the offset before the change.
        MissingHour = "missing_hour",
    }
}

/// Reads a time cell; `None` when it is not a time.
pub fn read(text: &str, zone: &TimeZone) -> Option<When> {
    let (day, rest) = text.split_at_checked(10)?;
    let day = date(day)?;
    if rest.is_empty() {
        return Some(When::Day(day));
    }
    let rest = rest.strip_prefix(['T', 't', ' '])?;
    let (clock, offset) = split_offset(rest)?;
    let local = date_time(day, clock)?;
    let moment = match offset {
        Some(offset) => {
            let at = offset.to_timestamp(local).ok()?;
            Moment {
                at_s: at.as_second(),
                local: zone.to_datetime(at),
                clock: None,
            }
        }
        None => in_zone(local, zone)?,
    };
    Some(When::Moment(moment))
}

fn in_zone(written: DateTime, zone: &TimeZone) -> Option<Moment> {
    let ambiguous = zone.to_ambiguous_timestamp(written);
    let clock = match ambiguous.offset() {
        AmbiguousOffset::Unambiguous { .. } => None,
        AmbiguousOffset::Gap { .. } => Some(ClockFlag::MissingHour),
        AmbiguousOffset::Fold { .. } => Some(ClockFlag::RepeatedHour),
    };
    let at = ambiguous.compatible().ok()?;
    Some(Moment {
        at_s: at.as_second(),
        local: zone.to_datetime(at),
        clock,
    })
}

/// Epoch second at which a local day begins.
pub fn day_begins_s(day: Date, zone: &TimeZone) -> Option<i64> {
    let midnight = day.to_datetime(jiff::civil::Time::midnight());
    Some(zone.to_timestamp(midnight).ok()?.as_second())
}

fn date(text: &str) -> Option<Date> {
    let bytes = text.as_bytes();
    if bytes.len() != 10 || bytes[4] != b'-' || bytes[7] != b'-' {
        return None;
    }
    Date::new(number(&text[..4])?, number(&text[5..7])?, number(&text[8..])?).ok()
}

fn date_time(day: Date, clock: &str) -> Option<DateTime> {
    let whole = match clock.split_once(['.', ',']) {
        Some((whole, fraction)) => {
            number::<u64>(fraction.get(..fraction.len().min(18))?)?;
            whole
        }
        None => clock,
    };
    let mut parts = whole.split(':');
    let hour = two(parts.next()?)?;
    let minute = two(parts.next()?)?;
    let second = parts.next().map_or(Some(0), two)?;
    if parts.next().is_some() {
        return None;
    }
    let time = jiff::civil::Time::new(hour, minute, second, 0).ok()?;
    Some(day.to_datetime(time))
}

/// Splits `14:05:00+01:00` into the clock and its offset.
fn split_offset(text: &str) -> Option<(&str, Option<Offset>)> {
    if let Some(clock) = text.strip_suffix(['Z', 'z']) {
        return Some((clock, Some(Offset::UTC)));
    }
    let Some(place) = text.rfind(['+', '-']) else {
        return Some((text, None));
    };
    let (clock, offset) = text.split_at(place);
    let sign = if offset.starts_with('-') { -1 } else { 1 };
    let digits = &offset[1..];
    let (hours, minutes) = match digits.len() {
        2 => (digits, "00"),
        4 => digits.split_at_checked(2)?,
        5 => digits.split_once(':')?,
        _ => return None,
    };
    let (hours, minutes) = (i32::from(two(hours)?), i32::from(two(minutes)?));
    if minutes > 59 {
        return None;
    }
    let offset = Offset::from_seconds(sign * (hours * 3600 + minutes * 60)).ok()?;
    Some((clock, Some(offset)))
}

fn two(text: &str) -> Option<i8> {
    (text.len() == 2).then(|| number(text)).flatten()
}

fn number<N: std::str::FromStr>(text: &str) -> Option<N> {
    let digits = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    digits.then(|| text.parse().ok()).flatten()
}
