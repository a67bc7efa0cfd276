//! Which rows stand: duplicates, held rows, withdrawn ids, versions.

use std::collections::{BTreeMap, BTreeSet};

use super::facts::{Birth, Born, Episode, Exchange, Fact, MeterCheck, Reading, Screen, Serum, Status, Stay, Told};
use super::judge::is_loinc;
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

/// What versions of one row share: its table, its id and, of serum, what was measured.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Identity {
    table: &'static str,
    id: String,
    /// `None` of other tables, and of a row of serum that does not say it and stands alone.
    measured: Option<String>,
}

/// A row's identity, and whether it could be a version of several results of its tube.
struct Identified {
    as_what: Identity,
    is_unclear: bool,
}

/// "Identity of a serum result: `specimen_id` together with what was measured (total, direct,
/// another code) ... A row with empty analyte belongs to the tube's only other one (set aside or
/// not), else stands alone." A word that is no analyte says as little (choice 41).
fn identified(rows: &[Row]) -> Vec<Identified> {
    let mut of_tube: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for row in rows.iter().filter(|row| row.table == "serum" && !row.id.is_empty()) {
        let results = of_tube.entry(row.id.as_str()).or_default();
        results.extend(measured(row.cells.get("analyte")));
    }
    let identify = |row: &Row| {
        let mut as_what = Identity {
            table: row.table,
            id: row.id.clone(),
            measured: None,
        };
        let mut is_unclear = false;
        if row.table == "serum" {
            let others = of_tube.get(row.id.as_str()).into_iter().flatten();
            let others: Vec<&str> = others.copied().collect();
            as_what.measured = match (measured(row.cells.get("analyte")), others.as_slice()) {
                (Some(said), _) => Some(said.to_string()),
                (None, [only]) => Some((*only).to_string()),
                (None, _) => None,
            };
            is_unclear = as_what.measured.is_none() && others.len() > 1;
        }
        Identified { as_what, is_unclear }
    };
    rows.iter().map(identify).collect()
}

/// Codes of total are one, so are those of direct; any other is its own.
fn measured(analyte: &str) -> Option<&str> {
    match analyte {
        "total" | "1975-2" | "14631-6" | "77137-8" => Some("total"),
        "direct" | "1968-7" | "14629-0" | "15152-2" => Some("direct"),
        other => is_loinc(other).then_some(other),
    }
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
    /// Exchange transfusions.
    pub exchanges: Vec<Exchange>,
}

/// What stands.
#[derive(Clone, Debug, Default)]
pub struct Register {
    /// The babies with a live birth row, by id.
    pub babies: BTreeMap<String, Baby>,
    /// Live checks of meters.
    pub checks: Vec<MeterCheck>,
    /// Readings of screens that are set aside for their unit or value, of ids of which no live
    /// screen stands.
    pub readings_without_value: Vec<Reading>,
}

/// The fate of every row, given all of them.
///
/// Order of the steps: "exact duplicates are dropped first"; rows that cannot be used; "a test
/// more than 15 min before birth is set aside before versions are ordered"; "rows of a baby
/// without a live births row are held"; "an id with any withdrawn row is gone for good"; then
/// versions (choices 12 and 13).
pub fn fates(rows: &[Row], zone: &Zone) -> Vec<Fate> {
    fates_of(rows, &identified(rows), zone)
}

