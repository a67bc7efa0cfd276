//! How the charts are kept: rows that are defective, and facts that were never charted.

use super::care::Care;
use super::history::{Defect, Disposition, LabResult, Source};

impl Care<'_> {
    /// Spoils a few rows of the finished history.
    pub(crate) fn keep_charts(&mut self) {
        let numbers = &self.world.scenario.records;
        let calendar = &self.world.calendar;
        let unit_missing = numbers.unit_missing;
        let either = unit_missing + numbers.implausible;
        let defect_by = |chance: f64| {
            if chance < unit_missing {
                Defect::UnitMissing
            } else if chance < either {
                Defect::Implausible
            } else {
                Defect::None
            }
        };
        for screen in &mut self.history.screens {
            let chance = self.dice.share();
            // A bound is kept sound: what is implausible above a limit is open to argument.
            if !screen.above_range {
                screen.defect = defect_by(chance);
            }
        }
        self.label_batch_wrongly();
        for specimen in &mut self.history.specimens {
            let chance = self.dice.share();
            // Only results with a single version are spoiled, so that the row set aside is all
            // there is of the specimen.
            let single = matches!(specimen.result, LabResult::Number { corrected: None, .. })
                && calendar.month_of(specimen.collected_s) == calendar.month_of(specimen.resulted_s);
            if single {
                specimen.defect = defect_by(chance);
            }
        }
        for episode in &mut self.history.episodes {
            if self.dice.chance(numbers.stop_missing) {
                episode.stopped_s = None;
            }
        }
        for stay in &mut self.history.stays {
            let charted = stay.disposition == Disposition::Home;
            if charted && self.dice.chance(numbers.disposition_missing) {
                stay.disposition = Disposition::Empty;
            }
        }
        if self.dice.chance(numbers.birth_stay_missing) {
            self.history.stays.retain(|stay| stay.source != Source::Birth);
        }
    }

    fn label_batch_wrongly(&mut self) {
        let batch = &self.world.scenario.wrong_unit;
        let calendar = &self.world.calendar;
        if batch.month >= calendar.months() {
            return;
        }
        let start_s = calendar.start_s(batch.month);
        let day = |days: f64| start_s + (days * 86_400.0) as i64;
        let rules = &self.world.rules;
        for screen in &mut self.history.screens {
            let in_batch =
                screen.unit == batch.unit && (day(batch.days[0])..day(batch.days[1])).contains(&screen.measured_s);
            // A low value would still look plausible; only those that cannot be are mislabelled,
            // because nobody who loads the others could find out.
            let as_read = screen.value_umol_l * rules.micro_umol_l_per_mg_dl;
            if in_batch && !screen.above_range && as_read > rules.plausible_micro_umol_l.1 {
                screen.defect = Defect::WrongUnit;
            }
        }
    }
}
