//! Meter checks.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::facts::Reading;
use super::figure::{Asked, Figure, Groups, Judged, Proportion};
use super::moment::{Zone, month_of_day};
use super::versions::Register;
use super::view::View;

/// A meter and a local day on which it took a reading.
type MeterDay = (String, Date);

/// Every reading by data end: of kept screens of babies born by then, and those set aside for
/// their unit or value, in the order of (time, id) (choice 34).
fn readings(views: &[View], register: &Register, data_end: i64) -> Vec<Reading> {
    let mut readings = Vec::new();
    for view in views {
        for screen in &view.screens {
            readings.push(Reading {
                screen_id: screen.id.clone(),
                meter_id: screen.meter_id.clone(),
                at: screen.at,
                unit: screen.unit.clone(),
            });
        }
    }
    readings.extend(register.readings_without_value.iter().cloned());
    readings.retain(|reading| reading.at <= data_end);
    readings.sort_by(|a, b| a.at.cmp(&b.at).then_with(|| a.screen_id.cmp(&b.screen_id)));
    readings
}

/// "Good meter-day: the last check of that meter on that local day strictly before its first
/// reading passed."
fn outcome(register: &Register, first: &Reading, day: Date, zone: &Zone) -> &'static str {
    // No local day is longer than 25 h; this spares looking up most dates.
    let since = first.at - 25 * 3600;
    let before = register.checks.iter().filter(|check| {
        let is_before = check.meter_id == first.meter_id && since <= check.at && check.at < first.at;
        is_before && zone.date(check.at) == day
    });
    match before.max_by_key(|check| (check.at, &check.id)) {
        None => "unchecked",
        Some(last) if last.passed => "good",
        Some(_) => "failed",
    }
}

/// The rows `meter_checks` and `unverified_readings`.
pub fn figures(views: &[View], register: &Register, data_end: i64, zone: &Zone, asked: &Asked) -> Vec<Figure> {
    let readings = readings(views, register, data_end);
    let mut first_readings: BTreeMap<MeterDay, Reading> = BTreeMap::new();
    for reading in readings.iter().filter(|reading| !reading.meter_id.is_empty()) {
        let meter_day = (reading.meter_id.clone(), zone.date(reading.at));
        first_readings.entry(meter_day).or_insert_with(|| reading.clone());
    }
    let mut of_days = Vec::new();
    let mut outcomes = BTreeMap::new();
    for ((meter_id, day), first) in &first_readings {
        let outcome = outcome(register, first, *day, zone);
        outcomes.insert((meter_id.clone(), *day), outcome);
        if month_of_day(*day) == asked.month {
            of_days.push(Judged {
                groups: Groups::unit_only(&first.unit),
                verdict: Ok(outcome),
            });
        }
    }
    let mut of_readings = Vec::new();
    for reading in &readings {
        if zone.month(reading.at) != asked.month {
            continue;
        }
        let of_day = outcomes.get(&(reading.meter_id.clone(), zone.date(reading.at)));
        of_readings.push(Judged {
            groups: Groups::unit_only(&reading.unit),
            verdict: match of_day {
                None => Err("meter_unknown"),
                Some(&"good") => Ok("verified"),
                Some(_) => Ok("unverified"),
            },
        });
    }
    let days = Proportion {
        measure: "meter_checks".to_string(),
        outcomes: &["good", "failed", "unchecked"],
        numerator: &["good"],
        denominator: &["good", "failed", "unchecked"],
    };
    let unverified = Proportion {
        measure: "unverified_readings".to_string(),
        outcomes: &["verified", "unverified"],
        numerator: &["unverified"],
        denominator: &["verified", "unverified"],
    };
    let mut figures = days.figures(&of_days, asked);
    figures.extend(unverified.figures(&of_readings, asked));
    figures
}