fn fates_of(rows: &[Row], identified: &[Identified], zone: &Zone) -> Vec<Fate> {
    let mut fates: Vec<Option<Fate>> = vec![None; rows.len()];
    let mut seen = BTreeSet::new();
    for (row, fate) in rows.iter().zip(&mut fates) {
        if !seen.insert((row.table, &row.cells)) {
            *fate = Some(Fate::Duplicate);
        } else if row.fact.is_none() {
            *fate = Some(Fate::SetAside);
        }
    }
    // A withdrawal that could mean several results withdraws none (choice 41).
    for (row, fate) in identified.iter().zip(&mut fates) {
        if row.is_unclear && fate.is_none() {
            *fate = Some(Fate::Held);
        }
    }

    settle_versions(rows, identified, &mut fates, |table| table == "births");
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
    settle_versions(rows, identified, &mut fates, |table| table != "births");
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
fn settle_versions(rows: &[Row], identified: &[Identified], fates: &mut [Option<Fate>], of_table: fn(&str) -> bool) {
    let mut withdrawn = BTreeSet::new();
    let mut current: BTreeMap<&Identity, usize> = BTreeMap::new();
    for (place, row) in rows.iter().enumerate() {
        // A held row is in no measure, but a withdrawal it carries still counts.
        let counts = !matches!(fates[place], Some(Fate::Duplicate | Fate::SetAside));
        if counts && of_table(row.table) && matches!(row.fact, Some(Fact::Withdrawn)) {
            withdrawn.insert(&identified[place].as_what);
        }
    }
    for (place, row) in rows.iter().enumerate() {
        if fates[place].is_some() || !of_table(row.table) {
            continue;
        }
        let id = &identified[place].as_what;
        if withdrawn.contains(id) {
            fates[place] = Some(Fate::Withdrawn);
            continue;
        }
        if let Some(before) = current.get(id) {
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
    let identified = identified(rows);
    let fates = fates_of(rows, &identified, zone);
    let told = told(rows, &identified, &fates);
    let mut register = Register {
        readings_without_value: readings_without_value(rows, &fates),
        ..Register::default()
    };
    for (row, fate) in rows.iter().zip(&fates) {
        if let (Some(Fact::Birth(birth)), Fate::Kept) = (&row.fact, fate) {
            let baby = Baby {
                birth: birth.clone(),
                screens: Vec::new(),
                serums: Vec::new(),
                episodes: Vec::new(),
                stays: Vec::new(),
                exchanges: Vec::new(),
            };
            register.babies.insert(row.infant_id.clone(), baby);
        }
    }
    for ((row, result), fate) in rows.iter().zip(&identified).zip(&fates) {
        if let (Some(Fact::MeterCheck(check)), Fate::Kept) = (&row.fact, fate) {
            register.checks.push(check.clone());
        }
        let (Some(baby), Fate::Kept) = (register.babies.get_mut(&row.infant_id), fate) else {
            continue;
        };
        match &row.fact {
            Some(Fact::Screen(screen)) => baby.screens.push(screen.clone()),
            Some(Fact::Serum(serum)) => {
                let told = told.get(&result.as_what).cloned().unwrap_or_default();
                baby.serums.push(Serum {
                    resulted_at: told.iter().filter_map(|version| version.resulted_at).min(),
                    told,
                    ..serum.clone()
                });
            }
            Some(Fact::Episode(episode)) => baby.episodes.push(episode.clone()),
            Some(Fact::Stay(stay)) => baby.stays.push(stay.clone()),
            Some(Fact::Exchange(exchange)) => baby.exchanges.push(exchange.clone()),
            _ => {}
        }
    }
    register
}

/// The final and corrected versions of each result of serum. "Serum result time = earliest
/// resulted_at among the final/corrected versions with a result time" (choice 12).
fn told<'r>(rows: &[Row], identified: &'r [Identified], fates: &[Fate]) -> BTreeMap<&'r Identity, Vec<Told>> {
    let mut told: BTreeMap<&Identity, Vec<Told>> = BTreeMap::new();
    for ((row, result), fate) in rows.iter().zip(identified).zip(fates) {
        let Some(Fact::Serum(version)) = &row.fact else {
            continue;
        };
        let stands = matches!(fate, Fate::Kept | Fate::Superseded);
        if stands && matches!(version.status, Status::Final | Status::Corrected) {
            told.entry(&result.as_what).or_default().push(Told {
                resulted_at: version.resulted_at,
                value: version.value,
            });
        }
    }
    told
}

/// Of each id the last such row, unless a live screen of the id stands or the id was withdrawn
/// (choice 34): "withdrawn removes the id for good".
fn readings_without_value(rows: &[Row], fates: &[Fate]) -> Vec<Reading> {
    let mut last: BTreeMap<&str, &Row> = BTreeMap::new();
    for (row, fate) in rows.iter().zip(fates) {
        if row.reading.is_none() || *fate != Fate::SetAside {
            continue;
        }
        let is_later = last
            .get(row.id.as_str())
            .is_none_or(|before| row.recorded_at >= before.recorded_at);
        if is_later {
            last.insert(row.id.as_str(), row);
        }
    }
    for (row, fate) in rows.iter().zip(fates) {
        let is_gone = matches!(row.fact, Some(Fact::Withdrawn)) && *fate != Fate::Duplicate;
        if row.table == "screens" && (*fate == Fate::Kept || is_gone) {
            last.remove(row.id.as_str());
        }
    }
    last.into_values().filter_map(|row| row.reading.clone()).collect()
}
