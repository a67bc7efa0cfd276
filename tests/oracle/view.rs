//! What a measure sees of one baby at its data end.

use super::courses::{Course, courses};
use super::facts::{Birth, Born, Screen, Serum};
use super::line::line_umol_l_micro;
use super::moment::Zone;
use super::rules::Rules;
use super::stays::{self, Chain, Exit};
use super::value::Value;
use super::versions::{Baby, Register};

/// One baby, with nothing later than data end.
#[derive(Clone, Debug)]
pub struct View {
    /// The measure's data end, epoch seconds.
    pub data_end: i64,
    /// The birth.
    pub birth: Birth,
    /// Screens in the order of (time, id).
    pub screens: Vec<Screen>,
    /// Valid serums in the order of (time, id).
    pub valid_serums: Vec<Serum>,
    /// Failed attempts.
    pub failed_attempts: Vec<Serum>,
    /// Courses.
    pub courses: Vec<Course>,
    /// Chains of the stays admitted by data end; their ends are read with `end_at`.
    pub chains: Vec<Chain>,
    /// Exits by data end.
    pub exits: Vec<(i64, Exit)>,
}

/// How a baby left within an interval, if it did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gone {
    /// No.
    No,
    /// Died or transferred out.
    Left,
    /// Neither, but there is a discharge without disposition.
    Unknown,
}

/// Every baby born by data end.
pub fn views(register: &Register, data_end: i64, rules: &Rules, zone: &Zone) -> Vec<View> {
    register
        .values()
        .filter(|baby| exists(&baby.birth, data_end, zone))
        .map(|baby| view(baby, data_end, rules))
        .collect()
}

/// "A birth later than D does not exist" (choice 3); a birth known by date only is taken at the
/// beginning of its day.
fn exists(birth: &Birth, data_end: i64, zone: &Zone) -> bool {
    match birth.born {
        Born::At(at) => at <= data_end,
        Born::On(day) => zone.day_start(day) <= data_end,
    }
}

/// "Per measure, an event later than D is ignored ... courses and stays are built once,
/// untrimmed, and trimmed at D where a measure reads them" (choice 3).
fn view(baby: &Baby, data_end: i64, rules: &Rules) -> View {
    let mut screens = baby.screens.clone();
    screens.retain(|screen| screen.at <= data_end);
    screens.sort_by(|a, b| a.at.cmp(&b.at).then_with(|| a.id.cmp(&b.id)));

    let mut serums = baby.serums.clone();
    serums.retain(|serum| serum.at <= data_end);
    serums.sort_by(|a, b| a.at.cmp(&b.at).then_with(|| a.id.cmp(&b.id)));

    let all_chains = stays::chains(&baby.stays, rules);
    let all_courses = courses(&baby.episodes, &all_chains, rules);
    View {
        data_end,
        birth: baby.birth.clone(),
        screens,
        valid_serums: serums.iter().filter(|s| s.is_valid()).cloned().collect(),
        failed_attempts: serums.iter().filter(|s| s.is_failed_attempt()).cloned().collect(),
        courses: all_courses.iter().filter_map(|c| c.at(data_end)).collect(),
        exits: stays::exits(&all_chains, data_end, rules),
        chains: known_chains(all_chains, data_end),
    }
}

/// "An admission later than D does not exist", and "a chain that starts after D is dropped"
/// (choice 3). Without its later stays a chain still counts as still in: its last known stay
/// was left by transfer under 6 h before D, or is not yet left.
fn known_chains(mut chains: Vec<Chain>, data_end: i64) -> Vec<Chain> {
    for chain in &mut chains {
        chain.stays.retain(|stay| stay.admitted <= data_end);
    }
    chains.retain(|chain| !chain.stays.is_empty());
    chains
}

impl View {
    /// "Ages are elapsed hours"; here in seconds, `None` for a birth known by date only.
    pub fn age_s(&self, at: i64) -> Option<i64> {
        match self.birth.born {
            Born::At(born) => Some(at - born),
            Born::On(_) => None,
        }
    }

    /// The line at a moment, when birth, gestation and a line are known.
    pub fn line_micro(&self, at: i64) -> Option<i64> {
        line_umol_l_micro(self.birth.gestation_days? / 7, self.age_s(at)?)
    }

    /// "During phototherapy or within 24 h after it": in [course start, course end + 24 h).
    pub fn is_under_phototherapy(&self, at: i64, rules: &Rules) -> bool {
        self.courses.iter().any(|course| course.covers_or_is_recent(at, rules))
    }

    /// "A value is above the line when value > line (NICE manner)."
    pub fn is_above_line(&self, value: Value, at: i64) -> bool {
        self.line_micro(at).is_some_and(|line| value.compared_micro() > line)
    }

    /// Whether the baby left at a moment for which `within` holds. "When there is no
    /// died/transferred-out exit in the interval but an unknown one, the episode or obligation
    /// is left out" (choice 8).
    pub fn gone(&self, within: impl Fn(i64) -> bool) -> Gone {
        let mut gone = Gone::No;
        for (at, exit) in &self.exits {
            match exit {
                Exit::Died | Exit::TransferredOut if within(*at) => return Gone::Left,
                Exit::Unknown if within(*at) => gone = Gone::Unknown,
                _ => {}
            }
        }
        gone
    }

    /// The chain that contains a moment, as known at data end; of several the earliest.
    pub fn chain_containing(&self, at: i64, rules: &Rules) -> Option<&Chain> {
        stays::earliest(self.chains.iter().filter(|chain| {
            let end = chain.end_at(self.data_end, rules);
            stays::covers(chain.start(), end, at)
        }))
    }
}
