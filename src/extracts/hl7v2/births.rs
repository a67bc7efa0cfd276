//! The birth register, from what admission messages say of a newborn.
//!
//! Each message states only part. A message is about a birth when its admission type is
//! newborn or when it carries a gestation.

use crate::extracts::record::SourceRow;
use crate::warehouse::tables::SourceTable;

use super::cells::{in_contract, say_part, say_time, say_word, says_anything, unit_of};
use super::event::Event;
use super::identity;
use super::measured;
use super::message::Segment;

/// Observations that become a column of the same name.
const DESCRIBED: [&str; 5] = ["plurality", "feeding", "risk_factors", "skin_tone", "ethnicity"];

/// Whether observations of that meaning are read.
pub(super) fn is_about_birth(meaning: &str) -> bool {
    matches!(meaning, "gestation" | "birth_weight") || DESCRIBED.contains(&meaning)
}

/// Adds what the message says of a birth.
pub(super) fn read(event: &Event<'_, '_>, rows: &mut Vec<SourceRow>) {
    let Some(table) = SourceTable::named("births") else {
        return;
    };
    let has_gestation = event.observations().any(|(meaning, _)| meaning == "gestation");
    if !event.is_newborn() && !has_gestation {
        return;
    }
    let mut row = SourceRow::part_of(table);
    let (pid, codes) = (event.pid, &event.settings.codes);
    identity::say_own(&mut row, "infant_id", pid, 3, event.settings);
    if event.name == "A29" {
        row.say("record_status", "withdrawn");
    } else {
        identity::say(&mut row, "mother_id", pid, 21, event.settings);
        say_time(&mut row, "born_at", &[(Some(pid), 7)]);
        say_word(&mut row, "sex", pid, 8, codes);
        say_part(&mut row, "birth_order", pid, 25);
        for (meaning, obx) in event.observations() {
            observation(&mut row, meaning, obx, event);
        }
        if !says_anything(&row) {
            return;
        }
        say_unit_of_birth(&mut row, event);
    }
    event.say_recorded(&mut row);
    rows.push(row);
}

/// The unit of birth: where the visit began. Later messages of a visit say where the baby
/// is by then.
fn say_unit_of_birth(row: &mut SourceRow, event: &Event<'_, '_>) {
    let has_visit = event.pv1.is_some_and(|pv1| !pv1.field(19).is_empty());
    let is_beginning = matches!(event.name, "A01" | "A04" | "A28") || !has_visit;
    if let Some(unit) = unit_of(event.pv1, event.settings).filter(|_| is_beginning && event.is_newborn()) {
        row.say("unit", unit);
    }
}

fn observation(row: &mut SourceRow, meaning: &str, obx: &Segment<'_>, event: &Event<'_, '_>) {
    let codes = &event.settings.codes;
    let status = obx.part(11, 1).unwrap_or_default();
    let is_withdrawn = codes.word("status", &status) == Some("withdrawn");
    match meaning {
        _ if is_withdrawn => match meaning {
            "birth_weight" => row.say("birth_weight_g", ""),
            column => row.say(column, ""),
        },
        "gestation" => measured::say_gestation(row, obx, codes),
        "birth_weight" => measured::say_birth_weight(row, obx, codes),
        "risk_factors" => {
            let words = obx.field(5).repetitions().filter_map(|word| word.part(1));
            let words = words.flat_map(|said| {
                let each = said
                    .split(';')
                    .map(|word| in_contract(meaning, word.trim(), codes).value);
                each.collect::<Vec<_>>()
            });
            let before = row.value(meaning).to_owned();
            let all: Vec<String> = Some(before)
                .into_iter()
                .chain(words)
                .filter(|word| !word.is_empty())
                .collect();
            if !obx.field(5).is_empty() {
                row.say(meaning, all.join(";"));
            }
        }
        column if DESCRIBED.contains(&column) => say_word(row, column, obx, 5, codes),
        _ => {}
    }
}
