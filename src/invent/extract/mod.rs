//! One baby's rows, each in the file of the month whose extract would hold it.
//!
//! What is not known at a month's end is left empty there and comes complete in the month in
//! which it became known. What happened after data end is not written.

mod running;
mod serum;

use std::fmt::Write;

use super::dice::Dice;
use super::error::InventError;
use super::history::{ChartedGestation, Defect, History, Screen};
use super::month_files::{MonthFiles, Table};
use super::world::{ROWS_PER_TABLE, World};

/// Writes the rows of babies.
pub(crate) struct Extract<'a> {
    world: &'a World,
    files: MonthFiles<'a>,
    line: String,
}

impl<'a> Extract<'a> {
    /// Rows into files.
    pub(crate) fn new(world: &'a World, files: MonthFiles<'a>) -> Extract<'a> {
        Extract {
            world,
            files,
            line: String::new(),
        }
    }

    /// The files themselves.
    pub(crate) fn files(&mut self) -> &mut MonthFiles<'a> {
        &mut self.files
    }

    /// Writes all rows of one baby.
    pub(crate) fn write(&mut self, history: &History, dice: &mut Dice) -> Result<(), InventError> {
        self.birth(history, dice)?;
        for (place, screen) in history.screens.iter().enumerate() {
            self.screen(history, place, screen, dice)?;
        }
        for (place, specimen) in history.specimens.iter().enumerate() {
            self.specimen(history, place, specimen, dice)?;
        }
        for (place, episode) in history.episodes.iter().enumerate() {
            self.episode(history, place, episode, dice)?;
        }
        for (place, stay) in history.stays.iter().enumerate() {
            self.stay(history, place, stay, dice)?;
        }
        for (place, exchange) in history.exchanges.iter().enumerate() {
            self.start('X', history, place);
            let calendar = &self.world.calendar;
            calendar.write_minute(&mut self.line, exchange.performed_s);
            let _ = writeln!(self.line, ",{}", self.unit_name(exchange.unit));
            let month = calendar.month_of(exchange.performed_s);
            self.put(month, Table::Exchanges, dice)?;
        }
        Ok(())
    }

    fn birth(&mut self, history: &History, dice: &mut Dice) -> Result<(), InventError> {
        let birth = &history.birth;
        let world = self.world;
        let line = &mut self.line;
        line.clear();
        world.ids.babies.write(line, 'B', birth.number);
        line.push(',');
        world.ids.babies.write(line, 'W', birth.mother);
        line.push(',');
        if birth.day_only {
            world.calendar.write_day(line, birth.born_s);
        } else {
            world.calendar.write_minute(line, birth.born_s);
        }
        let _ = match birth.gestation {
            ChartedGestation::Days(days) => write!(line, ",{}+{}", days / 7, days % 7),
            ChartedGestation::Weeks(weeks) => write!(line, ",{weeks}"),
            ChartedGestation::Missing => write!(line, ","),
        };
        let _ = writeln!(
            line,
            ",{},{},{},{},{},{},{},{},{}",
            birth.weight_g,
            if birth.boy { "M" } else { "F" },
            birth.plurality,
            birth.birth_order,
            world.scenario.units[birth.unit].name,
            birth.feeding,
            birth.risk_factors.join(";"),
            birth.skin_tone,
            birth.ethnicity,
        );
        let month = world.calendar.month_of(birth.born_s);
        self.put(month, Table::Births, dice)
    }

    fn screen(&mut self, history: &History, place: usize, screen: &Screen, dice: &mut Dice) -> Result<(), InventError> {
        let world = self.world;
        self.start('S', history, place);
        world.calendar.write_second(&mut self.line, screen.measured_s);
        let (value, unit_of_measure) = match screen.defect {
            Defect::None => (screen.value_umol_l, "umol/L"),
            Defect::UnitMissing => (screen.value_umol_l, ""),
            Defect::WrongUnit => (screen.value_umol_l, "mg/dL"),
            Defect::Implausible => (self.implausible(screen.value_umol_l, 1_000_000), "umol/L"),
        };
        let bound = if screen.above_range { ">" } else { "" };
        let _ = writeln!(
            self.line,
            ",{bound}{value},{unit_of_measure},{},{},M{:02},N{:03},{},{},{}",
            if screen.on_sternum { "sternum" } else { "forehead" },
            screen.readings,
            screen.meter + 1,
            screen.operator + 1,
            if screen.typed { "typed" } else { "scanned" },
            screen.setting,
            self.unit_name(screen.unit),
        );
        let month = world.calendar.month_of(screen.measured_s);
        self.put(month, Table::Screens, dice)
    }

    /// Begins a line with the row's and the baby's identifier.
    fn start(&mut self, letter: char, history: &History, place: usize) {
        let number = history.birth.number;
        let row = number * ROWS_PER_TABLE as u64 + place as u64;
        self.line.clear();
        self.world.ids.rows.write(&mut self.line, letter, row);
        self.line.push(',');
        self.world.ids.babies.write(&mut self.line, 'B', number);
        self.line.push(',');
    }

    fn unit_name(&self, unit: usize) -> &'a str {
        &self.world.scenario.units[unit].name
    }

    /// A value that no baby has: the keyed one with noughts too many.
    fn implausible(&self, value: i64, micro_each: i64) -> i64 {
        let highest = self.world.rules.plausible_micro_umol_l.1;
        let mut value = value.max(1);
        while value * micro_each <= highest {
            value *= 10;
        }
        value
    }

    /// Puts the line into a month's file, now and then twice; nothing after data end.
    fn put(&mut self, month: Option<usize>, table: Table, dice: &mut Dice) -> Result<(), InventError> {
        let twice = dice.chance(self.world.scenario.records.duplicate);
        let Some(month) = month else {
            return Ok(());
        };
        for _ in 0..1 + usize::from(twice) {
            self.files.append(month, table, &self.line)?;
        }
        Ok(())
    }
}
