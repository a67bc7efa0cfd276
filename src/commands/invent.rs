//! `siskin invent`: invented extracts of any size, and what was planted in them.

use crate::cli::Invent;
use crate::error::Error;
use crate::extracts::sources::Format;
use crate::invent::{Options, Rules, invent, rewrite};
use crate::protocol::Protocol;

use super::output::Say;

/// Invents and writes the extracts.
pub(super) fn run(options: &Invent, say: &Say) -> Result<(), Error> {
    let protocol = Protocol::read(&options.protocol)?;
    let rules = Rules::of(&protocol)?;
    let asked = Options {
        births_per_month: options.births_per_month,
        months: options.months,
        ending: (options.ending.year(), options.ending.number()),
        seed: options.seed,
        out: options.out.clone(),
    };
    let work = say.work();
    work.part("inventing", 0);
    let mut shown = 0;
    let invented = invent(&asked, &rules, &mut |done, total| {
        let tenth = done * 10 / total.max(1);
        if tenth > shown {
            shown = tenth;
            work.within(&format!("{done} of {total} babies"));
        }
    })?;
    if options.format != Format::Csv {
        work.part("rewriting", 0);
        rewrite(&options.out, options.format, protocol.zone())?;
    }
    drop(work);
    say.line(&format!(
        "wrote {} months to {}, complete through {}; what was planted is in planted.json",
        options.months,
        options.out.display(),
        invented.data_end
    ))
}
