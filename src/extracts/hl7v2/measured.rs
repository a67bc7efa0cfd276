//! Gestation and birth weight of an observation: a number and its unit. No unit is guessed.

use crate::extracts::codes::Codes;
use crate::extracts::reason::Reason;
use crate::extracts::record::{Cell, SourceRow};

use super::message::Segment;

/// Says a gestation: days become weeks+days, weeks must be whole.
pub(super) fn say_gestation(row: &mut SourceRow, obx: &Segment<'_>, codes: &Codes) {
    let Some(said) = obx.field(5).whole() else {
        return;
    };
    let unit = obx.part(6, 1).unwrap_or_default();
    let read = match codes.word("gestation_unit", &unit) {
        _ if said.is_empty() || is_weeks_and_days(&said) => Some(said.clone()),
        Some("d") => scaled(&said, 0).map(|days| format!("{}+{}", days / 7, days % 7)),
        Some("wk") => scaled(&said, 0).map(|weeks| weeks.to_string()),
        _ => None,
    };
    match read {
        Some(gestation) => row.say("gestation", Cell::read_from(&said, gestation)),
        None => row.fail(obx.fault(
            5,
            Reason::UnreadableGestation,
            "gestation",
            "send whole days with the unit d, whole weeks with the unit wk, or weeks and days as 35+4",
        )),
    }
}

/// Says a birth weight in grams.
pub(super) fn say_birth_weight(row: &mut SourceRow, obx: &Segment<'_>, codes: &Codes) {
    let Some(said) = obx.field(5).whole() else {
        return;
    };
    let unit = obx.part(6, 1).unwrap_or_default();
    let grams = match codes.word("weight_unit", &unit) {
        _ if said.is_empty() => Some(String::new()),
        Some("g") => scaled(&said, 0).map(|grams| grams.to_string()),
        Some("kg") => scaled(&said, 3).map(|grams| grams.to_string()),
        _ => None,
    };
    match grams {
        Some(grams) => row.say("birth_weight_g", Cell::read_from(&said, grams)),
        None => row.fail(obx.fault(
            5,
            Reason::UnreadableValue,
            "birth_weight_g",
            "send whole grams, with the unit g or kg in field 6",
        )),
    }
}

fn is_weeks_and_days(text: &str) -> bool {
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    text.split_once('+')
        .is_some_and(|(weeks, days)| digits(weeks) && digits(days))
}

/// A decimal number times a power of ten, when that is a whole number.
fn scaled(text: &str, places: usize) -> Option<u32> {
    let (whole, fraction) = text.split_once('.').unwrap_or((text, ""));
    let digits = |part: &str| part.bytes().all(|b| b.is_ascii_digit());
    let fraction = fraction.trim_end_matches('0');
    if whole.is_empty() || !digits(whole) || !digits(fraction) || fraction.len() > places {
        return None;
    }
    format!("{whole}{fraction:0<places$}").parse().ok()
}
