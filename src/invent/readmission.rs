//! Coming back: with jaundice, more often after a lapse, and for other reasons.

use super::agenda::{Purpose, Task};
use super::care::{Care, Place};
use super::clock::minute;
use super::history::Source;
use super::scenario::{Range, Weighted};

impl Care<'_> {
    /// Plans whether and when a baby comes back after first going home.
    pub(crate) fn plan_coming_back(&mut self, at_s: i64) {
        let numbers = &self.world.scenario.back;
        let mut jaundice = numbers.jaundice;
        if self.missed {
            jaundice *= numbers.after_missed_referral;
        }
        if self.unrepeated {
            jaundice *= numbers.after_near_line;
        }
        if self.dice.chance(jaundice) {
            let after_h = if self.dice.chance(numbers.late_share) {
                numbers.late_after_h
            } else {
                numbers.after_h
            };
            let back_s = at_s + self.dice.span_s(after_h);
            self.agenda.plan(back_s, Task::ComeBackJaundiced);
        } else if self.dice.chance(numbers.other) {
            let back_s = at_s + self.dice.span_s(numbers.other_after_h);
            self.agenda.plan(back_s, Task::ComeBackOtherwise);
        }
    }

    /// Comes back yellow: the true curve is raised above the line, and blood is drawn.
    pub(crate) fn come_back_jaundiced(&mut self, at_s: i64) {
        let numbers = &self.world.scenario.back;
        if self.place != Place::Home {
            return;
        }
        if let Some(line) = self.line_at(at_s) {
            let above_umol_l = self.dice.early_in(numbers.above_line_umol_l);
            self.level.raise_to(line as f64 / 1e6 + above_umol_l, at_s);
        }
        self.come_back(at_s, &numbers.jaundice_diagnoses, numbers.stay_h);
        let draw_s = at_s + self.dice.span_s(numbers.drawn_after_h);
        self.agenda.plan(draw_s, Task::Draw(Purpose::Admission, 0));
    }

    /// Comes back for another reason.
    pub(crate) fn come_back_otherwise(&mut self, at_s: i64) {
        let numbers = &self.world.scenario.back;
        if self.place == Place::Home {
            self.come_back(at_s, &numbers.other_diagnoses, numbers.other_stay_h);
        }
    }

    fn come_back(&mut self, at_s: i64, diagnoses: &[Weighted], stay_h: Range) {
        self.admit(minute(at_s), Source::Home);
        let word = &self.dice.pick(diagnoses, |item| item.share).word;
        if let Some(stay) = self.history.stays.last_mut() {
            stay.diagnoses.push_str(word);
        }
        self.plan_end_of_later_stay(at_s, stay_h);
    }

    /// Plans the end of a stay after the birth stay.
    pub(crate) fn plan_end_of_later_stay(&mut self, at_s: i64, stay_h: Range) {
        let home_s = at_s + self.dice.span_s(stay_h);
        self.agenda.plan(home_s, Task::GoHome);
    }
}
