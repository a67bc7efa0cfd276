//! Reading times, and the local calendar.

use jiff::Timestamp;
use jiff::civil::{Date, DateTime, Weekday};
use jiff::tz::{AmbiguousOffset, Offset, TimeZone};

/// What a time cell says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    /// An instant, in epoch seconds.
    Moment(i64),
    /// A date without a time of day.
    Day(Date),
}

/// The zone of the warehouse.
pub struct Zone(TimeZone);

impl Zone {
    /// The zone of this name; tests only ever ask for one that exists.
    pub fn named(name: &str) -> Self {
        Self(TimeZone::get(name).expect("a time zone of this name"))
    }

    /// "Local time in the repeated autumn hour is the first of the two; in the missing spring
    /// hour it is read with the offset before the change": in both cases the offset before.
    fn local(&self, at: DateTime) -> i64 {
        let offset = match self.0.to_ambiguous_timestamp(at).offset() {
            AmbiguousOffset::Unambiguous { offset } => offset,
            AmbiguousOffset::Gap { before, .. } | AmbiguousOffset::Fold { before, .. } => before,
        };
        seconds_as_utc(at) - i64::from(offset.seconds())
    }

    /// The moment a local day begins.
    pub fn day_start(&self, day: Date) -> i64 {
        self.local(day.at(0, 0, 0, 0))
    }

    /// "A month is a calendar month in the warehouse's zone", as `YYYY-MM`.
    pub fn month(&self, at: i64) -> String {
        month_of_day(self.date(at))
    }

    /// The moment a month, `YYYY-MM`, ends: the next local month begins.
    pub fn month_end(&self, month: &str) -> i64 {
        let first = date(&format!("{month}-01")).expect("a month");
        let next = first
            .checked_add(jiff::Span::new().months(1))
            .expect("a month after it");
        self.day_start(next)
    }

    /// "Weekend by the warehouse's zone."
    pub fn is_weekend(&self, at: i64) -> bool {
        matches!(self.date(at).weekday(), Weekday::Saturday | Weekday::Sunday)
    }

    /// "Day 08:00 to 19:59" by the local clock; the rest is night.
    pub fn is_night(&self, at: i64) -> bool {
        let instant = Timestamp::from_second(at).expect("an instant of this millennium");
        !(8..20).contains(&self.0.to_datetime(instant).hour())
    }

    /// "Local day by the warehouse's zone."
    pub fn date(&self, at: i64) -> Date {
        let instant = Timestamp::from_second(at).expect("an instant of this millennium");
        self.0.to_datetime(instant).date()
    }

    /// "Times are ISO 8601; without an offset they are local time in the warehouse's zone."
    /// `T` or a space, seconds optional, a fraction is cut off (choice 11), `Z`, `+01:00` or
    /// `+0100`. `None` when it cannot be read.
    pub fn read(&self, text: &str) -> Option<When> {
        let day: Date = date(text.get(..10)?)?;
        let rest = &text[10..];
        if rest.is_empty() {
            return Some(When::Day(day));
        }
        let clock = rest.strip_prefix(['T', ' '])?;
        let hour = number(clock.get(..2)?, 23)?;
        let minute = number(clock.get(2..5)?.strip_prefix(':')?, 59)?;
        let (second, rest) = match clock[5..].strip_prefix(':') {
            None => (0, &clock[5..]),
            Some(after) => (number(after.get(..2)?, 59)?, &after[2..]),
        };
        let rest = match rest.strip_prefix(['.', ',']) {
            None => rest,
            Some(fraction) => {
                let after = fraction.trim_start_matches(|c: char| c.is_ascii_digit());
                if after.len() == fraction.len() {
                    return None;
                }
                after
            }
        };
        let at = day.at(hour as i8, minute as i8, second as i8, 0);
        Some(When::Moment(match rest {
            "" => self.local(at),
            "Z" | "z" => seconds_as_utc(at),
            offset => seconds_as_utc(at) - offset_seconds(offset)?,
        }))
    }
}

/// `YYYY-MM` of a local day.
pub fn month_of_day(day: Date) -> String {
    format!("{:04}-{:02}", day.year(), day.month())
}

/// Epoch seconds of a clock that shows UTC.
fn seconds_as_utc(at: DateTime) -> i64 {
    Offset::UTC.to_timestamp(at).map_or(i64::MIN / 2, Timestamp::as_second)
}

/// `YYYY-MM-DD`.
fn date(text: &str) -> Option<Date> {
    let year = number(text.get(..4)?, 9999)?;
    let month = number(text.get(4..7)?.strip_prefix('-')?, 12)?;
    let day = number(text.get(7..10)?.strip_prefix('-')?, 31)?;
    Date::new(year as i16, month as i8, day as i8).ok()
}

/// `+01:00` or `+0100`, as seconds ahead of UTC.
fn offset_seconds(text: &str) -> Option<i64> {
    let sign = match text.get(..1)? {
        "+" => 1,
        "-" => -1,
        _ => return None,
    };
    let digits = text[1..].replace(':', "");
    if digits.len() != 4 {
        return None;
    }
    let hour = number(&digits[..2], 23)?;
    let minute = number(&digits[2..], 59)?;
    Some(sign * (hour * 3600 + minute * 60))
}

/// Plain digits, at most so large.
fn number(digits: &str, most: i64) -> Option<i64> {
    if !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    digits.parse().ok().filter(|value| *value <= most)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clock_changes_are_read_with_the_offset_before() {
        let zone = Zone::named("Europe/London");
        let read = |text| zone.read(text);
        // 2026-03-29 01:00Z is the spring change, 2026-10-25 01:00Z the autumn one.
        assert_eq!(read("2026-03-29T01:30:00"), read("2026-03-29T02:30:00+01:00"));
        assert_eq!(read("2026-03-29 01:30"), read("2026-03-29T01:30:00Z"));
        assert_eq!(read("2026-10-25T01:30:00"), read("2026-10-25T01:30:00+0100"));
        assert_eq!(read("2026-10-25T01:30:00.999"), read("2026-10-25T00:30:00Z"));
        assert_eq!(read("1970-01-01T01:00:07"), Some(When::Moment(7)));
        assert!(matches!(read("2026-10-25"), Some(When::Day(_))));
        for wrong in ["", "soon", "2026-13-01", "2026-01-01T25:00", "2026-01-01T10"] {
            assert_eq!(read(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn a_month_begins_at_local_midnight() {
        let zone = Zone::named("Europe/London");
        let Some(When::Moment(at)) = zone.read("2026-03-31T23:00:00Z") else {
            panic!("readable");
        };
        assert_eq!(zone.month(at), "2026-04");
        assert_eq!(zone.month(at - 1), "2026-03");
    }
}
