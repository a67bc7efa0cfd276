//! Rows in equal the sum of their fates, load by load.

use super::moment::Zone;
use super::read::{self, Load, TABLES};
use super::rules::Rules;
use super::versions::{self, Fate};

/// What became of the rows of one table in one load, as seen right after that load.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Balance {
    /// Number of the load, from 0.
    pub load: usize,
    /// The table.
    pub table: String,
    /// Rows of the load's files of this table.
    pub rows_in: u64,
    /// Current versions.
    pub kept: u64,
    /// Versions overtaken by a later one.
    pub superseded: u64,
    /// Repeats of a row that came before, set aside or not.
    pub duplicate: u64,
    /// Rows of an id that is withdrawn.
    pub withdrawn: u64,
    /// Rows of a baby not in the birth register.
    pub held: u64,
    /// Rows that could not be used.
    pub set_aside: u64,
}

/// The balance of every load and every table with a file in it, "at the time of that load":
/// loads after it are not looked at.
pub fn balance(loads: &[Load], rules: &Rules) -> Vec<Balance> {
    let zone = Zone::named(&rules.zone);
    let mut all = Vec::new();
    for load in 0..loads.len() {
        let rows = read::rows(&loads[..=load], &zone);
        let fates = versions::fates(&rows, &zone);
        for (table, _) in TABLES {
            if !loads[load].files.iter().any(|(name, _)| name == table) {
                continue;
            }
            let count = |wanted: Option<Fate>| {
                let of_table = rows.iter().zip(&fates);
                of_table
                    .filter(|(row, _)| row.load == load && row.table == table)
                    .filter(|(_, fate)| wanted.is_none_or(|wanted| **fate == wanted))
                    .count() as u64
            };
            all.push(Balance {
                load,
                table: table.to_string(),
                rows_in: count(None),
                kept: count(Some(Fate::Kept)),
                superseded: count(Some(Fate::Superseded)),
                duplicate: count(Some(Fate::Duplicate)),
                withdrawn: count(Some(Fate::Withdrawn)),
                held: count(Some(Fate::Held)),
                set_aside: count(Some(Fate::SetAside)),
            });
        }
    }
    all
}
