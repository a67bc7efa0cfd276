//! A baby's history as an audit sees it at data end: sound rows only, current versions only,
//! nothing later than data end.

use super::courses::{self, Course};
use super::stays::Stays;
use crate::invent::World;
use crate::invent::history::{Birth, Defect, History, LabResult, Specimen};
use crate::invent::rules::Rules;
use crate::invent::ward::ROWS_PER_TABLE;

/// What is seen of one baby.
pub(super) struct Seen<'a> {
    pub(super) birth: &'a Birth,
    /// What happened from here on is not seen.
    pub(super) data_end_s: i64,
    /// None when only the day is known.
    pub(super) born_s: Option<i64>,
    pub(super) gestation_d: Option<i64>,
    /// By moment, then identifier.
    pub(super) screens: Vec<SeenScreen>,
    /// Valid serum, by moment.
    pub(super) serum: Vec<SeenSerum>,
    /// When specimens were drawn that gave no number.
    pub(super) failed_s: Vec<i64>,
    pub(super) courses: Vec<Course>,
    pub(super) stays: Stays<'a>,
    /// Moments of live rows: serum of any kind.
    pub(super) collected_s: Vec<i64>,
    /// Moments of live rows: phototherapy.
    pub(super) started_s: Vec<i64>,
    /// Moments of live rows: stays.
    pub(super) admitted_s: Vec<i64>,
}

/// A live screen.
#[derive(Debug, Clone, Copy)]
pub(super) struct SeenScreen {
    pub(super) at_s: i64,
    /// For comparisons: a bound counts as just above its number.
    pub(super) micro_umol_l: i64,
    pub(super) above_range: bool,
    pub(super) unit: usize,
}

/// A valid serum.
#[derive(Debug, Clone, Copy)]
pub(super) struct SeenSerum {
    pub(super) at_s: i64,
    pub(super) micro_umol_l: i64,
    pub(super) unit: usize,
}

impl<'a> Seen<'a> {
    /// Looks at a history as of a data end.
    pub(super) fn of(history: &'a History, world: &World, data_end_s: i64) -> Seen<'a> {
        let birth = &history.birth;
        let born_s = (!birth.day_only).then_some(birth.born_s);
        let row = |place: usize| {
            let running = birth.number * ROWS_PER_TABLE as u64 + place as u64;
            world.ids.rows.number(running)
        };
        let stays = Stays::of(history, born_s, row, data_end_s, world.rules.stay_chain_s);
        let join_s = world.rules.course_join_s;
        let courses = courses::of(history, &stays, row, data_end_s, join_s);
        let mut screens: Vec<(u64, SeenScreen)> = Vec::new();
        for (place, screen) in history.screens.iter().enumerate() {
            if screen.defect == Defect::None && screen.measured_s < data_end_s {
                let seen = SeenScreen {
                    at_s: screen.measured_s,
                    micro_umol_l: screen.value_umol_l * 1_000_000 + i64::from(screen.above_range),
                    above_range: screen.above_range,
                    unit: screen.unit,
                };
                screens.push((row(place), seen));
            }
        }
        screens.sort_by_key(|(id, screen)| (screen.at_s, *id));
        let mut seen = Seen {
            birth,
            data_end_s,
            born_s,
            gestation_d: birth.gestation.days(),
            screens: screens.into_iter().map(|(_, screen)| screen).collect(),
            serum: Vec::new(),
            failed_s: Vec::new(),
            courses,
            stays,
            collected_s: Vec::new(),
            started_s: moments(history.episodes.iter().map(|e| e.started_s), data_end_s),
            admitted_s: moments(history.stays.iter().map(|s| s.admitted_s), data_end_s),
        };
        for specimen in &history.specimens {
            if specimen.defect == Defect::None && specimen.collected_s < data_end_s {
                seen.look_at(specimen, data_end_s, &world.rules);
            }
        }
        seen.serum.sort_by_key(|serum| serum.at_s);
        seen
    }

    fn look_at(&mut self, specimen: &Specimen, data_end_s: i64, rules: &Rules) {
        self.collected_s.push(specimen.collected_s);
        let bilirubin =
            rules.total_analytes.contains(&specimen.analyte) && rules.serum_specimens.contains(&specimen.specimen);
        let pending = specimen.resulted_s >= data_end_s;
        if !bilirubin || pending {
            return;
        }
        let LabResult::Number { first, corrected } = specimen.result else {
            self.failed_s.push(specimen.collected_s);
            return;
        };
        let current = corrected
            .filter(|(at_s, _)| *at_s < data_end_s)
            .map_or(first, |(_, value)| value);
        self.serum.push(SeenSerum {
            at_s: specimen.collected_s,
            micro_umol_l: current.micro_umol_l(rules.micro_umol_l_per_mg_dl),
            unit: specimen.unit,
        });
    }

    /// The age at a moment; none when only the day of birth is known.
    pub(super) fn age_s(&self, at_s: i64) -> Option<i64> {
        self.born_s.map(|born_s| at_s - born_s)
    }

    /// The line at a moment; none without age, gestation or a line.
    pub(super) fn line_at(&self, at_s: i64, rules: &Rules) -> Option<i64> {
        rules.line.at(self.gestation_d?, self.age_s(at_s)?)
    }

    /// Whether a moment lies in a course or in its shadow.
    pub(super) fn in_course_shadow(&self, at_s: i64, rules: &Rules) -> bool {
        self.courses
            .iter()
            .any(|course| course.shadows(at_s, rules.course_shadow_s))
    }

    /// Whether a course starts in `[from, to]`.
    pub(super) fn course_starts_in(&self, from_s: i64, to_s: i64) -> bool {
        self.courses
            .iter()
            .any(|course| (from_s..=to_s).contains(&course.start_s))
    }
}

fn moments(all: impl Iterator<Item = i64>, data_end_s: i64) -> Vec<i64> {
    all.filter(|at_s| *at_s < data_end_s).collect()
}
