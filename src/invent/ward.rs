//! One baby's life on the wards, task by task, until data end: whose turn it is.
//!
//! The nurses know the rules and the baby's own gestation and age; what they do about them is by
//! chance, with the scenario's numbers. Each kind of task is in a file of its own.

use super::agenda::{Agenda, Task};
use super::baby::{Baby, Turn};
use super::care::{Care, Place};
use super::dice::{Dice, Stream};
use super::history::{Disposition, History, Source};
use super::world::World;

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
}
