//! Through when the data is complete, and months without data.

use std::collections::BTreeMap;

use super::facts::Born;
use super::moment::{Zone, month_of_day};
use super::read::{Load, Row};
use super::versions::{self, Register};

/// The tables referral, time to serum and every recheck rule read (choice 2).
pub const FIVE_TABLES: [&str; 5] = ["births", "screens", "serum", "phototherapy", "stays"];

/// The tables readmission reads (choice 2).
pub const READMISSION_TABLES: [&str; 3] = ["births", "stays", "phototherapy"];

/// "Each load gives per table a complete-through instant" (choice 1), after the last load.
pub fn complete_through(loads: &[Load], rows: &[Row], zone: &Zone) -> BTreeMap<&'static str, Option<i64>> {
    let mut ends: BTreeMap<&'static str, Option<i64>> = BTreeMap::new();
    for (number, load) in loads.iter().enumerate() {
        let known: Vec<Row> = rows.iter().filter(|row| row.load <= number).cloned().collect();
        let register = versions::register(&known, zone);
        for table in FIVE_TABLES {
            let before = ends.get(table).copied().flatten();
            let has_file = load.files.iter().any(|(name, _)| name == table);
            let own = load.through.iter().find(|(name, _)| name.as_deref() == Some(table));
            let of_all = load.through.iter().find(|(name, _)| name.is_none());
            let end = match (own, of_all) {
                (Some((_, at)), _) => Some(*at),
                // A load without a file of the table says nothing of it.
                _ if !has_file => before,
                // `None` sorts first: the later of the two, if any.
                (None, Some((_, at))) => before.max(Some(*at)),
                (None, None) => before.max(latest_event(&register, table, load.at)),
            };
            ends.insert(table, end);
        }
    }
    ends
}

/// "The latest event time in that table's live rows that is not after the load time."
fn latest_event(register: &Register, table: &str, load_at: i64) -> Option<i64> {
    let mut latest = None;
    for baby in register.values() {
        for event in events(baby, table) {
            if event <= load_at {
                latest = latest.max(Some(event));
            }
        }
    }
    latest
}

/// "Latest event of a table = births born_at (date-only births ignored), screens measured_at,
/// serum collected_at, phototherapy started_at or stopped_at, stays admitted_at or
/// discharged_at" (choice 1).
fn events(baby: &versions::Baby, table: &str) -> Vec<i64> {
    match table {
        "births" => match baby.birth.born {
            Born::At(at) => vec![at],
            Born::On(_) => vec![],
        },
        "screens" => baby.screens.iter().map(|screen| screen.at).collect(),
        "serum" => baby.serums.iter().map(|serum| serum.at).collect(),
        "phototherapy" => {
            let episodes = baby.episodes.iter();
            episodes
                .flat_map(|episode| [Some(episode.start), episode.stop])
                .flatten()
                .collect()
        }
        "stays" => {
            let stays = baby.stays.iter();
            stays
                .flat_map(|stay| [Some(stay.admitted), stay.discharged])
                .flatten()
                .collect()
        }
        _ => vec![],
    }
}

/// "A measure's data end D = the minimum over the tables it reads." A table that never had an
/// event nor a word about it is complete through nothing.
pub fn data_end(ends: &BTreeMap<&'static str, Option<i64>>, tables: &[&str]) -> i64 {
    tables
        .iter()
        .map(|table| ends.get(table).copied().flatten().unwrap_or(i64::MIN / 2))
        .min()
        .unwrap_or(i64::MIN / 2)
}

/// "A month is no data when any table it reads has no live row at all (network-wide) whose
/// event falls in that local month (birth day, measured, collected, started, admitted)"
/// (choice 4). True when the month has data.
pub fn has_data(register: &Register, tables: &[&str], month: &str, zone: &Zone) -> bool {
    tables.iter().all(|table| {
        register.values().any(|baby| {
            let in_month = |at: i64| zone.month(at) == month;
            match *table {
                "births" => match baby.birth.born {
                    Born::At(at) => in_month(at),
                    Born::On(day) => month_of_day(day) == month,
                },
                "screens" => baby.screens.iter().any(|screen| in_month(screen.at)),
                "serum" => baby.serums.iter().any(|serum| in_month(serum.at)),
                "phototherapy" => baby.episodes.iter().any(|episode| in_month(episode.start)),
                "stays" => baby.stays.iter().any(|stay| in_month(stay.admitted)),
                _ => false,
            }
        })
    })
}
