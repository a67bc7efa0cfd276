//! Recheck obligations: what triggers one, and what became of it.

use super::seen::{Seen, SeenSerum};
use super::stays::Leaving;
use super::tally::{Group, Measure, Tally};
use super::{Outcome, reasons, referral};
use crate::invent::World;
use crate::invent::rules::{RecheckWindow, Rules};

const DECIDED: [&str; 4] = ["on_time", "late", "early_only", "none"];

/// Counts all obligations of one baby.
pub(super) fn count(seen: &Seen<'_>, world: &World, tally: &mut Tally) {
    let mut obligations = Obligations { seen, world, tally };
    obligations.near_line();
    obligations.in_courses();
    obligations.first_day();
}

struct Obligations<'a, 'b> {
    seen: &'a Seen<'b>,
    world: &'a World,
    tally: &'a mut Tally,
}

/// One obligation.
struct Obligation {
    measure: Measure,
    trigger_s: i64,
    unit: usize,
    window: RecheckWindow,
    excused: bool,
}

impl Obligations<'_, '_> {
    fn near_line(&mut self) {
        let rules = &self.world.rules;
        let rule = &rules.recheck.near_line;
        let mut triggers: Vec<(i64, i64, usize)> = Vec::new();
        for serum in &self.seen.serum {
            if self.seen.in_course_shadow(serum.at_s, rules) {
                continue;
            }
            match self.no_line_because(serum, |gestation_d, age_s| {
                gestation_d.is_some_and(|days| days < rule.gestation_at_least_d)
                    || age_s.is_some_and(|age_s| age_s <= rule.age_above_s)
            }) {
                Some(reason) => self.leave_out(Measure::NearLine, serum, reason),
                None => triggers.push((serum.at_s, serum.micro_umol_l, serum.unit)),
            }
        }
        for screen in &self.seen.screens {
            let line = self.seen.line_at(screen.at_s, rules);
            let due = rules.referral.is_due(screen.micro_umol_l, screen.above_range, line);
            let paired = self
                .seen
                .serum
                .iter()
                .any(|serum| (serum.at_s - screen.at_s).abs() <= rule.serum_within_s);
            let eligible = referral::ineligible(self.seen, screen, rules).is_none();
            if eligible && !due && !paired && !screen.above_range {
                triggers.push((screen.at_s, screen.micro_umol_l, screen.unit));
            }
        }
        let latest_s = rule.latest_s(self.seen.birth.at_recheck_risk(rule));
        for (trigger_s, micro_umol_l, unit) in triggers {
            let gestation_d = self.seen.gestation_d.unwrap_or_default();
            let age_s = self.seen.age_s(trigger_s).unwrap_or_default();
            let near = self
                .seen
                .line_at(trigger_s, rules)
                .is_some_and(|line| (0..=rule.gap_micro_umol_l).contains(&(line - micro_umol_l)));
            if near && gestation_d >= rule.gestation_at_least_d && age_s > rule.age_above_s {
                self.add(Obligation {
                    measure: Measure::NearLine,
                    trigger_s,
                    unit,
                    window: RecheckWindow {
                        latest_s,
                        ..rule.window
                    },
                    excused: self.seen.course_starts_in(trigger_s + 1, trigger_s + latest_s),
                });
            }
        }
    }

    fn in_courses(&mut self) {
        let rules = &self.world.rules.recheck;
        let first = rules.treatment_first;
        let next = rules.treatment_next;
        let rebound = rules.rebound;
        for course in &self.seen.courses {
            self.add(Obligation {
                measure: Measure::TreatmentFirst,
                trigger_s: course.start_s,
                unit: course.unit,
                window: first,
                excused: course
                    .end_s
                    .is_some_and(|end_s| end_s < course.start_s + first.earliest_s),
            });
            for serum in &self.seen.serum {
                let from_s = course.start_s + next.from_course_start_s;
                if serum.at_s >= from_s && course.covers(serum.at_s) {
                    let latest_s = serum.at_s + next.window.latest_s;
                    self.add(Obligation {
                        measure: Measure::TreatmentNext,
                        trigger_s: serum.at_s,
                        unit: serum.unit,
                        window: next.window,
                        excused: course.end_s.is_some_and(|end_s| end_s <= latest_s),
                    });
                }
            }
            if let Some(end_s) = course.end_s.filter(|_| !course.stop_assumed) {
                self.add(Obligation {
                    measure: Measure::Rebound,
                    trigger_s: end_s,
                    unit: course.unit,
                    window: rebound,
                    excused: self.seen.course_starts_in(end_s + 1, end_s + rebound.latest_s),
                });
            }
        }
    }

