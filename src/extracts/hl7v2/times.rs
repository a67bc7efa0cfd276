//! Times of HL7 v2 (`YYYYMMDDHHMM[SS[.S]][+ZZZZ]`, a day alone as `YYYYMMDD`) as ISO 8601.
//!
//! Without a zone the time is local and stays so. Whatever else is allowed by HL7 (a year, a
//! month, an hour alone) is too coarse to be read as a moment.

use jiff::civil::Date;
use jiff::tz::{Offset, TimeZone};

/// The time in ISO 8601; `None` when it is none, or too coarse.
pub(super) fn iso(text: &str) -> Option<String> {
    let (clock, offset) = match text.find(['+', '-']) {
        Some(place) => {
            let (clock, offset) = text.split_at_checked(place)?;
            (clock, Some(offset))
        }
        None => (text, None),
    };
    let (whole, fraction) = match clock.split_once('.') {
        Some((whole, fraction)) => (whole, Some(fraction)),
        None => (clock, None),
    };
    if !digits(whole) || fraction.is_some_and(|fraction| whole.len() != 14 || !digits(fraction)) {
        return None;
    }
    let date = Date::new(
        number(whole.get(..4)?)?,
        number(whole.get(4..6)?)?,
        number(whole.get(6..8)?)?,
    )
    .ok()?;
    let time = whole.get(8..)?;
    if time.is_empty() {
        return offset.is_none().then(|| date.to_string());
    }
    let (hour, minute) = (time.get(..2)?, time.get(2..4)?);
    let second = time.get(4..)?;
    if second.len() != 2 && !second.is_empty() {
        return None;
    }
    let second_number = if second.is_empty() { 0 } else { number(second)? };
    jiff::civil::Time::new(number(hour)?, number(minute)?, second_number, 0).ok()?;
    let mut iso = format!("{date}T{hour}:{minute}");
    if !second.is_empty() {
        iso = iso + ":" + second;
    }
    if let Some(fraction) = fraction {
        iso = iso + "." + fraction;
    }
    Some(iso + &offset.map_or(Some(String::new()), iso_offset)?)
}

fn iso_offset(text: &str) -> Option<String> {
    let (sign, zone) = text.split_at_checked(1)?;
    let (hours, minutes) = zone.split_at_checked(2)?;
    let is_offset = zone.len() == 4 && digits(zone) && number::<u8>(hours)? <= 14 && number::<u8>(minutes)? <= 59;
    let sign = if zone == "0000" { "+" } else { sign };
    is_offset.then(|| format!("{sign}{hours}:{minutes}"))
}

/// A time in ISO 8601 and minutes of elapsed time later, with the offset that holds then.
pub(super) fn later(iso: &str, minutes: i64, zone: &TimeZone) -> Option<String> {
    let (clock, offset) = match iso.rfind(['+', '-']).filter(|place| *place > 10) {
        Some(place) => {
            let (clock, offset) = iso.split_at_checked(place)?;
            (clock, Some(offset))
        }
        None => (iso, None),
    };
    let local: jiff::civil::DateTime = clock.parse().ok().filter(|_| clock.contains('T'))?;
    let start = match offset {
        Some(offset) => {
            let (hours, rest) = offset.get(1..)?.split_once(':')?;
            let seconds = number::<i32>(hours)? * 3600 + number::<i32>(rest)? * 60;
            let seconds = if offset.starts_with('-') { -seconds } else { seconds };
            Offset::from_seconds(seconds).ok()?.to_timestamp(local).ok()?
        }
        None => zone.to_timestamp(local).ok()?,
    };
    let after = jiff::SignedDuration::from_secs(minutes.checked_mul(60)?);
    let stop = start.checked_add(after).ok()?;
    let (local, offset) = (zone.to_datetime(stop), zone.to_offset(stop).seconds());
    let sign = if offset < 0 { '-' } else { '+' };
    let (hours, rest) = (offset.abs() / 3600, offset.abs() / 60 % 60);
    let (date, hour, minute) = (local.date(), local.hour(), local.minute());
    let second = match local.second() {
        0 => String::new(),
        second => format!(":{second:02}"),
    };
    Some(format!(
        "{date}T{hour:02}:{minute:02}{second}{sign}{hours:02}:{rest:02}"
    ))
}

fn digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit())
}

fn number<N: std::str::FromStr>(text: &str) -> Option<N> {
    digits(text).then(|| text.parse().ok()).flatten()
}
