//! Meter checks.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::facts::{MeterCheck, Reading};
use super::figure::{Asked, Figure, Groups, Judged, Proportion};
use super::moment::Zone;
use super::rules::{Rules, hours};
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

/// The meter's last check at or before a reading; of one second the larger id (choice 34).
fn last_check<'r>(register: &'r Register, reading: &Reading) -> Option<&'r MeterCheck> {
    let checks = register.checks.iter();
    let before = checks.filter(|check| check.meter_id == reading.meter_id && check.at <= reading.at);
    before.max_by_key(|check| (check.at, &check.id))
}

/// "A reading is verified when the meter's last check at or before it, and not more than 24 h
/// before (a setting; or on the same local day), passed."
fn is_verified(register: &Register, reading: &Reading, rules: &Rules, zone: &Zone) -> bool {
    let Some(check) = last_check(register, reading) else {
        return false;
    };
    let still_holds = match rules.at(reading.at).check_holds_h {
        Some(holds_h) => reading.at - check.at <= hours(holds_h),
        None => zone.date(check.at) == zone.date(reading.at),
    };
    check.passed && still_holds
}

/// "A meter-day is good when all its readings are verified, `failed` when before one of them the
/// meter's last check, however old, had failed, else `unchecked`."
fn outcome(register: &Register, readings: &[Reading], rules: &Rules, zone: &Zone) -> &'static str {
    let mut all_verified = true;
    let mut after_a_failed_check = false;
    for reading in readings {
        all_verified &= is_verified(register, reading, rules, zone);
        after_a_failed_check |= last_check(register, reading).is_some_and(|check| !check.passed);
    }
    match (all_verified, after_a_failed_check) {
        (true, _) => "good",
        (false, true) => "failed",
        (false, false) => "unchecked",
    }
}

/// The rows `meter_checks` and `unverified_readings`.
pub fn figures(
    views: &[View],
    register: &Register,
    data_end: i64,
    rules: &Rules,
    zone: &Zone,
    asked: &Asked,
) -> Vec<Figure> {
    let mut of_days: BTreeMap<MeterDay, Vec<Reading>> = BTreeMap::new();
    let mut of_readings = Vec::new();
    for reading in readings(views, register, data_end) {
        if zone.month(reading.at) != asked.month {
            continue;
        }
        of_readings.push(Judged {
            groups: Groups::unit_only(&reading.unit),
            verdict: match reading.meter_id.as_str() {
                "" => Err("meter_unknown"),
                _ if is_verified(register, &reading, rules, zone) => Ok("verified"),
                _ => Ok("unverified"),
            },
        });
        if !reading.meter_id.is_empty() {
            let meter_day = (reading.meter_id.clone(), zone.date(reading.at));
            of_days.entry(meter_day).or_default().push(reading);
        }
    }
    let mut days_judged = Vec::new();
    for readings in of_days.values() {
        days_judged.push(Judged {
            groups: Groups::unit_only(&readings[0].unit),
            verdict: Ok(outcome(register, readings, rules, zone)),
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
    let mut figures = days.figures(&days_judged, asked);
    figures.extend(unverified.figures(&of_readings, asked));
    figures
}
