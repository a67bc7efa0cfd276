//! Going home, moving to another unit, leaving the network, dying.

use super::agenda::{Purpose, Task};
use super::care::{Care, Place};
use super::clock::minute;
use super::history::{Disposition, Source};

const HOUR_S: i64 = 3600;

impl Care<'_> {
    /// Plans how the birth stay goes and ends.
    pub(crate) fn plan_stay(&mut self) {
        let numbers = &self.world.scenario.stay;
        let preterm = self.is_preterm();
        let ready_s = self.born_s() + self.stay_s();
        let home_s = self.in_the_daytime(ready_s);
        self.agenda.plan(home_s, Task::GoHome);
        if self.gestation_d >= self.world.scenario.screening.habit_from_weeks * 7 {
            let before_h = self.world.scenario.screening.before_going_home_h;
            let last_s = home_s - self.dice.span_s(before_h);
            self.agenda.plan(last_s, Task::LastScreen);
        }
        let [moved, out, died] = if preterm {
            [numbers.moved_preterm, numbers.out_preterm, numbers.died_preterm]
        } else {
            [numbers.moved, numbers.out, numbers.died]
        };
        if self.dice.chance(moved) {
            let moved_s = self.born_s() + self.dice.span_s(numbers.moved_age_h);
            self.agenda.plan(moved_s, Task::Move);
        }
        for (chance, task) in [(out, Task::LeaveNetwork), (died, Task::Die)] {
            if self.dice.chance(chance) {
                let end_s = self.born_s() + self.dice.span_s(numbers.end_age_h);
                self.agenda.plan(end_s, task);
            }
        }
    }

    fn stay_s(&mut self) -> i64 {
        let numbers = &self.world.scenario.stay;
        if self.is_preterm() {
            let weeks = self.dice.between(numbers.home_at_weeks) - self.gestation_d as f64 / 7.0;
            let days = (weeks * 7.0).clamp(numbers.late_preterm_h[1] / 24.0, numbers.longest_d);
            return (days * 24.0) as i64 * HOUR_S;
        }
        let hours = if self.gestation_d < numbers.late_preterm_below_weeks * 7 {
            numbers.late_preterm_h
        } else if self.dice.chance(numbers.early_chance) {
            numbers.early_h
        } else if self.dice.chance(numbers.long_chance) {
            numbers.long_h
        } else {
            numbers.usual_h
        };
        self.dice.span_s(hours)
    }

    /// The same moment, or the next one in the hours in which babies go home.
    fn in_the_daytime(&mut self, at_s: i64) -> i64 {
        let [from, until] = self.world.scenario.stay.goes_home_hours;
        let hour = self.world.calendar.hour(at_s);
        if (from..until).contains(&hour) {
            at_s
        } else {
            let wait_h = (from - hour).rem_euclid(24) as f64;
            at_s + self.dice.span_s([wait_h, wait_h + 4.0])
        }
    }

    /// Goes home, unless something is still to be done.
    pub(crate) fn go_home(&mut self, at_s: i64) {
        if self.place != Place::Ward {
            return;
        }
        let scenario = &self.world.scenario;
        let rebound = self.agenda.any(|task| matches!(task, Task::Draw(Purpose::Rebound, _)));
        let repeat = self.agenda.any(|task| matches!(task, Task::Repeat { .. }));
        let kept = self.light.is_some()
            || self.agenda.any(|task| *task == Task::StartLight)
            || (self.blood_on_its_way() && self.dice.chance(scenario.referral.held_for_blood))
            || (rebound && self.dice.chance(scenario.stay.kept_for_rebound))
            || (repeat && self.dice.chance(scenario.stay.kept_for_repeat));
        if kept {
            let later_s = at_s + self.dice.span_s(scenario.stay.put_off_h);
            let later_s = self.in_the_daytime(later_s);
            self.agenda.plan(later_s, Task::GoHome);
            return;
        }
        self.end_stay(at_s, Disposition::Home);
        self.place = Place::Home;
        self.agenda
            .drop(|task| matches!(task, Task::Move | Task::LeaveNetwork | Task::Die));
        if !self.been_home {
            self.been_home = true;
            self.plan_visits(at_s);
            self.plan_coming_back(at_s);
        }
    }

    fn plan_visits(&mut self, at_s: i64) {
        let screening = &self.world.scenario.screening;
        if self.dice.chance(screening.follow_up_chance) {
            let visit_s = at_s + self.dice.span_s(screening.follow_up_after_h);
            let visit_s = self.in_the_daytime(visit_s);
            self.agenda.plan(visit_s, Task::SingleScreen);
        }
        if self.missed && self.dice.chance(self.world.scenario.referral.missed_then_home_review) {
            let visit_s = at_s + self.dice.span_s(screening.again_after_h);
            self.agenda.plan(visit_s, Task::SingleScreen);
        }
    }

    /// Closes the running stay with its diagnoses.
    pub(crate) fn end_stay(&mut self, at_s: i64, disposition: Disposition) {
        let numbers = &self.world.scenario.stay;
        let preterm = self.is_preterm();
        let treated = self.courses > 0;
        if let Some(stay) = self.history.stays.last_mut() {
            stay.discharged_s = Some(minute(at_s).max(stay.admitted_s + 60));
            stay.disposition = disposition;
            if stay.diagnoses.is_empty() && !self.been_home {
                let born = if preterm {
                    &numbers.born_preterm
                } else {
                    &numbers.born_well
                };
                stay.diagnoses.push_str(born);
            }
            if stay.diagnoses.is_empty() {
                stay.diagnoses.push_str(&numbers.jaundice_second);
            } else if treated && !stay.diagnoses.contains(&numbers.jaundice_second) {
                stay.diagnoses.push(';');
                stay.diagnoses.push_str(&numbers.jaundice_second);
            }
        }
    }

    /// Leaves for another unit of the network.
    pub(crate) fn move_on(&mut self, at_s: i64) {
        if self.place != Place::Ward || self.been_home {
            return;
        }
        self.pause_light(at_s);
        self.end_stay(at_s, Disposition::Transfer);
        self.place = Place::OnTheWay;
        let arrive_s = at_s + self.dice.span_s(self.world.scenario.stay.travel_h);
        self.agenda.plan(arrive_s, Task::Arrive);
    }

    /// Arrives there.
    pub(crate) fn arrive(&mut self, at_s: i64) {
        self.unit = self.world.network.other_unit(self.unit);
        self.admit(minute(at_s), Source::Transfer);
        if self.light.is_some() {
            self.agenda.plan(at_s + HOUR_S / 2, Task::ResumeLight);
        }
    }

    /// Leaves the network or dies; nothing is charted afterwards.
    pub(crate) fn leave(&mut self, at_s: i64, disposition: Disposition) {
        if self.place == Place::Ward && !self.been_home {
            self.lights_out(at_s);
            self.end_stay(at_s, disposition);
            self.place = Place::Gone;
        }
    }
}
