//! Specimens: drawing, the laboratory, and what the ward does about a result.

use super::agenda::{Purpose, Task};
use super::care::{Care, Place};
use super::clock::minute;
use super::history::{Defect, LabResult, LabValue, Specimen};
use super::world::ROWS_PER_TABLE;

impl Care<'_> {
    /// Plans blood by habit for babies the meter is not meant for, and cord blood.
    pub(crate) fn plan_blood_by_habit(&mut self) {
        let scenario = &self.world.scenario;
        let risk_factors = &self.history.birth.risk_factors;
        let haemolysis = risk_factors.contains(&scenario.laboratory.cord_risk_factor);
        if haemolysis && self.dice.chance(scenario.laboratory.cord_for_haemolysis) {
            self.send_cord_blood();
        }
        if self.gestation_d < scenario.screening.habit_from_weeks * 7 {
            let first_s = self.born_s() + self.dice.span_s(scenario.preterm.first_blood_h);
            let purpose = Purpose::Habit(scenario.preterm.times);
            self.agenda.plan(first_s, Task::Draw(purpose, 0));
        }
    }

    /// Draws where the baby is; at home only some come for it.
    pub(crate) fn draw_if_possible(&mut self, at_s: i64, purpose: Purpose, attempt: u32) {
        let stale = match purpose {
            Purpose::Check(course) => self.light != Some(course),
            Purpose::Habit(_) => self.been_home,
            _ => false,
        };
        let comes = self.place != Place::Home || self.dice.chance(self.world.scenario.referral.drawn_after_going_home);
        if stale {
        } else if comes {
            self.draw(at_s, purpose, attempt);
        } else if purpose == Purpose::Referral {
            self.missed = true;
        }
    }

    /// Draws a specimen and plans its result or the next attempt.
    pub(crate) fn draw(&mut self, at_s: i64, purpose: Purpose, attempt: u32) {
        let numbers = &self.world.scenario.laboratory;
        if self.history.specimens.len() >= ROWS_PER_TABLE {
            return;
        }
        let collected_s = minute(at_s);
        let chance = self.dice.share();
        let failed = if chance < numbers.haemolysed {
            Some(LabResult::Haemolysed)
        } else if chance < numbers.haemolysed + numbers.cancelled {
            Some(LabResult::Cancelled)
        } else {
            None
        };
        let has_failed = failed.is_some();
        let resulted_s = self.result_time(collected_s);
        let result = match failed {
            Some(result) => result,
            None => self.analyse(collected_s, resulted_s),
        };
        self.send(collected_s, resulted_s, result);
        if has_failed {
            if self.dice.chance(numbers.redrawn) {
                let again_s = at_s + self.dice.span_s(numbers.redrawn_after_h);
                self.agenda.plan(again_s, Task::Draw(purpose, attempt + 1));
            } else if let Purpose::Check(course) = purpose {
                self.plan_next_check(at_s, course);
            }
            return;
        }
        self.last_test_s = Some(collected_s);
        let specimen = self.history.specimens.len() - 1;
        self.agenda.plan(resulted_s, Task::Result(specimen, purpose));
        if self.dice.chance(numbers.direct_too) {
            self.send_direct(collected_s, resulted_s);
        }
    }

    /// The ward reads a result as it first came.
    pub(crate) fn read_result(&mut self, at_s: i64, specimen: usize, purpose: Purpose) {
        let Specimen {
            collected_s,
            result: LabResult::Number { first, .. },
            ..
        } = self.history.specimens[specimen]
        else {
            return;
        };
        let micro = first.micro_umol_l(self.world.rules.micro_umol_l_per_mg_dl);
        if let Purpose::Habit(left) = purpose {
            self.plan_next_habit(at_s, left);
        }
        let Some(line) = self.line_at(collected_s) else {
            return;
        };
        self.exchange_if_needed(at_s, micro, line);
        if let Some(course) = self.light {
            self.judge_check(at_s, collected_s, micro, line, course);
        } else if self.world.rules.line.is_above(micro, line) {
            self.plan_light(at_s);
        } else {
            self.repeat_if_near_line(collected_s, micro, true);
        }
    }

    fn plan_next_habit(&mut self, at_s: i64, left: u32) {
        if left > 1 {
            let every_h = self.world.scenario.preterm.blood_every_h;
            let next_s = at_s + self.dice.span_s(every_h);
            self.agenda.plan(next_s, Task::Draw(Purpose::Habit(left - 1), 0));
        }
    }

    fn result_time(&mut self, collected_s: i64) -> i64 {
        let numbers = &self.world.scenario.laboratory;
        let mut hours = self.dice.early_in(numbers.turnaround_h);
        if self.is_night(collected_s) {
            hours *= numbers.night_turnaround;
        }
        minute(collected_s + (hours * 3600.0) as i64)
    }

    fn analyse(&mut self, collected_s: i64, resulted_s: i64) -> LabResult {
        let numbers = &self.world.scenario.laboratory;
        let late = &self.world.scenario.late_corrections;
        let umol_l = self.level.at(collected_s) + numbers.error_umol_l * self.dice.normal();
        let first = self.written(umol_l);
        let chance = self.dice.share();
        let corrected = if chance < late.share {
            Some((late.by_umol_l, self.dice.span_s(late.after_h)))
        } else if chance < late.share + numbers.corrected {
            let later_s = self.dice.early_span_s(numbers.corrected_after_h);
            Some((numbers.corrected_by_umol_l, later_s))
        } else {
            None
        };
        let corrected = corrected.map(|(by_umol_l, later_s)| {
            let by = self.dice.between(by_umol_l);
            (minute(resulted_s + later_s), self.written(umol_l + by))
        });
        LabResult::Number { first, corrected }
    }

    /// A value as this unit's laboratory writes it.
    fn written(&self, umol_l: f64) -> LabValue {
        let umol_l = umol_l.max(1.0);
        if self.world.scenario.units[self.unit].lab_unit == "mg/dL" {
            let micro_per_mg_dl = self.world.rules.micro_umol_l_per_mg_dl as f64;
            LabValue::TenthsMgDl((umol_l * 1e7 / micro_per_mg_dl).round() as i64)
        } else {
            LabValue::UmolL(umol_l.round() as i64)
        }
    }

    fn send(&mut self, collected_s: i64, resulted_s: i64, result: LabResult) {
        let unit = &self.world.scenario.units[self.unit];
        self.history.specimens.push(Specimen {
            collected_s,
            resulted_s,
            result,
            analyte: unit.analyte.clone(),
            specimen: unit.specimen.clone(),
            unit: self.unit,
            defect: Defect::None,
        });
    }

    fn send_direct(&mut self, collected_s: i64, resulted_s: i64) {
        let numbers = &self.world.scenario.laboratory;
        if self.history.specimens.len() < ROWS_PER_TABLE {
            let first = self.written(self.level.at(collected_s) * numbers.direct_part);
            let result = LabResult::Number { first, corrected: None };
            self.send(collected_s, resulted_s, result);
            if let Some(specimen) = self.history.specimens.last_mut() {
                specimen.analyte = numbers.direct_word.clone();
            }
        }
    }

    fn send_cord_blood(&mut self) {
        let born_s = self.born_s();
        let resulted_s = self.result_time(born_s);
        let result = self.analyse(born_s, resulted_s);
        self.send(born_s, resulted_s, result);
        if let Some(specimen) = self.history.specimens.last_mut() {
            specimen.specimen = self.world.scenario.laboratory.cord_word.clone();
        }
    }
}
