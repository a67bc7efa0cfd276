//! `siskin compare`: what differs between two reports, in words.

use std::path::Path;

use crate::cli::Compare;
use crate::error::Error;
use crate::pages::compare::{Report, differences};

use super::output::Say;
use super::report::published;

/// Prints what differs.
pub(super) fn run(options: &Compare, say: &Say) -> Result<(), Error> {
    let (older, newer) = (read(&options.older)?, read(&options.newer)?);
    if older.unit() != newer.unit() {
        return Err(Error::Usage(format!(
            "{} and {} are not of the same babies\n  to do: compare two reports of the network, or two of one unit",
            older.in_words(),
            newer.in_words()
        )));
    }
    let mut text = format!("{}, beside {}\n\n", newer.in_words(), older.in_words());
    for sentence in differences(&older, &newer) {
        text.push_str(&format!("- {sentence}\n"));
    }
    say.result(&text)
}

fn read(folder: &Path) -> Result<Report, Error> {
    published::read(folder).ok_or_else(|| {
        Error::Usage(format!(
            "{} holds no report that can be read\n  to do: name the folder of a month, such as reports/2026-09, with \
             quality/measures.json and quality/signals.json in it",
            folder.display()
        ))
    })
}
