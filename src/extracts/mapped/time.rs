//! Times in the ways a source writes them, said as ISO 8601.
//!
//! A text must have exactly one reading among the declared ways; where two fit
//! and differ it is refused. Without declared ways ISO 8601 is read. A time
//! without offset stays local, unless the source's zone is not the warehouse's:
//! then it is said with its offset.

use jiff::civil::{Date, DateTime, Time};
use jiff::fmt::strtime;
use jiff::tz::{AmbiguousOffset, Offset, TimeZone};

/// ISO 8601, as the contract takes it.
const ISO_8601: [&str; 9] = [
    "%Y-%m-%d",
    "%Y-%m-%dT%H:%M",
    "%Y-%m-%d %H:%M",
    "%Y-%m-%dT%H:%M:%S%.f",
    "%Y-%m-%d %H:%M:%S%.f",
    "%Y-%m-%dT%H:%M%z",
    "%Y-%m-%d %H:%M%z",
    "%Y-%m-%dT%H:%M:%S%.f%z",
    "%Y-%m-%d %H:%M:%S%.f%z",
];

/// Years outside are a slip of the pen or two digits read as four.
const YEARS: std::ops::RangeInclusive<i16> = 1900..=2199;

/// How a source writes times.
#[derive(Clone, Debug)]
pub(super) struct Times {
    ways: Vec<String>,
    /// The zone of its local times, when it is not the warehouse's.
    foreign: Option<TimeZone>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Reading {
    day: Date,
    time: Option<Time>,
    offset: Option<Offset>,
}

impl Times {
    pub(super) fn of(ways: &[String], zone: Option<&TimeZone>, warehouse_zone: &TimeZone) -> Self {
        let iso = || ISO_8601.iter().map(|way| (*way).to_owned()).collect();
        Self {
            ways: if ways.is_empty() { iso() } else { ways.to_vec() },
            foreign: zone.filter(|zone| *zone != warehouse_zone).cloned(),
        }
    }
}

/// The time as ISO 8601; empty when nothing is written.
///
/// # Errors
/// What to do, when it has no reading or more than one.
pub(super) fn read(text: &str, times: &Times) -> Result<String, String> {
    if text.is_empty() {
        return Ok(String::new());
    }
    let mut found: Option<(Reading, &String)> = None;
    for way in &times.ways {
        let Some(reading) = reading(text, way) else { continue };
        match found {
            Some((other, first)) if other != reading => {
                return Err(format!(
                    "it fits '{first}' and '{way}', which differ ({} and {}); keep one of them under dates in sources.toml",
                    other.iso(),
                    reading.iso()
                ));
            }
            _ => found = found.or(Some((reading, way))),
        }
    }
    let Some((reading, _)) = found else {
        return Err(format!(
            "write it as {}, or declare how it is written under dates in sources.toml",
            times
                .ways
                .iter()
                .take(3)
                .map(|way| format!("'{way}'"))
                .collect::<Vec<_>>()
                .join(" or ")
        ));
    };
    match (&times.foreign, reading.time, reading.offset) {
        (Some(zone), Some(time), None) => with_offset(reading.day.to_datetime(time), zone),
        _ => Ok(reading.iso()),
    }
}

/// Refuses a way of writing that gives no day, or that cannot be read.
///
/// # Errors
/// What is wrong with it.
pub(in crate::extracts) fn check(way: &str) -> Result<(), String> {
    let wrong = || "is no way to write a time; write it like %d.%m.%Y %H:%M".to_owned();
    let day = Date::new(2026, 9, 30).map_err(|_| wrong())?;
    let sample = day.at(14, 5, 7, 0).in_tz("UTC").map_err(|_| wrong())?;
    let text = strtime::format(way, &sample).map_err(|_| wrong())?;
    match reading(&text, way) {
        Some(reading) if reading.day == day => Ok(()),
        _ => Err(wrong()),
    }
}

fn with_offset(local: DateTime, zone: &TimeZone) -> Result<String, String> {
    let ambiguous = zone.to_ambiguous_timestamp(local);
    let AmbiguousOffset::Unambiguous { offset } = ambiguous.offset() else {
        return Err("the clocks of the source's zone changed at this time; export it with its offset".to_owned());
    };
    let reading = Reading {
        day: local.date(),
        time: Some(local.time()),
        offset: Some(offset),
    };
    Ok(reading.iso())
}

fn reading(text: &str, way: &str) -> Option<Reading> {
    let has_offset = way.contains("%z") || way.contains("%:z");
    let read = if has_offset {
        strtime::parse(way.replace("%:z", "%z"), with_plain_offset(text))
    } else {
        strtime::parse(way, text)
    };
    let read = read.ok()?;
    let day = read.to_date().ok().filter(|day| YEARS.contains(&day.year()))?;
    let time = read.hour().and_then(|_| read.to_time().ok());
    Some(Reading {
        day,
        time,
        offset: read.offset(),
    })
}

/// `Z`, `+01` and `+01:00` as `+0000` and `+0100`.
fn with_plain_offset(text: &str) -> String {
    if let Some(clock) = text.strip_suffix(['Z', 'z']) {
        return format!("{clock}+0000");
    }
    let Some((clock, offset)) = text.rfind(['+', '-']).map(|place| text.split_at(place)) else {
        return text.to_owned();
    };
    let plain = offset.replace(':', "");
    let minutes = if plain.len() == 3 { "00" } else { "" };
    format!("{clock}{plain}{minutes}")
}

impl Reading {
    fn iso(&self) -> String {
        let Some(time) = self.time else {
            return self.day.to_string();
        };
        let seconds = if time.second() == 0 {
            String::new()
        } else {
            format!(":{:02}", time.second())
        };
        let clock = format!("{}T{:02}:{:02}{seconds}", self.day, time.hour(), time.minute());
        match self.offset {
            Some(offset) => format!("{clock}{}", written(offset)),
            None => clock,
        }
    }
}

fn written(offset: Offset) -> String {
    let sign = if offset.seconds() < 0 { '-' } else { '+' };
    let minutes = offset.seconds().abs() / 60;
    format!("{sign}{:02}:{:02}", minutes / 60, minutes % 60)
}
