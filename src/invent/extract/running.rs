//! Rows of what lasts: phototherapy and stays, open at a month's end and complete later.

use std::fmt::Write;

use super::Extract;
use crate::invent::dice::Dice;
use crate::invent::error::InventError;
use crate::invent::history::{Episode, History, Stay};
use crate::invent::month_files::Table;

impl Extract<'_> {
    /// Writes an episode, in every month at whose end it runs and in the one it ends in.
    pub(super) fn episode(
        &mut self,
        history: &History,
        place: usize,
        episode: &Episode,
        dice: &mut Dice,
    ) -> Result<(), InventError> {
        let calendar = &self.world.calendar;
        let Some(started) = calendar.month_of(episode.started_s) else {
            return Ok(());
        };
        let stopped = episode.stopped_s.and_then(|at_s| calendar.month_of(at_s));
        // Without a charted stop it is known to run while the baby is in.
        let left = history.stays.iter().find_map(|stay| {
            let out_s = stay.discharged_s.unwrap_or(i64::MAX);
            let within = (stay.admitted_s..out_s).contains(&episode.started_s);
            within.then(|| calendar.month_of(out_s).unwrap_or(calendar.months()))
        });
        let runs_until = stopped.or(left).unwrap_or(started);
        for month in started..calendar.months().min(runs_until + 1) {
            let complete = stopped == Some(month);
            if !complete && month > started && month >= runs_until {
                continue;
            }
            self.start('P', history, place);
            let calendar = &self.world.calendar;
            calendar.write_minute(&mut self.line, episode.started_s);
            self.line.push(',');
            if let Some(stopped_s) = episode.stopped_s.filter(|_| complete) {
                calendar.write_minute(&mut self.line, stopped_s);
            }
            let kind = if episode.multiple { "multiple" } else { "single" };
            let unit = self.unit_name(episode.unit);
            let _ = writeln!(self.line, ",{kind},inpatient,{unit}");
            self.put(Some(month), Table::Phototherapy, dice)?;
        }
        Ok(())
    }

    /// Writes a stay, in every month at whose end it runs and in the one it ends in.
    pub(super) fn stay(
        &mut self,
        history: &History,
        place: usize,
        stay: &Stay,
        dice: &mut Dice,
    ) -> Result<(), InventError> {
        let calendar = &self.world.calendar;
        let Some(admitted) = calendar.month_of(stay.admitted_s) else {
            return Ok(());
        };
        let discharged = stay.discharged_s.and_then(|at_s| calendar.month_of(at_s));
        let last = discharged.unwrap_or(calendar.months() - 1);
        for month in admitted..=last {
            self.start('H', history, place);
            let calendar = &self.world.calendar;
            self.line.push_str(self.unit_name(stay.unit));
            self.line.push(',');
            calendar.write_minute(&mut self.line, stay.admitted_s);
            self.line.push(',');
            let source = stay.source.word();
            match stay.discharged_s.filter(|_| discharged == Some(month)) {
                Some(discharged_s) => {
                    calendar.write_minute(&mut self.line, discharged_s);
                    let disposition = stay.disposition.word();
                    let diagnoses = &stay.diagnoses;
                    let _ = writeln!(self.line, ",{source},{disposition},{diagnoses}");
                }
                None => {
                    let _ = writeln!(self.line, ",{source},,");
                }
            }
            self.put(Some(month), Table::Stays, dice)?;
        }
        Ok(())
    }
}
