//! Which rows stand: duplicates, held rows, withdrawn ids, versions.

use std::collections::{BTreeMap, BTreeSet};

use super::facts::{Birth, Born, Episode, Fact, Screen, Serum, Status, Stay};
use super::moment::Zone;
use super::read::Row;

/// What became of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fate {
    /// The same cells came before, in this load or an earlier one.
    Duplicate,
    /// Could not be used.
    SetAside,
    /// Its baby is not in the birth register.
    Held,
    /// Its id was withdrawn.
    Withdrawn,
    /// The current version of its id.
    Kept,
    /// A later version stands.
    Superseded,
}

/// A baby of the register with all its live rows.
#[derive(Clone, Debug)]
pub struct Baby {
    /// Its birth.
    pub birth: Birth,
    /// Screens.
    pub screens: Vec<Screen>,
    /// Serum specimens.
    pub serums: Vec<Serum>,
    /// Episodes of phototherapy.
    pub episodes: Vec<Episode>,
    /// Stays.
    pub stays: Vec<Stay>,
}

/// The babies with a live birth row.
pub type Register = BTreeMap<String, Baby>;

/// The fate of every row, given all of them.
///
/// Order of the steps: "exact duplicates are dropped first"; rows that cannot be used; "a test
/// more than 15 min before birth is set aside before versions are ordered"; "rows of a baby
/// without a live births row are held"; "an id with any withdrawn row is gone for good"; then
/// versions (choices 12 and 13).
pub fn fates(rows: &[Row], zone: &Zone) -> Vec<Fate> {
    let mut fates: Vec<Option<Fate>> = vec![None; rows.len()];
    let mut seen = BTreeSet::new();
    for (row, fate) in rows.iter().zip(&mut fates) {
        if !seen.insert((row.table, &row.cells)) {
            *fate = Some(Fate::Duplicate);
        } else if row.fact.is_none() {
            *fate = Some(Fate::SetAside);
        }
    }

    settle_versions(rows, &mut fates, |table| table == "births");
    let mut births = BTreeMap::new();
    for (row, fate) in rows.iter().zip(&fates) {
        if let (Some(Fact::Birth(birth)), Some(Fate::Kept)) = (&row.fact, fate) {
            births.insert(row.infant_id.as_str(), birth);
        }
    }

    for (row, fate) in rows.iter().zip(&mut fates) {
        if fate.is_some() || row.infant_id.is_empty() {
            continue;
        }
        match births.get(row.infant_id.as_str()) {
            None => *fate = Some(Fate::Held),
            Some(birth) if is_before_birth(row, birth, zone) => *fate = Some(Fate::SetAside),
            Some(_) => {}
        }
    }
    settle_versions(rows, &mut fates, |table| table != "births");
    fates.into_iter().flatten().collect()
}

/// "More than 15 min before birth (date-only birth: more than 15 min before that local day
/// begins)" (choice 12).
fn is_before_birth(row: &Row, birth: &Birth, zone: &Zone) -> bool {
    let tested_at = match &row.fact {
        Some(Fact::Screen(screen)) => screen.at,
        Some(Fact::Serum(serum)) => serum.at,
        _ => return false,
    };
    let born = match birth.born {
        Born::At(at) => at,
        Born::On(day) => zone.day_start(day),
    };
    tested_at < born - 15 * 60
}

/// Withdrawn, kept or superseded for the rows of these tables that have no fate yet; "the
/// version order of one id" is choice 12.
fn settle_versions(rows: &[Row], fates: &mut [Option<Fate>], of_table: fn(&str) -> bool) {
    let mut withdrawn = BTreeSet::new();
    let mut current: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    for (place, row) in rows.iter().enumerate() {
        // A held row is in no measure, but a withdrawal it carries still counts.
        let counts = !matches!(fates[place], Some(Fate::Duplicate | Fate::SetAside));
        if counts && of_table(row.table) && matches!(row.fact, Some(Fact::Withdrawn)) {
            withdrawn.insert((row.table, row.id.as_str()));
        }
    }
    for (place, row) in rows.iter().enumerate() {
        if fates[place].is_some() || !of_table(row.table) {
            continue;
        }
        let id = (row.table, row.id.as_str());
        if withdrawn.contains(&id) {
            fates[place] = Some(Fate::Withdrawn);
            continue;
        }
        if let Some(before) = current.get(&id) {
            // Rows come in the order of loads and lines: of two that tie, the later wins.
            if is_later_version(row, &rows[*before]) {
                fates[*before] = Some(Fate::Superseded);
            } else {
                fates[place] = Some(Fate::Superseded);
                continue;
            }
        }
        fates[place] = Some(Fate::Kept);
        current.insert(id, place);
    }
}

/// "[serum only: status preliminary < final < corrected < cancelled, then resulted_at (empty
/// first)], then recorded_at (empty first), then later load, then later row" (choice 12), for a
/// row that comes after the other.
fn is_later_version(row: &Row, before: &Row) -> bool {
    let order = |row: &Row| match &row.fact {
        Some(Fact::Serum(serum)) => (Some(serum.status), serum.resulted_at, row.recorded_at),
        _ => (None, None, row.recorded_at),
    };
    order(row) >= order(before)
}

/// The live rows, baby by baby. "Value and status from the last [version], result time from
/// the earliest final or corrected one."
pub fn register(rows: &[Row], zone: &Zone) -> Register {
    let fates = fates(rows, zone);
    let mut register = Register::new();
    for (row, fate) in rows.iter().zip(&fates) {
        if let (Some(Fact::Birth(birth)), Fate::Kept) = (&row.fact, fate) {
            let baby = Baby {
                birth: birth.clone(),
                screens: Vec::new(),
                serums: Vec::new(),
                episodes: Vec::new(),
                stays: Vec::new(),
            };
            register.insert(row.infant_id.clone(), baby);
        }
    }
    for (row, fate) in rows.iter().zip(&fates) {
        let (Some(baby), Fate::Kept) = (register.get_mut(&row.infant_id), fate) else {
            continue;
        };
        match &row.fact {
            Some(Fact::Screen(screen)) => baby.screens.push(screen.clone()),
            Some(Fact::Serum(serum)) => baby.serums.push(Serum {
                resulted_at: result_time(&row.id, rows, &fates),
                ..serum.clone()
            }),
            Some(Fact::Episode(episode)) => baby.episodes.push(episode.clone()),
            Some(Fact::Stay(stay)) => baby.stays.push(stay.clone()),
            _ => {}
        }
    }
    register
}

/// "Serum result time = earliest resulted_at among the final/corrected versions with a result
/// time" (choice 12).
fn result_time(id: &str, rows: &[Row], fates: &[Fate]) -> Option<i64> {
    let mut earliest: Option<i64> = None;
    for (row, fate) in rows.iter().zip(fates) {
        let Some(Fact::Serum(version)) = &row.fact else {
            continue;
        };
        let stands = matches!(fate, Fate::Kept | Fate::Superseded);
        let is_final = matches!(version.status, Status::Final | Status::Corrected);
        if row.id == id && stands && is_final {
            earliest = match (earliest, version.resulted_at) {
                (Some(one), Some(other)) => Some(one.min(other)),
                (one, other) => one.or(other),
            };
        }
    }
    earliest
}
