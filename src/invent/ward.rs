//! One baby's life on the wards, task by task, until data end: who is where, and whose turn it is.
//!
//! The nurses know the rules and the baby's own gestation and age; what they do about them is by
//! chance, with the scenario's numbers. Each kind of task is in a file of its own.

use super::World;
use super::agenda::{Agenda, Task};
use super::baby::{Baby, Turn};
use super::bilirubin::Level;
use super::dice::{Dice, Stream};
use super::history::{Disposition, History, Source, Stay};

/// A chart holds at most so many rows of a table; the identifiers leave room for no more.
pub(crate) const ROWS_PER_TABLE: usize = 64;

/// Where a baby is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Place {
    /// In a unit.
    Ward,
    /// Between two units.
    OnTheWay,
    /// At home.
    Home,
    /// Dead or in another network: nothing more is charted.
    Gone,
}

/// A baby in care.
#[derive(Debug)]
pub(crate) struct Care<'a> {
    pub(crate) world: &'a World,
    pub(crate) dice: Dice,
    pub(crate) agenda: Agenda,
    pub(crate) history: History,
    pub(crate) level: Level,
    pub(crate) gestation_d: i64,
    pub(crate) unit: usize,
    pub(crate) place: Place,
    /// Number of the running course, counted from 1.
    pub(crate) light: Option<u32>,
    pub(crate) courses: u32,
    pub(crate) light_out_s: Option<i64>,
    pub(crate) last_test_s: Option<i64>,
    /// A due screen went without blood.
    pub(crate) missed: bool,
    /// A value near the line was not repeated.
    pub(crate) unrepeated: bool,
    /// Has been home once.
    pub(crate) been_home: bool,
}

/// Lives one baby's life and returns its chart.
pub(crate) fn live(turn: Turn, world: &World) -> (History, Dice) {
    let mut dice = Dice::new(world.seed, Stream::Baby, turn.number);
    let baby = Baby::draw(turn, world, &mut dice);
    let born_s = baby.birth.born_s;
    let fast_riser = baby.fast_riser;
    let mut care = Care {
        world,
        dice,
        agenda: Agenda::default(),
        level: baby.level,
        gestation_d: baby.gestation_d,
        unit: baby.birth.unit,
        place: Place::Ward,
        light: None,
        courses: 0,
        light_out_s: None,
        last_test_s: None,
        missed: false,
        unrepeated: false,
        been_home: false,
        history: History {
            birth: baby.birth,
            screens: Vec::new(),
            specimens: Vec::new(),
            episodes: Vec::new(),
            stays: Vec::new(),
            exchanges: Vec::new(),
        },
    };
    care.admit(born_s, Source::Birth);
    care.plan_stay();
    care.plan_screens();
    care.plan_blood_by_habit();
    if fast_riser {
        care.plan_first_day_blood();
    }
    care.run();
    care.keep_charts();
    (care.history, care.dice)
}

impl Care<'_> {
    fn run(&mut self) {
        while let Some((at_s, task)) = self.agenda.take() {
            if at_s >= self.world.calendar.data_end_s() || self.place == Place::Gone {
                break;
            }
            if self.place == Place::OnTheWay && task != Task::Arrive {
                // Nothing is done in the ambulance; it waits until just after arrival.
                self.agenda.plan(at_s + 1800, task);
                continue;
            }
            self.act(at_s, task);
        }
    }

    fn act(&mut self, at_s: i64, task: Task) {
        match task {
            Task::HabitScreen => self.screen_by_habit(at_s),
            Task::SingleScreen => self.screen(at_s),
            Task::LastScreen => self.screen_before_going_home(at_s),
            Task::Draw(purpose, attempt) => self.draw_if_possible(at_s, purpose, attempt),
            Task::Result(specimen, purpose) => self.read_result(at_s, specimen, purpose),
            Task::Repeat { blood } => self.repeat(at_s, blood),
            Task::StartLight => self.start_light(at_s),
            Task::StopLight(course) => self.stop_light(at_s, course),
            Task::ResumeLight => self.resume_light(at_s),
            Task::Exchange => self.exchange(at_s),
            Task::GoHome => self.go_home(at_s),
            Task::Move => self.move_on(at_s),
            Task::Arrive => self.arrive(at_s),
            Task::LeaveNetwork => self.leave(at_s, Disposition::Transfer),
            Task::Die => self.leave(at_s, Disposition::Died),
            Task::ComeBackJaundiced => self.come_back_jaundiced(at_s),
            Task::ComeBackOtherwise => self.come_back_otherwise(at_s),
        }
    }

    /// Opens a stay in the baby's unit.
    pub(crate) fn admit(&mut self, at_s: i64, source: Source) {
        self.place = Place::Ward;
        self.history.stays.push(Stay {
            unit: self.unit,
            admitted_s: at_s,
            discharged_s: None,
            source,
            disposition: Disposition::Empty,
            diagnoses: String::new(),
        });
    }

    /// The moment of birth.
    pub(crate) fn born_s(&self) -> i64 {
        self.history.birth.born_s
    }

    /// The age at a moment.
    pub(crate) fn age_s(&self, at_s: i64) -> i64 {
        at_s - self.born_s()
    }

    /// The line at a moment, for the baby's own gestation.
    pub(crate) fn line_at(&self, at_s: i64) -> Option<i64> {
        self.world.rules.line.at(self.gestation_d, self.age_s(at_s))
    }

    /// Whether the protocol lets the meter be used at this gestation.
    pub(crate) fn is_preterm(&self) -> bool {
        self.gestation_d < self.world.rules.referral.gestation_at_least_d
    }

    /// Whether it is night on the ward.
    pub(crate) fn is_night(&self, at_s: i64) -> bool {
        let night = &self.world.scenario.night;
        let hour = self.world.calendar.hour(at_s);
        hour >= night.from_hour || hour < night.until_hour
    }

    /// Whether the lamps are on, or were until a short while ago by the rules.
    pub(crate) fn in_light_shadow(&self, at_s: i64) -> bool {
        let shadow_s = self.world.rules.course_shadow_s;
        self.light.is_some() || self.light_out_s.is_some_and(|out_s| at_s < out_s + shadow_s)
    }

    /// Whether a recheck risk factor is charted.
    pub(crate) fn at_recheck_risk(&self) -> bool {
        self.history.birth.at_recheck_risk(&self.world.rules.near_line)
    }
}
