//! Through when the data is complete, and months without data.

use std::collections::BTreeMap;

use super::facts::Born;
use super::moment::{Zone, month_of_day};
use super::read::{Load, Row, TABLES};
use super::versions::{self, Register};

/// The tables referral, time to serum and every recheck rule read (choice 2).
pub const FIVE_TABLES: [&str; 5] = ["births", "screens", "serum", "phototherapy", "stays"];

/// The tables readmission reads (choice 2).
pub const READMISSION_TABLES: [&str; 3] = ["births", "stays", "phototherapy"];

/// The tables time to treatment and treatment below the line read.
pub const TREATMENT_TABLES: [&str; 4] = ["births", "serum", "phototherapy", "stays"];

/// The tables the bands of severe jaundice and the exchange line read.
pub const SERUM_TABLES: [&str; 2] = ["births", "serum"];

/// The tables failed specimens, and the delay after them, read.
pub const SPECIMEN_TABLES: [&str; 3] = ["births", "serum", "stays"];

/// The tables exchange transfusions read.
pub const EXCHANGE_TABLES: [&str; 2] = ["births", "exchanges"];

/// The tables kernicterus codes read.
pub const CODE_TABLES: [&str; 2] = ["births", "stays"];

/// The tables meter checks read.
pub const METER_TABLES: [&str; 2] = ["screens", "meter_checks"];

/// The tables screens outside limits read.
pub const SCREEN_TABLES: [&str; 3] = ["births", "screens", "phototherapy"];

/// Through when each table is complete.
pub type Ends = BTreeMap<&'static str, Option<i64>>;

/// "Each load gives per table a complete-through instant" (choice 1), after the last load.
pub fn complete_through(loads: &[Load], rows: &[Row], zone: &Zone) -> Ends {
    let mut ends = Ends::new();
    for (number, load) in loads.iter().enumerate() {
        let known: Vec<Row> = rows.iter().filter(|row| row.load <= number).cloned().collect();
        let register = versions::register(&known, zone);
        for (table, _) in TABLES {
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
    for event in all_events(register, table) {
        if event <= load_at {
            latest = latest.max(Some(event));
        }
    }
    latest
}

/// Events of a table's live rows.
fn all_events(register: &Register, table: &str) -> Vec<i64> {
    if table == "meter_checks" {
        return register.checks.iter().map(|check| check.at).collect();
    }
    register.babies.values().flat_map(|baby| events(baby, table)).collect()
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
        "exchanges" => baby.exchanges.iter().map(|exchange| exchange.at).collect(),
        _ => vec![],
    }
}

/// "A measure's data end D = the minimum over the tables it reads." A table that never had an
/// event nor a word about it is complete through nothing.
pub fn data_end(ends: &Ends, tables: &[&str]) -> i64 {
    tables
        .iter()
        .map(|table| ends.get(table).copied().flatten().unwrap_or(i64::MIN / 2))
        .min()
        .unwrap_or(i64::MIN / 2)
}

/// "A month is no data when any table it reads has no live row at all (network-wide) whose
/// event falls in that local month (birth day, measured, collected, started, admitted)"
/// (choice 4). True when the month has data.
///
/// Exchange transfusions are rare: a month without one is no data only when they are not complete
/// through its end.
pub fn has_data(register: &Register, ends: &Ends, tables: &[&str], month: &str, zone: &Zone) -> bool {
    let in_month = |at: i64| zone.month(at) == month;
    tables.iter().all(|table| match *table {
        "meter_checks" => register.checks.iter().any(|check| in_month(check.at)),
        "exchanges" => {
            let end = ends.get("exchanges").copied().flatten();
            let mut babies = register.babies.values();
            babies.any(|baby| baby.exchanges.iter().any(|exchange| in_month(exchange.at)))
                || end.is_some_and(|end| end >= zone.month_end(month))
        }
        _ => register.babies.values().any(|baby| match *table {
            "births" => match baby.birth.born {
                Born::At(at) => in_month(at),
                Born::On(day) => month_of_day(day) == month,
            },
            "screens" => baby.screens.iter().any(|screen| in_month(screen.at)),
            "serum" => baby.serums.iter().any(|serum| in_month(serum.at)),
            "phototherapy" => baby.episodes.iter().any(|episode| in_month(episode.start)),
            "stays" => baby.stays.iter().any(|stay| in_month(stay.admitted)),
            _ => false,
        }),
    })
}
