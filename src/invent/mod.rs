//! Invented extracts at any scale.
//!
//! A network that does not exist, with babies that were never born: the extracts hold what each
//! month's extracts of a hospital would hold, and `planted.json` says which effects were put in.
//!
//! Every baby has its own stream of chance, made of the seed and its running number, so one seed
//! gives the same bytes every time. One baby is held in memory at a time.
//!
//! In: [`Options`] and the [`Rules`] of a protocol. Out: one folder a month and `planted.json`.
//! The parameters of the simulation are in `scenario.toml`.

mod agenda;
pub mod as_fhir;
pub mod as_hl7v2;
mod baby;
mod bilirubin;
mod blood;
mod care;
mod clock;
mod dice;
mod error;
mod extract;
mod from_protocol;
mod history;
mod meter_checks;
mod month_files;
mod movement;
mod network;
mod planted;
mod readmission;
mod records;
mod referral;
mod rewritten;
mod rules;
mod scenario;
mod screening;
mod treatment;
mod ward;
mod world;

use std::fs;
use std::path::Path;

pub use error::InventError;
pub use planted::{Invented, Planted};
pub use rewritten::rewrite;
pub use rules::Rules;
pub use world::Options;

use baby::Turn;
use extract::Extract;
use month_files::MonthFiles;
use world::World;

/// Invents extracts and writes them, with `planted.json` beside them.
///
/// `progress` is called with how many of all babies are done, now and then and at the end.
///
/// # Errors
/// Refuses options out of range and an out folder that is not empty before anything is written.
pub fn invent(options: &Options, rules: &Rules, progress: &mut dyn FnMut(u64, u64)) -> Result<Invented, InventError> {
    check(options)?;
    let world = World::new(options, rules)?;
    prepare(&options.out)?;
    let mut extract = Extract::new(&world, MonthFiles::new(&options.out, &world.calendar));
    let total = world.births_per_month * u64::from(options.months);
    let mut number = 0;
    for month in 0..world.calendar.months() {
        for index in 0..world.births_per_month {
            let turn = Turn { month, index, number };
            let (history, mut dice) = ward::live(turn, &world);
            extract.write(&history, &mut dice)?;
            number += 1;
            if number % 256 == 0 || number == total {
                progress(number, total);
            }
        }
        meter_checks::write(&world, month, extract.files())?;
        extract.files().close_first()?;
    }
    let invented = Invented::of(&world, options)?;
    invented.write(&options.out.join("planted.json"))?;
    Ok(invented)
}

fn check(options: &Options) -> Result<(), InventError> {
    let refuse = |option, value: u32, remedy| {
        Err(InventError::Option {
            option,
            value: value.to_string(),
            remedy,
        })
    };
    if options.births_per_month == 0 {
        return refuse("births per month", 0, "give at least 1");
    }
    if !(1..=1200).contains(&options.months) {
        return refuse("months", options.months, "give 1 to 1200");
    }
    Ok(())
}

fn prepare(out: &Path) -> Result<(), InventError> {
    fs::create_dir_all(out).map_err(InventError::io("create", out))?;
    let mut entries = fs::read_dir(out).map_err(InventError::io("read", out))?;
    if entries.next().is_some() {
        return Err(InventError::FolderNotEmpty {
            path: out.to_path_buf(),
        });
    }
    Ok(())
}
