//! What is asked for, and what stays the same from baby to baby.

use std::path::PathBuf;

use super::clock::Calendar;
use super::dice::Scatter;
use super::error::InventError;
use super::network::Network;
use super::rules::Rules;
use super::scenario::Scenario;

/// A chart holds at most so many rows of a table; the identifiers leave room for no more.
pub(crate) const ROWS_PER_TABLE: usize = 64;

/// What to invent.
#[derive(Debug, Clone)]
pub struct Options {
    /// Births in each month, in the whole network.
    pub births_per_month: u32,
    /// How many months.
    pub months: u32,
    /// Year and month of the last month.
    pub ending: (i16, i8),
    /// The seed of all chance.
    pub seed: u64,
    /// A folder that does not exist yet or is empty.
    pub out: PathBuf,
}

/// Everything that stays the same from baby to baby.
#[derive(Debug)]
pub(crate) struct World {
    pub(crate) scenario: Scenario,
    pub(crate) rules: Rules,
    pub(crate) calendar: Calendar,
    pub(crate) network: Network,
    pub(crate) ids: Identifiers,
    pub(crate) seed: u64,
    pub(crate) births_per_month: u64,
}

/// How running numbers become identifiers.
#[derive(Debug)]
pub(crate) struct Identifiers {
    pub(crate) babies: Scatter,
    pub(crate) rows: Scatter,
    pub(crate) checks: Scatter,
}

impl World {
    pub(crate) fn new(options: &Options, rules: &Rules) -> Result<World, InventError> {
        let scenario = Scenario::embedded()?;
        let network = Network::new(&scenario, options.births_per_month);
        let births = u64::from(options.births_per_month) * u64::from(options.months);
        let days = u64::from(options.months) * 31 + 1;
        Ok(World {
            calendar: Calendar::new(&rules.zone, options.ending, options.months)?,
            ids: Identifiers {
                babies: Scatter::new(options.seed, births),
                rows: Scatter::new(options.seed, births * ROWS_PER_TABLE as u64),
                checks: Scatter::new(options.seed, days * network.meter_count() as u64 * 2),
            },
            scenario,
            rules: rules.clone(),
            network,
            seed: options.seed,
            births_per_month: u64::from(options.births_per_month),
        })
    }
}
