//! What rows of all tables share: the baby, the unit, the version, and the faults.

use serde_json::Value;

use crate::extracts::reason::Reason;
use crate::extracts::record::{Fault, Record, SourceRow};
use crate::warehouse::tables::SourceTable;

use super::parts::{Concept, Meta, Reference, text};
use super::reader::{Reading, note};
use super::references::{Baby, Found};
use super::settings::first_coding;

/// What no table wants because of whose it is.
pub(super) const OF_NO_NEWBORN: &str = "of a patient who is no newborn";

/// A new row of a table of the contract; none if there is no such table.
pub(super) fn row_of(table: &str) -> Option<SourceRow> {
    SourceTable::named(table).map(SourceRow::of)
}

/// As [`row_of`], for a row that states only part.
pub(super) fn part_of(table: &str) -> Option<SourceRow> {
    SourceTable::named(table).map(SourceRow::part_of)
}

/// The version of a resource.
pub(super) fn say_version(row: &mut SourceRow, meta: &Option<Meta<'_>>) {
    let updated = meta.as_ref().map_or("", |meta| text(&meta.last_updated));
    row.say_if_any("recorded_at", updated);
}

/// A reference to something that has not come.
pub(super) fn absent(column: &str, reference: &str) -> Fault {
    let remedy = format!("load the file with {reference}; the row is then taken in by itself");
    Fault::of_cell(Reason::AbsentReference, column, reference).with_remedy(remedy)
}

impl Reading<'_> {
    /// Says whose the row is. Returns false when it is of a patient who is no newborn: then
    /// the record notes the code and there is no row. A withdrawal needs no baby.
    pub(super) fn say_baby(
        &self,
        row: &mut SourceRow,
        subject: Option<&Reference<'_>>,
        inside: &[Value],
        code: Option<&Concept<'_>>,
        record: &mut Record,
    ) -> bool {
        let is_withdrawn = row.value("record_status") == "withdrawn";
        match self.references.baby(subject, inside, self.settings) {
            Baby::Known(infant_id) => row.say("infant_id", infant_id),
            Baby::NotGiven => {}
            Baby::Absent(_) if is_withdrawn => {}
            Baby::Absent(reference) => row.fail(absent("infant_id", &reference)),
            Baby::NoNewborn => {
                let mut code = first_coding(code);
                OF_NO_NEWBORN.clone_into(&mut code.display);
                record.unmapped.push(code);
                return false;
            }
        }
        true
    }

    /// Writes the unit that is given, else the one of the encounter.
    pub(super) fn say_unit(&self, row: &mut SourceRow, given: Option<String>, encounter: Option<&Reference<'_>>) {
        let of_encounter = || self.references.encounter(encounter).map(|facts| facts.unit.to_string());
        let unit = given.filter(|unit| !unit.is_empty()).or_else(of_encounter);
        row.say_if_any("unit", unit.unwrap_or_default());
    }

    /// Says the meter that a device is.
    pub(super) fn say_meter(&self, row: &mut SourceRow, device: Option<&Reference<'_>>, inside: &[Value]) {
        let is_withdrawn = row.value("record_status") == "withdrawn";
        match self.references.meter_id(device, inside) {
            Found::Yes(meter_id) => row.say_if_any("meter_id", meter_id),
            Found::Absent(reference) if !is_withdrawn => row.fail(absent("meter_id", &reference)),
            Found::Absent(_) | Found::NotGiven => {}
        }
    }

    /// Notes a code that no table wants.
    pub(super) fn unmapped(&self, code: Option<&Concept<'_>>, kind: &str, record: &mut Record) {
        let code = match first_coding(code) {
            none if none.code.is_empty() => note(super::reader::RESOURCE, kind, "without a code"),
            code => code,
        };
        record.unmapped.push(code);
    }
}
