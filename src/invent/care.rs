//! A baby in care: where it is, what is charted and planned, and what the nurses know of it.

use super::agenda::Agenda;
use super::bilirubin::Level;
use super::dice::Dice;
use super::history::{Disposition, History, Source, Stay};
use super::world::World;

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

impl Care<'_> {
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
