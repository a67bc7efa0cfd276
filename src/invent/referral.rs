//! What becomes of a due screen and of a value just below the line.

use super::agenda::{Purpose, Task};
use super::care::{Care, Place};

impl Care<'_> {
    /// Whether blood is planned already, for whatever reason.
    pub(crate) fn blood_on_its_way(&self) -> bool {
        self.agenda.any(|task| {
            matches!(
                task,
                Task::Draw(Purpose::Referral | Purpose::Admission, _)
                    | Task::Result(_, Purpose::Referral | Purpose::Admission)
            )
        })
    }

    /// A screen was due: blood within the window, late, or never.
    pub(crate) fn refer(&mut self, at_s: i64) {
        if self.blood_on_its_way() {
            return;
        }
        let numbers = &self.world.scenario.referral;
        let window_s = self.world.rules.referral.window_s(self.age_s(at_s)) as f64;
        let (delay, lapse) = self.diligence(at_s);
        let chance = self.dice.share();
        let never = numbers.never * lapse;
        let late = never + numbers.late * lapse;
        let draw_s = if chance < never {
            self.missed = true;
            return;
        } else if chance < late {
            at_s + window_s as i64 + self.dice.early_span_s(numbers.late_after_h)
        } else if chance < late + numbers.paired {
            at_s + self.dice.span_s(numbers.paired_h)
        } else {
            let part = self.dice.early_in(numbers.in_window) * delay;
            at_s + (part.min(numbers.in_window[1]) * window_s) as i64
        };
        let in_this_stay = self.history.stays.last().map_or(0, |stay| stay.admitted_s);
        if draw_s < at_s && draw_s > in_this_stay {
            // The blood was drawn just before the reading was charted.
            self.draw(draw_s, Purpose::Referral, 0);
        } else {
            self.agenda.plan(draw_s.max(at_s), Task::Draw(Purpose::Referral, 0));
        }
    }

    /// How much longer things take here and now, and how much more often they are forgotten.
    fn diligence(&self, at_s: i64) -> (f64, f64) {
        let scenario = &self.world.scenario;
        let unit = &scenario.units[self.unit];
        let (mut delay, mut lapse) = (unit.delay, unit.lapse);
        if self.is_night(at_s) && self.place == Place::Ward {
            delay *= scenario.night.delay;
            lapse *= scenario.night.lapse;
        }
        let month = self.world.calendar.month_of(at_s).unwrap_or(0);
        if month >= scenario.improvement.from_month {
            delay *= scenario.improvement.delay;
            lapse *= scenario.improvement.lapse;
        }
        (delay, lapse)
    }

    /// Blood for a fast riser that looks yellow on the first day.
    pub(crate) fn plan_first_day_blood(&mut self) {
        let numbers = &self.world.scenario.bilirubin;
        if self.dice.chance(numbers.fast_riser_seen_chance) {
            let seen_s = self.born_s() + self.dice.span_s(numbers.fast_riser_seen_h);
            self.agenda.plan(seen_s, Task::Draw(Purpose::Referral, 0));
        }
    }

    /// Plans the repeat of a value just below the line, or forgets it.
    pub(crate) fn repeat_if_near_line(&mut self, at_s: i64, micro_umol_l: i64, by_blood: bool) {
        let rule = &self.world.rules.near_line;
        let Some(line) = self.line_at(at_s) else {
            return;
        };
        let near = (0..=rule.gap_micro_umol_l).contains(&(line - micro_umol_l));
        let asked = near
            && self.gestation_d >= rule.gestation_at_least_d
            && self.age_s(at_s) > rule.age_above_s
            && !self.in_light_shadow(at_s);
        if !asked {
            return;
        }
        let numbers = &self.world.scenario.near_line;
        let latest_s = rule.latest_s(self.at_recheck_risk()) as f64;
        let chance = self.dice.share();
        let part = if chance < numbers.on_time {
            self.dice.between(numbers.on_time_part)
        } else if chance < numbers.on_time + numbers.late {
            self.dice.between(numbers.late_part)
        } else {
            self.unrepeated = true;
            return;
        };
        let blood = by_blood && self.dice.chance(numbers.serum_after_serum);
        // One repeat serves all earlier values: the plan for an older one is dropped.
        self.agenda.drop(|task| matches!(task, Task::Repeat { .. }));
        let repeat_s = at_s + (part * latest_s) as i64;
        self.agenda.plan(repeat_s, Task::Repeat { blood });
    }

    /// Repeats, at home mostly too.
    pub(crate) fn repeat(&mut self, at_s: i64, blood: bool) {
        let kept = self.place != Place::Home || self.dice.chance(self.world.scenario.near_line.kept_at_home);
        if !kept {
            self.unrepeated = true;
        } else if blood || self.is_preterm() {
            self.draw_if_possible(at_s, Purpose::NearLine, 0);
        } else {
            self.screen(at_s);
        }
    }
}
