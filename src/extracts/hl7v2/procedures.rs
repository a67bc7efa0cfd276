//! Phototherapy and exchange transfusions, from procedure segments (PR1).
//!
//! A stop is the start and so many minutes of elapsed time (field 7), or an observation of
//! the meaning `stopped_at`, which can give seconds.

use crate::extracts::reason::Reason;
use crate::extracts::record::{Cell, Code, SourceRow};
use crate::warehouse::tables::SourceTable;

use super::cells::{in_contract, say_time, say_word, unit_of};
use super::codes::coded;
use super::event::Event;
use super::identity;
use super::message::Segment;
use super::times;

/// Whether observations of that meaning describe procedures.
pub(super) fn is_about_procedure(meaning: &str) -> bool {
    matches!(meaning, "setting" | "stopped_at")
}

/// Adds a row for each procedure that is of a table; the codes of others to `unmapped`.
pub(super) fn read(event: &Event<'_, '_>, rows: &mut Vec<SourceRow>, unmapped: &mut Vec<Code>) {
    for (place, pr1) in event.message.all("PR1").enumerate() {
        let found = coded(pr1.field(3), &event.settings.codes);
        let (table, id, at) = match found.meaning {
            Some("phototherapy" | "phototherapy_single" | "phototherapy_multiple") => {
                ("phototherapy", "episode_id", "started_at")
            }
            Some("exchange") => ("exchanges", "exchange_id", "performed_at"),
            _ => {
                unmapped.push(found.code);
                continue;
            }
        };
        let Some(table) = SourceTable::named(table) else {
            continue;
        };
        let mut row = SourceRow::of(table);
        say_id(&mut row, id, event, pr1, place);
        identity::say(&mut row, "infant_id", event.pid, 3, event.settings);
        say_time(&mut row, at, &[(Some(pr1), 5)]);
        if let Some(unit) = unit_of(event.pv1, event.settings) {
            row.say("unit", unit);
        }
        if table.name == "phototherapy" {
            say_kind(&mut row, found.meaning, event, pr1);
            say_stop(&mut row, event, pr1);
            for (meaning, obx) in event.observations().filter(|(_, obx)| describes(obx, pr1)) {
                match meaning {
                    "setting" => say_word(&mut row, "setting", obx, 5, &event.settings.codes),
                    "stopped_at" => say_time(&mut row, "stopped_at", &[(Some(obx), 5)]),
                    _ => {}
                }
            }
        }
        if pr1.part(20, 1).as_deref() == Some("D") {
            row.say("record_status", "withdrawn");
        }
        event.say_recorded(&mut row);
        rows.push(row);
    }
}

/// Its own identifier (field 19), else its place in the visit.
fn say_id(row: &mut SourceRow, column: &str, event: &Event<'_, '_>, pr1: &Segment<'_>, place: usize) {
    let own = pr1.part(19, 1).filter(|id| !id.is_empty());
    let visit = event.pv1.and_then(|pv1| pv1.part(19, 1));
    let set = pr1.part(1, 1).filter(|set| !set.is_empty());
    let set = set.unwrap_or_else(|| (place + 1).to_string());
    match (own, visit.filter(|visit| !visit.is_empty())) {
        (Some(id), _) => row.say(column, id),
        (None, Some(visit)) => row.say(column, format!("{visit}-P{set}")),
        (None, None) => {
            let what = "no identifier, and no visit number in PV1, field 19";
            row.fail(pr1.fault(19, Reason::MissingId, column, what));
        }
    }
}

/// One lamp or several; a code that does not say which may have a modifier that does.
fn say_kind(row: &mut SourceRow, meaning: Option<&str>, event: &Event<'_, '_>, pr1: &Segment<'_>) {
    match meaning {
        Some("phototherapy_single") => row.say("kind", "single"),
        Some("phototherapy_multiple") => row.say("kind", "multiple"),
        _ => {
            if let Some(said) = pr1.part(16, 1) {
                row.say("kind", in_contract("kind", &said, &event.settings.codes));
            }
        }
    }
}

fn say_stop(row: &mut SourceRow, event: &Event<'_, '_>, pr1: &Segment<'_>) {
    let Some(said) = pr1.part(7, 1) else {
        return;
    };
    if said.is_empty() {
        row.say("stopped_at", "");
        return;
    }
    let minutes = said.parse().ok().filter(|_| said.bytes().all(|b| b.is_ascii_digit()));
    let Some(minutes) = minutes else {
        row.fail(pr1.fault(
            7,
            Reason::UnreadableValue,
            "stopped_at",
            "write the duration in whole minutes",
        ));
        return;
    };
    match times::later(row.value("started_at"), minutes, &event.settings.zone) {
        Some(stop) => row.say("stopped_at", Cell::read_from(&said, stop)),
        None => row.fail(pr1.fault(
            7,
            Reason::UnreadableTime,
            "stopped_at",
            "a duration needs a start with hour and minute in field 5",
        )),
    }
}

/// An observation with a sub-id is of the procedure with that set id, one without of all.
fn describes(obx: &Segment<'_>, pr1: &Segment<'_>) -> bool {
    let sub_id = obx.part(4, 1).unwrap_or_default();
    sub_id.is_empty() || pr1.part(1, 1).as_deref() == Some(sub_id.as_str())
}
