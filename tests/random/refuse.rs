//! Rows that have to be set aside, one of every kind.

use super::baby::Writer;
use super::extract::Line;

const H: i64 = 3600;

/// Adds one row that cannot be used.
pub fn write(writer: &mut Writer, number: usize) {
    let age_s = writer.dice.between(25 * H, 60 * H);
    let Some(load) = writer.load_of(age_s) else {
        return;
    };
    let id = format!("bad{number}");
    let at = writer.at(age_s);
    let before = writer.at(age_s - 1);
    let screen = writer
        .line("screens")
        .with("screen_id", id.clone())
        .with("measured_at", at.clone())
        .with("value", "260")
        .with("unit_of_measure", "umol/L")
        .with("meter_id", writer.meter(age_s))
        .with("unit", "hill");
    let serum = writer
        .line("serum")
        .with("specimen_id", id.clone())
        .with("collected_at", at.clone())
        .with("resulted_at", at.clone())
        .with("value", "260")
        .with("unit_of_measure", "umol/L")
        .with("analyte", "total")
        .with("status", "final")
        .with("unit", "hill");
    let episode = writer
        .line("phototherapy")
        .with("episode_id", id.clone())
        .with("started_at", at.clone());
    let stay = writer
        .line("stays")
        .with("stay_id", id.clone())
        .with("admitted_at", at.clone());
    let check = Line::new("meter_checks")
        .with("check_id", id.clone())
        .with("meter_id", "M1")
        .with("checked_at", at.clone())
        .with("outcome", "pass");
    let exchange = writer.line("exchanges").with("exchange_id", id.clone());
    let birth = Line::new("births").with("infant_id", id).with("born_at", at.clone());
    let bad = writer.dice.pick(&[
        screen.clone().with("unit_of_measure", ""),
        screen.clone().with("unit_of_measure", "umol"),
        screen.clone().with("value", "855.000001"),
        screen.clone().with("value", ""),
        screen.clone().with("value", "error"),
        screen.clone().with("measured_at", "2026-07-05"),
        screen.clone().with("measured_at", ""),
        screen.clone().with("screen_id", ""),
        screen.clone().with("readings", "two"),
        screen.clone().with("readings", "two").with("unit_of_measure", ""),
        screen.clone().with("recorded_at", "soon").with("unit_of_measure", ""),
        screen.with("infant_id", ""),
        check.clone().with("outcome", ""),
        check.clone().with("outcome", "good"),
        check.with("checked_at", "2026-07-05"),
        exchange.with("performed_at", ""),
        serum.clone().with("unit_of_measure", "mmol/L"),
        serum.clone().with("value", "51").with("unit_of_measure", "mg/dL"),
        serum.clone().with("value", "-3"),
        serum.clone().with("status", "amended"),
        serum.clone().with("status", ""),
        serum.clone().with("analyte", "bilirubin"),
        serum.clone().with("analyte", ""),
        serum.clone().with("resulted_at", "2026-07-05"),
        serum.with("collected_at", "31/07/2026 10:00"),
        episode.clone().with("stopped_at", before.clone()),
        episode.with("started_at", "soon"),
        stay.clone().with("discharged_at", before),
        stay.clone().with("source", "moon"),
        stay.clone().with("discharged_at", at).with("disposition", "left"),
        stay.with("admitted_at", ""),
        birth.clone().with("gestation", "38+7"),
        birth.clone().with("gestation", "46"),
        birth.with("born_at", ""),
    ]);
    writer.push(load, bad.clone());
    if writer.dice.chance(20) {
        let later = writer.this_or_later(load);
        writer.push(later, bad);
    }
}

/// Adds a reading whose unit is missing or unknown, or whose value is no reading's; it may come
/// twice, be mended later, or be withdrawn.
pub fn write_reading(writer: &mut Writer, number: usize) {
    let age_s = writer.dice.between(2 * H, 60 * H);
    let Some(load) = writer.load_of(age_s) else {
        return;
    };
    let line = writer
        .line("screens")
        .with("screen_id", format!("odd{number}"))
        .with("measured_at", writer.at(age_s))
        .with("value", "12.5")
        .with("meter_id", writer.meter(age_s))
        .with("unit", writer.unit());
    let odd = match writer.dice.between(0, 4) {
        0 => line.clone().with("unit_of_measure", "mmol/L"),
        1 => line.clone().with("unit_of_measure", "umol/L").with("value", "1250"),
        2 => line.clone().with("infant_id", "nobody"),
        _ => line.clone(),
    };
    writer.push(load, odd.clone());
    let later = writer.this_or_later(load);
    match writer.dice.between(0, 10) {
        0 => writer.push(later, line.with("unit_of_measure", "mg/dL")),
        1 => {
            let moved = odd.with("measured_at", writer.at(age_s + 10 * H));
            writer.push(later, moved);
        }
        _ => {}
    }
}
