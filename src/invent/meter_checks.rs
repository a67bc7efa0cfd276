//! Daily checks of the meters: one soon after midnight, before the first reading of the day
//! mostly; a second try after one that failed.

use std::fmt::Write;

use super::clock::minute;
use super::dice::{Dice, Stream};
use super::error::InventError;
use super::month_files::{MonthFiles, Table};
use super::world::World;

const DAY_S: i64 = 86_400;

/// At most so many checks of a meter on a day; the identifiers leave room for no more.
const CHECKS_PER_DAY: u64 = 2;

/// Writes the checks of one month.
pub(crate) fn write(world: &World, month: usize, files: &mut MonthFiles<'_>) -> Result<(), InventError> {
    let numbers = &world.scenario.meters;
    let start_s = world.calendar.start_s(month);
    let end_s = world.calendar.start_s(month + 1);
    let mut line = String::new();
    let unchecked = &world.scenario.unchecked;
    let unchecked_meter = world.network.nth_meter(unchecked.unit, 2);
    for (meter, unit) in world.network.all_meters() {
        let meter = world.network.in_use(meter, month);
        let stream = month as u64 * world.network.meter_count() as u64 + meter as u64;
        let mut dice = Dice::new(world.seed, Stream::Meter, stream);
        for day_s in (start_s..end_s - DAY_S / 2).step_by(DAY_S as usize) {
            let day = (day_s - start_s) as f64 / DAY_S as f64;
            let is_forgotten = meter == unchecked_meter
                && month == unchecked.month
                && (unchecked.days[0]..unchecked.days[1]).contains(&day);
            if is_forgotten || !dice.chance(numbers.check_chance) {
                continue;
            }
            let mut at_s = minute(world.calendar.midnight_near(day_s) + dice.span_s(numbers.check_at_h));
            for attempt in 0..CHECKS_PER_DAY {
                let failed = dice.chance(numbers.check_fails);
                let day = (day_s - world.calendar.start_s(0)) / DAY_S;
                let meter_day = day as u64 * world.network.meter_count() as u64 + meter as u64;
                line.clear();
                let running = meter_day * CHECKS_PER_DAY + attempt;
                world.ids.checks.write(&mut line, 'C', running);
                let _ = write!(line, ",M{:02},", meter + 1);
                world.calendar.write_minute(&mut line, at_s);
                let outcome = if failed { "fail" } else { "pass" };
                let unit = &world.scenario.units[unit].name;
                let _ = writeln!(line, ",{outcome},{unit}");
                files.append(month, Table::MeterChecks, &line)?;
                if !failed || !dice.chance(numbers.check_repeated) {
                    break;
                }
                at_s += 60 * dice.between(numbers.check_repeated_after_min) as i64;
            }
        }
    }
    Ok(())
}
