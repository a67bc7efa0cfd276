//! Readings of the skin meter: when they are taken, what they show, what follows.

use super::agenda::{Purpose, Task};
use super::care::{Care, Place};
use super::history::{Defect, Screen};
use super::world::ROWS_PER_TABLE;

impl Care<'_> {
    /// Plans the readings of the birth stay that do not depend on what they show.
    pub(crate) fn plan_screens(&mut self) {
        let numbers = &self.world.scenario.screening;
        if self.gestation_d < numbers.habit_from_weeks * 7 {
            return;
        }
        let age_h = if self.dice.chance(numbers.early_chance) {
            numbers.early_age_h
        } else {
            numbers.first_age_h
        };
        let first_s = self.born_s() + self.dice.span_s(age_h);
        self.agenda.plan(first_s, Task::HabitScreen);
        if self.dice.chance(numbers.concern_chance) {
            let concern_s = self.born_s() + self.dice.span_s(numbers.concern_age_h);
            self.agenda.plan(concern_s, Task::SingleScreen);
        }
    }

    /// A reading by habit, in the ward only, and the next one.
    pub(crate) fn screen_by_habit(&mut self, at_s: i64) {
        let numbers = &self.world.scenario.screening;
        if self.place != Place::Ward || self.been_home {
            return;
        }
        if !self.dice.chance(numbers.skipped) {
            self.screen(at_s);
        }
        let next_s = at_s + self.dice.span_s(numbers.again_after_h);
        self.agenda.plan(next_s, Task::HabitScreen);
    }

    /// The reading before going home, unless one was taken shortly before.
    pub(crate) fn screen_before_going_home(&mut self, at_s: i64) {
        let within_h = self.world.scenario.screening.before_going_home_unless_within_h;
        let within_s = (within_h * 3600.0) as i64;
        let recent = self.last_test_s.is_some_and(|test| at_s - test < within_s);
        if self.place == Place::Ward && !recent {
            self.screen(at_s);
        }
    }

    /// Takes a reading and does what it calls for.
    pub(crate) fn screen(&mut self, at_s: i64) {
        let numbers = &self.world.scenario.screening;
        let shadow = self.in_light_shadow(at_s);
        if shadow && !self.dice.chance(numbers.during_light_chance) {
            return;
        }
        let Some(screen) = self.take_reading(at_s) else {
            return;
        };
        let micro = screen.value_umol_l * 1_000_000 + i64::from(screen.above_range);
        let above_range = screen.above_range;
        let rules = &self.world.rules.referral;
        let age_s = self.age_s(at_s);
        let line = self.line_at(at_s);
        if self.is_preterm() || age_s <= rules.age_above_s || shadow {
            let high = rules.is_due(micro, above_range, None);
            if high && self.light.is_none() && self.dice.chance(numbers.unsuitable_high_drawn) {
                self.plan_prompt_draw(at_s);
            }
        } else if rules.is_due(micro, above_range, line) {
            self.refer(at_s);
        } else if !above_range {
            self.repeat_if_near_line(at_s, micro, false);
        }
    }

    fn take_reading(&mut self, at_s: i64) -> Option<Screen> {
        if self.history.screens.len() >= ROWS_PER_TABLE {
            return None;
        }
        let numbers = &self.world.scenario.meters;
        let month = self.world.calendar.month_of(at_s).unwrap_or(0);
        let meter = self.world.network.meter(self.unit, month, &mut self.dice);
        let error = numbers.error_umol_l * self.dice.normal();
        let shown = self.level.at(at_s) + error + self.meter_bias(meter, at_s);
        let value_umol_l = (shown.round() as i64).max(numbers.lowest_umol_l);
        let above_range = value_umol_l > numbers.top_of_range_umol_l;
        let at_home = self.place == Place::Home;
        let home_visit = at_home && self.dice.chance(self.world.scenario.screening.at_home);
        let screen = Screen {
            measured_s: at_s,
            value_umol_l: value_umol_l.min(numbers.top_of_range_umol_l),
            above_range,
            on_sternum: self.dice.chance(numbers.sternum),
            readings: if self.dice.chance(numbers.single_reading) {
                1
            } else {
                numbers.usual_readings
            },
            meter,
            operator: self.world.network.operator(self.unit, &mut self.dice),
            typed: self.dice.chance(numbers.typed),
            setting: match (at_home, home_visit) {
                (false, _) => "inpatient",
                (true, false) => "outpatient",
                (true, true) => "home",
            },
            unit: self.unit,
            defect: Defect::None,
        };
        self.last_test_s = Some(at_s);
        self.history.screens.push(screen.clone());
        Some(screen)
    }

    fn meter_bias(&self, meter: usize, at_s: i64) -> f64 {
        let numbers = &self.world.scenario.meters;
        let skin = match self.history.birth.skin_tone.as_str() {
            "light" => numbers.light_bias_umol_l,
            "medium" => numbers.medium_bias_umol_l,
            "dark" => numbers.dark_bias_umol_l,
            _ => 0.0,
        };
        let drift = &self.world.scenario.drift;
        let month = self.world.calendar.month_of(at_s).unwrap_or(0);
        let drifts = meter == self.world.network.first_meter(drift.unit);
        if drifts && month >= drift.from_month {
            skin + drift.per_month_umol_l * (month + 1 - drift.from_month) as f64
        } else {
            skin
        }
    }

    /// Blood soon after, whatever the rules say of the screen.
    fn plan_prompt_draw(&mut self, at_s: i64) {
        if !self.blood_on_its_way() {
            let after_h = self.world.scenario.laboratory.redrawn_after_h;
            let draw_s = at_s + self.dice.span_s(after_h);
            self.agenda.plan(draw_s, Task::Draw(Purpose::Referral, 0));
        }
    }
}
