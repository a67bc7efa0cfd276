//! The truth: figures counted from the babies' histories, one baby at a time.
//!
//! They are counted twice: as known at the end, and each month as it was known when its own
//! extract was loaded, before later extracts decided and corrected things.
//!
//! The definitions are those of an audit that reads the extracts at data end, the midnight that
//! ends the last month. They are written here a second time, on purpose: an audit's queries are
//! checked against them.

mod courses;
mod figures;
mod planted;
mod readmission;
mod reasons;
mod recheck;
mod referral;
mod seen;
mod stays;
mod tally;

use std::collections::BTreeSet;

use super::World;
use super::history::History;
use seen::Seen;
use tally::{Source, Tally};

pub use figures::{Figure, Truth, TruthOptions};
pub use planted::Planted;

/// What became of something that is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Outcome {
    Named(&'static str),
    LeftOut(&'static str),
}

/// Counts babies as they pass by.
pub(crate) struct Count<'a> {
    world: &'a World,
    /// As known at the end.
    tally: Tally,
    /// Each month as known at its own end.
    first: Tally,
}

impl<'a> Count<'a> {
    /// Nothing counted yet.
    pub(crate) fn new(world: &'a World) -> Count<'a> {
        Count {
            world,
            tally: Tally::new(world),
            first: Tally::new(world),
        }
    }

    /// Counts one baby.
    pub(crate) fn add(&mut self, history: &History) {
        let calendar = &self.world.calendar;
        count(history, self.world, calendar.data_end_s(), &mut self.tally);
        for month in months_of(history, self.world) {
            self.first.count_only(month);
            count(history, self.world, calendar.start_s(month + 1), &mut self.first);
        }
    }
}

/// Months with something that can be counted.
fn months_of(history: &History, world: &World) -> BTreeSet<usize> {
    let screens = history.screens.iter().map(|s| s.measured_s);
    let serum = history.specimens.iter().map(|s| s.collected_s);
    let episodes = history.episodes.iter();
    let light = episodes.flat_map(|e| std::iter::once(e.started_s).chain(e.stopped_s));
    let stays = history.stays.iter().map(|s| s.admitted_s);
    let moments = screens.chain(serum).chain(light).chain(stays);
    let moments = moments.chain(std::iter::once(history.birth.born_s));
    moments.filter_map(|at_s| world.calendar.month_of(at_s)).collect()
}

fn count(history: &History, world: &World, data_end_s: i64, tally: &mut Tally) {
    let seen = Seen::of(history, world, data_end_s);
    note_rows(&seen, world, tally);
    referral::count(&seen, world, tally);
    recheck::count(&seen, world, tally);
    readmission::count(&seen, world, tally);
}

fn note_rows(seen: &Seen<'_>, world: &World, tally: &mut Tally) {
    tally.note_row(Source::Births, world, seen.birth.born_s);
    for screen in &seen.screens {
        tally.note_row(Source::Screens, world, screen.at_s);
    }
    for (source, moments) in [
        (Source::Serum, &seen.collected_s),
        (Source::Phototherapy, &seen.started_s),
        (Source::Stays, &seen.admitted_s),
    ] {
        for at_s in moments {
            tally.note_row(source, world, *at_s);
        }
    }
}
