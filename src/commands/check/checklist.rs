//! Prints what a check finds of each thing it looks at, and counts what is wrong.

use crate::commands::output::Say;
use crate::error::Error;
use crate::warehouse::Warehouse;

/// What to do about a protocol.
const MEND_PROTOCOL: &str =
    "mend protocol.toml, or its table of lines, as said above; your clinicians decide its numbers";
/// What to do about the texts beside it.
const MEND_TEXTS: &str = "mend notes.toml or reviews.csv, as said above";

/// What to do about all of them.
const MEND_BOTH: &str = "mend protocol.toml and notes.toml or reviews.csv, as said above";

/// What to do about a warehouse.
const RESTORE: &str = "restore the warehouse from a copy, or load the extracts into a new one";

/// Faults of one kind that are shown.
pub(super) const MOST_FAULTS_SHOWN: usize = 10;

/// What was printed so far, counted.
pub(super) struct Checklist<'a> {
    /// Where it is printed.
    pub(super) say: &'a Say,
    /// What the protocol should not say.
    doubts: usize,
    /// Texts beside the snapshots that a report would refuse.
    refused_texts: usize,
    /// What is wrong with the warehouse.
    faults: usize,
}

impl<'a> Checklist<'a> {
    /// Nothing yet.
    pub(super) fn new(say: &'a Say) -> Self {
        Self {
            say,
            doubts: 0,
            refused_texts: 0,
            faults: 0,
        }
    }

    /// A thing that is in order.
    pub(super) fn good(&self, what: &str) -> Result<(), Error> {
        self.say.line(&format!("  in order   {what}"))
    }

    /// A fault of the warehouse.
    pub(super) fn fault(&mut self, what: &str, details: &[String]) -> Result<(), Error> {
        self.faults += 1;
        self.print_fault(what, details)
    }

    /// A fault of the protocol.
    pub(super) fn doubt(&mut self, what: &str, details: &[String]) -> Result<(), Error> {
        self.doubts += 1;
        self.print_fault(what, details)
    }

    /// A text beside the snapshots that a report would refuse.
    pub(super) fn refused_text(&mut self, what: &str, details: &[String]) -> Result<(), Error> {
        self.refused_texts += 1;
        self.print_fault(what, details)
    }

    fn print_fault(&self, what: &str, details: &[String]) -> Result<(), Error> {
        self.say.result(&format!("  FAULT      {what}\n"))?;
        for detail in details.iter().take(MOST_FAULTS_SHOWN) {
            for line in detail.lines() {
                self.say.result(&format!("             {line}\n"))?;
            }
        }
        let more = details.len().saturating_sub(MOST_FAULTS_SHOWN);
        if more > 0 {
            self.say.result(&format!("             and {more} more\n"))?;
        }
        Ok(())
    }

    /// The end: an error when anything is not in order.
    pub(super) fn end(self, warehouse: &Warehouse) -> Result<(), Error> {
        let count = match self.faults + self.doubts + self.refused_texts {
            0 => return self.say.line("everything is in order"),
            1 => "one thing is".to_owned(),
            n => format!("{n} things are"),
        };
        Err(Error::Faults {
            what: format!("{}: {count}", warehouse.root().display()),
            remedy: match (self.faults, self.doubts, self.refused_texts) {
                (0, 0, _) => MEND_TEXTS,
                (0, _, 0) => MEND_PROTOCOL,
                (0, _, _) => MEND_BOTH,
                _ => RESTORE,
            },
        })
    }
}
