//! Phototherapy: lamps on after a serum above the line, checks, lamps out, the check after.

use super::agenda::{Purpose, Task};
use super::care::{Care, Place};
use super::clock::minute;
use super::history::{Episode, Exchange, Source};
use super::world::ROWS_PER_TABLE;

impl Care<'_> {
    /// A serum was above the line: lamps soon, late or never.
    pub(crate) fn plan_light(&mut self, at_s: i64) {
        let numbers = &self.world.scenario.treatment;
        if self.agenda.any(|task| *task == Task::StartLight) {
            return;
        }
        let chance = self.dice.share();
        let after_h = if chance < numbers.started {
            numbers.start_after_h
        } else if chance < numbers.started + numbers.start_late {
            numbers.start_late_after_h
        } else {
            return;
        };
        let start_s = at_s + self.dice.early_span_s(after_h);
        self.agenda.plan(start_s, Task::StartLight);
    }

    /// Lamps on; a baby at home is admitted for it.
    pub(crate) fn start_light(&mut self, at_s: i64) {
        let numbers = &self.world.scenario.treatment;
        if self.light.is_some() || self.history.episodes.len() >= ROWS_PER_TABLE {
            return;
        }
        if self.place == Place::Home {
            self.admit(minute(at_s), Source::Home);
            self.plan_end_of_later_stay(at_s, self.world.scenario.back.stay_h);
        }
        self.courses += 1;
        let course = self.courses;
        self.light = Some(course);
        self.level.set_light(true, at_s);
        self.open_episode(at_s);
        self.agenda
            .drop(|task| matches!(task, Task::Repeat { .. } | Task::Draw(Purpose::Rebound, _)));
        let longest_s = self.dice.span_s(numbers.longest_h);
        self.agenda.plan(at_s + longest_s, Task::StopLight(course));
        let chance = self.dice.share();
        let on_time = numbers.first_on_time;
        let early = on_time + numbers.first_early;
        let check_h = if chance < on_time {
            numbers.first_on_time_h
        } else if chance < early {
            numbers.first_early_h
        } else if chance < early + numbers.first_late {
            numbers.first_late_h
        } else {
            numbers.next_late_h
        };
        let check_s = at_s + self.dice.span_s(check_h);
        self.agenda.plan(check_s, Task::Draw(Purpose::Check(course), 0));
    }

    fn open_episode(&mut self, at_s: i64) {
        self.history.episodes.push(Episode {
            started_s: minute(at_s),
            stopped_s: None,
            multiple: self.dice.chance(self.world.scenario.treatment.multiple),
            unit: self.unit,
        });
    }

    /// A check in a course: lamps out when low enough, else the next check.
    pub(crate) fn judge_check(&mut self, at_s: i64, collected_s: i64, micro_umol_l: i64, line: i64, course: u32) {
        let numbers = &self.world.scenario.treatment;
        let below_umol_l = (line - micro_umol_l) as f64 / 1e6;
        let started_s = self.history.episodes.last().map_or(at_s, |episode| episode.started_s);
        let long_enough = (at_s - started_s) as f64 >= numbers.least_h * 3600.0;
        if below_umol_l >= numbers.stop_below_line_umol_l && long_enough {
            self.agenda
                .drop(|task| matches!(task, Task::Draw(Purpose::Check(_), _)));
            let stop_s = at_s + self.dice.span_s(numbers.stop_after_h);
            self.agenda.plan(stop_s, Task::StopLight(course));
        } else {
            self.plan_next_check(collected_s, course);
        }
    }

    /// The next check in a course, unless one is planned.
    pub(crate) fn plan_next_check(&mut self, from_s: i64, course: u32) {
        let numbers = &self.world.scenario.treatment;
        let wanted = Purpose::Check(course);
        let planned = self
            .agenda
            .any(|task| matches!(task, Task::Draw(purpose, _) | Task::Result(_, purpose) if *purpose == wanted));
        if planned {
            return;
        }
        let hours = if self.dice.chance(numbers.next_on_time) {
            numbers.next_on_time_h
        } else {
            numbers.next_late_h
        };
        let next_s = from_s + self.dice.span_s(hours);
        self.agenda.plan(next_s, Task::Draw(wanted, 0));
    }

    /// Lamps out, if that course still runs, and the check after it.
    pub(crate) fn stop_light(&mut self, at_s: i64, course: u32) {
        if self.light != Some(course) {
            return;
        }
        self.lights_out(at_s);
        let numbers = &self.world.scenario.treatment;
        let chance = self.dice.share();
        let weak = &self.world.scenario.weak_rebound;
        let on_time = if self.unit == weak.unit {
            weak.on_time
        } else {
            numbers.rebound_on_time
        };
        let early = on_time + numbers.rebound_early;
        let check_h = if chance < on_time {
            numbers.rebound_on_time_h
        } else if chance < early {
            numbers.rebound_early_h
        } else if chance < early + numbers.rebound_late {
            numbers.rebound_late_h
        } else {
            return;
        };
        let check_s = at_s + self.dice.span_s(check_h);
        self.agenda.plan(check_s, Task::Draw(Purpose::Rebound, 0));
    }

    /// Ends the running episode.
    pub(crate) fn lights_out(&mut self, at_s: i64) {
        if self.light.take().is_none() {
            return;
        }
        self.level.set_light(false, at_s);
        self.light_out_s = Some(at_s);
        if let Some(episode) = self.history.episodes.last_mut() {
            episode.stopped_s.get_or_insert(minute(at_s));
        }
    }

    /// Lamps off for a journey; the course goes on.
    pub(crate) fn pause_light(&mut self, at_s: i64) {
        if self.light.is_some()
            && let Some(episode) = self.history.episodes.last_mut()
        {
            episode.stopped_s = Some(minute(at_s));
        }
    }

    /// Lamps on again after a journey, in the new unit.
    pub(crate) fn resume_light(&mut self, at_s: i64) {
        if self.light.is_some() && self.history.episodes.len() < ROWS_PER_TABLE {
            self.open_episode(at_s);
        }
    }

    /// Plans an exchange when a serum lies far above the line.
    pub(crate) fn exchange_if_needed(&mut self, at_s: i64, micro_umol_l: i64, line: i64) {
        let numbers = &self.world.scenario.treatment;
        let above_umol_l = (micro_umol_l - line) as f64 / 1e6;
        let needed = above_umol_l >= numbers.exchange_above_line_umol_l
            && self.history.exchanges.is_empty()
            && self.place == Place::Ward;
        if needed && self.dice.chance(numbers.exchange_chance) {
            let exchange_s = at_s + self.dice.span_s(numbers.exchange_after_h);
            self.agenda.plan(exchange_s, Task::Exchange);
        }
    }

    /// An exchange transfusion.
    pub(crate) fn exchange(&mut self, at_s: i64) {
        if self.place == Place::Ward && self.history.exchanges.is_empty() {
            self.history.exchanges.push(Exchange {
                performed_s: minute(at_s),
                unit: self.unit,
            });
        }
    }
}
