//! The truth: figures counted from the babies' histories, one baby at a time.
//!
//! The definitions are those of an audit that reads the extracts at data end, the midnight that
//! ends the last month. They are written here a second time, on purpose: an audit's queries are
//! checked against them.

mod courses;
mod figures;
mod readmission;
mod reasons;
mod recheck;
mod referral;
mod seen;
mod stays;
mod tally;

use super::World;
use super::history::History;
use seen::Seen;
use tally::{Source, Tally};

pub use figures::{Figure, Truth, TruthOptions};

/// What became of something that is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Outcome {
    Named(&'static str),
    LeftOut(&'static str),
}

/// Counts babies as they pass by.
pub(crate) struct Count<'a> {
    world: &'a World,
    tally: Tally,
}

impl<'a> Count<'a> {
    /// Nothing counted yet.
    pub(crate) fn new(world: &'a World) -> Count<'a> {
        Count {
            world,
            tally: Tally::new(world),
        }
    }

    /// Counts one baby.
    pub(crate) fn add(&mut self, history: &History) {
        let seen = Seen::of(history, self.world);
        self.note_rows(&seen);
        referral::count(&seen, self.world, &mut self.tally);
        recheck::count(&seen, self.world, &mut self.tally);
        readmission::count(&seen, self.world, &mut self.tally);
    }

    fn note_rows(&mut self, seen: &Seen<'_>) {
        let world = self.world;
        self.tally.note_row(Source::Births, world, seen.birth.born_s);
        for screen in &seen.screens {
            self.tally.note_row(Source::Screens, world, screen.at_s);
        }
        for (source, moments) in [
            (Source::Serum, &seen.collected_s),
            (Source::Phototherapy, &seen.started_s),
            (Source::Stays, &seen.admitted_s),
        ] {
            for at_s in moments {
                self.tally.note_row(source, world, *at_s);
            }
        }
    }
}
