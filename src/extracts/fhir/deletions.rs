//! Deletions of a bulk export: Bundles whose entries ask for `DELETE`.

use crate::extracts::record::{Record, SourceRow};

use super::parts::text;
use super::pointing::{Key, Target, target_of};
use super::reader::{RESOURCE, Reading, note};
use super::resources::Bundle;
use super::rows::row_of;

impl Bundle<'_> {
    /// What is deleted, as `Type/id`.
    pub(super) fn deleted(&self) -> impl Iterator<Item = &str> {
        let requests = self.entry.iter().filter_map(|entry| entry.request.as_ref());
        let deletions = requests.filter(|request| text(&request.method).eq_ignore_ascii_case("DELETE"));
        deletions.map(|request| text(&request.url))
    }
}

impl Reading<'_> {
    /// Rows that withdraw what is deleted. Patients and encounters are known by the ids of
    /// their rows. Observations and procedures are too many to remember: a deletion removes
    /// their row when the id of the row is that of the resource, that is, when the resource
    /// has no identifier of its own; a hospital that gives identifiers must send
    /// `entered-in-error`, and the record's note says so.
    pub(super) fn bundle(&self, bundle: &Bundle<'_>, record: &mut Record) {
        let mut has_deletion = false;
        for url in bundle.deleted() {
            has_deletion = true;
            let Target::Resource(kind, id) = target_of(url, "") else {
                record.unmapped.push(note("FHIR deletion", url, "names no resource"));
                continue;
            };
            self.deletion(kind, id, record);
        }
        if !has_deletion {
            record
                .unmapped
                .push(note(RESOURCE, "Bundle", "no table is read from it"));
        }
    }

    fn deletion(&self, kind: &str, id: &str, record: &mut Record) {
        let key = Key::of(kind, id);
        let known = match kind {
            "Patient" => self
                .references
                .patients
                .get(&key)
                .and_then(|facts| facts.infant_id.as_deref()),
            "Encounter" => self
                .references
                .encounters
                .get(&key)
                .and_then(|facts| facts.stay_id.as_deref()),
            "Condition" => {
                record.rows.extend(self.without(key));
                return;
            }
            _ => None,
        };
        let columns: &[(&str, &str)] = match kind {
            "Patient" => &[("births", "infant_id")],
            "Encounter" => &[("stays", "stay_id")],
            "Observation" => &[
                ("screens", "screen_id"),
                ("serum", "specimen_id"),
                ("meter_checks", "check_id"),
            ],
            "Procedure" => &[("phototherapy", "episode_id"), ("exchanges", "exchange_id")],
            _ => &[],
        };
        if columns.is_empty() {
            record.unmapped.push(note("FHIR deletion", kind, "changes no row"));
        } else if matches!(kind, "Observation" | "Procedure") {
            let reach = "reaches rows whose id is that of the resource, not an identifier";
            record.unmapped.push(note("FHIR deletion", kind, reach));
        }
        for (table, column) in columns {
            let Some(mut row) = row_of(table) else { continue };
            row.say(column, known.unwrap_or(id));
            row.say("record_status", "withdrawn");
            record.rows.push(row);
        }
    }

    /// The stay of a condition that is no more, with the diagnoses that remain.
    fn without(&self, condition: Key) -> Option<SourceRow> {
        let encounter = self.references.conditions.get(&condition)?.encounter?;
        let facts = self.references.encounters.get(&encounter)?;
        let infant_id = self.references.patients.get(&facts.patient?)?.infant_id.as_deref()?;
        facts.stay_id.as_ref()?;
        let mut row = self.diagnoses_of(encounter, "")?;
        row.say("infant_id", infant_id);
        Some(row)
    }
}
