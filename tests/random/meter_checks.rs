//! Checks of the meters, about the readings they took.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;

use super::dice::Dice;
use super::extract::{Extract, Line};
use super::season::Season;
use super::text::moment;

const H: i64 = 3600;

/// Most days on which a meter took a reading have a check or two: around one of its readings or a
/// day before it, around either midnight, or any time; some have none, most of the rarest meter's.
pub fn write(dice: &mut Dice, season: &Season, extract: &mut Extract) {
    let mut of_days: BTreeMap<(&'static str, Date), Vec<i64>> = BTreeMap::new();
    for (meter_id, at) in &extract.readings {
        let of_day = of_days.entry((meter_id, local_day(season, *at))).or_default();
        of_day.push(*at);
    }
    let mut number = 0;
    for ((meter_id, day), mut readings) in of_days {
        let without = if meter_id == "M3" { 60 } else { 20 };
        if meter_id.is_empty() || dice.chance(without) {
            continue;
        }
        readings.sort_unstable();
        let first = readings[0];
        let midnight = |day: Date| {
            let at = season.zone.to_timestamp(day.at(0, 0, 0, 0));
            at.expect("midnights exist here").as_second()
        };
        let next_day = day.tomorrow().expect("a day of this century");
        let some = dice.pick(&readings);
        let edges = [first, some, some - 24 * H, midnight(day), midnight(next_day)];
        for _ in 0..dice.pick(&[1, 1, 2]) {
            let at = if dice.chance(40) {
                dice.between(first - 2 * H, first)
            } else {
                dice.around(&edges, midnight(day), midnight(next_day))
            };
            number += 1;
            write_check(dice, season, extract, &format!("c{number}"), meter_id, at);
        }
    }
}

/// One check; now and then its outcome is mended later, or it is withdrawn.
fn write_check(dice: &mut Dice, season: &Season, extract: &mut Extract, id: &str, meter_id: &str, at: i64) {
    let Some(load) = extract.load_of(at) else {
        return;
    };
    let line = Line::new("meter_checks")
        .with("check_id", id)
        .with("meter_id", meter_id)
        .with("checked_at", moment(dice, season, at))
        .with("outcome", dice.weighted(&[(5, "pass"), (1, "fail")]));
    let later = dice.between(load as i64, extract.cuts.len() as i64) as usize;
    match dice.between(0, 40) {
        0 => {
            extract.push(dice, load, line.clone().with("outcome", "fail"));
            extract.push(dice, later, line);
        }
        1 => {
            extract.push(dice, load, line.clone());
            extract.push(dice, later, line.with("record_status", "withdrawn"));
        }
        2 => extract.push(dice, load, line.with("meter_id", "")),
        _ => extract.push(dice, load, line),
    }
}

fn local_day(season: &Season, at: i64) -> Date {
    let instant = Timestamp::from_second(at).expect("an instant of this century");
    season.zone.to_datetime(instant).date()
}