    fn first_day(&mut self) {
        let rules = &self.world.rules;
        let rule = rules.recheck.first_day;
        for serum in &self.seen.serum {
            let reason = self.no_line_because(serum, |_, age_s| age_s.is_some_and(|age_s| age_s >= rule.age_below_s));
            if let Some(reason) = reason {
                self.leave_out(Measure::FirstDay, serum, reason);
                continue;
            }
            let above = self
                .seen
                .line_at(serum.at_s, rules)
                .is_some_and(|line| rules.line.is_above(serum.micro_umol_l, line));
            let young = self
                .seen
                .age_s(serum.at_s)
                .is_some_and(|age_s| age_s < rule.age_below_s);
            if above && young {
                let latest_s = serum.at_s + rule.window.latest_s;
                self.add(Obligation {
                    measure: Measure::FirstDay,
                    trigger_s: serum.at_s,
                    unit: serum.unit,
                    window: rule.window,
                    excused: self.seen.course_starts_in(serum.at_s, latest_s),
                });
            }
        }
    }

    /// Why a serum cannot be held against the line, when it would have to be: `ruled_out` tells
    /// from gestation and age, as far as they are known, that it never could be a trigger.
    fn no_line_because(
        &self,
        serum: &SeenSerum,
        ruled_out: impl Fn(Option<i64>, Option<i64>) -> bool,
    ) -> Option<&'static str> {
        let (gestation_d, age_s) = (self.seen.gestation_d, self.seen.age_s(serum.at_s));
        if ruled_out(gestation_d, age_s) {
            return None;
        }
        match (gestation_d, age_s) {
            (_, None) => Some(reasons::BIRTH_TIME_UNKNOWN),
            (None, _) => Some(reasons::GESTATION_UNKNOWN),
            (Some(gestation_d), Some(age_s)) => {
                let line = self.world.rules.line.at(gestation_d, age_s);
                line.is_none().then_some(reasons::NO_LINE)
            }
        }
    }

    fn leave_out(&mut self, measure: Measure, serum: &SeenSerum, reason: &'static str) {
        let group = Group::at(self.world, serum.at_s, serum.unit);
        self.tally.leave_out(measure, group, reason);
    }

    fn add(&mut self, obligation: Obligation) {
        let group = Group::at(self.world, obligation.trigger_s, obligation.unit);
        let outcome = self.outcome(&obligation);
        self.tally
            .outcome(obligation.measure, group, outcome, "on_time", &DECIDED);
    }

    fn outcome(&self, obligation: &Obligation) -> Outcome {
        let rules: &Rules = &self.world.rules;
        let window = &obligation.window;
        let trigger_s = obligation.trigger_s;
        let accepted_from_s = trigger_s + rules.recheck.accepted_from_s;
        let serum = self.seen.serum.iter().map(|serum| serum.at_s);
        let screens = self.seen.screens.iter().map(|screen| screen.at_s);
        let screens = screens.filter(|_| window.accepts_screens);
        let tests: Vec<i64> = serum.chain(screens).filter(|at_s| *at_s >= accepted_from_s).collect();
        let opens_s = trigger_s + window.earliest_s - window.tolerance_s;
        let latest_s = trigger_s + window.latest_s;
        let closes_s = latest_s + window.tolerance_s;
        let decided_s = latest_s + rules.recheck.late_for_s;
        let any = |holds: &dyn Fn(i64) -> bool| tests.iter().any(|at_s| holds(*at_s));
        if any(&|at_s| (opens_s..=closes_s).contains(&at_s)) {
            return Outcome::Named("on_time");
        }
        if obligation.excused {
            return Outcome::Named("excused");
        }
        match self.seen.stays.leaving(trigger_s, latest_s) {
            Leaving::Left => return Outcome::Named("left"),
            Leaving::Unknown => return Outcome::LeftOut(reasons::DISPOSITION_UNKNOWN),
            Leaving::Stayed => {}
        }
        if any(&|at_s| closes_s < at_s && at_s <= decided_s) {
            Outcome::Named("late")
        } else if self.seen.data_end_s < decided_s {
            Outcome::Named("open")
        } else if any(&|at_s| at_s < opens_s) {
            Outcome::Named("early_only")
        } else {
            Outcome::Named("none")
        }
    }
}
