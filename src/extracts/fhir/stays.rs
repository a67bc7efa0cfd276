//! Stays: from encounters, and the diagnoses that conditions add to them.

use crate::extracts::reason::Reason;
use crate::extracts::record::{Cell, Fault, Record, SourceRow};

use super::index::milliseconds;
use super::parts::{Concept, Reference, text};
use super::pointing::{Key, key_of};
use super::reader::{Reading, note};
use super::references::id_of;
use super::resources::{Condition, Encounter};
use super::rows::{absent, part_of, say_version};
use super::settings::FhirSettings;

/// A stay that begins so soon after the birth is the birth stay, when its source is not given.
const BIRTH_STAY_BEGINS_WITHIN_MS: i64 = 60 * 60 * 1000;

impl Encounter<'_> {
    /// The unit: the first place, else who provides the care.
    pub(super) fn unit(&self) -> &str {
        let place = self.location.first().and_then(|place| place.location.as_ref());
        let provider = self.service_provider.as_ref();
        let said = [
            place.map_or("", |place| text(&place.display)),
            place.map_or("", |place| last_part(text(&place.reference))),
            provider.map_or("", |provider| text(&provider.display)),
        ];
        said.into_iter().find(|said| !said.is_empty()).unwrap_or_default()
    }

    /// The conditions it lists: by rank, those without one last, else as they stand.
    pub(super) fn conditions(&self) -> impl Iterator<Item = &Reference<'_>> {
        let mut ranked: Vec<_> = self.diagnosis.iter().collect();
        ranked.sort_by_key(|diagnosis| diagnosis.rank.unwrap_or(u32::MAX));
        ranked.into_iter().filter_map(|diagnosis| diagnosis.condition.as_ref())
    }

    fn admit_source(&self) -> Option<&Concept<'_>> {
        self.hospitalization.as_ref()?.admit_source.as_ref()
    }

    pub(super) fn begins(&self) -> &str {
        self.period.as_ref().map_or("", |period| text(&period.start))
    }

    fn ends(&self) -> &str {
        self.period.as_ref().map_or("", |period| text(&period.end))
    }
}

fn last_part(reference: &str) -> &str {
    reference.rsplit('/').next().unwrap_or_default()
}

impl FhirSettings {
    /// Whether an encounter is a stay, by its class.
    pub(super) fn is_stay(&self, encounter: &Encounter<'_>) -> bool {
        let class = encounter.class.as_ref().map_or("", |class| text(&class.code));
        self.codes.word("encounter_class", class) == Some("stay")
    }

    /// The word of the contract for how an encounter began.
    pub(super) fn admit_source(&self, encounter: &Encounter<'_>) -> Option<&str> {
        self.word("source", encounter.admit_source()?)
    }

    /// The code of a condition: of ICD-10 when there is one, else the first. Empty when the
    /// condition is refuted or entered in error.
    pub(super) fn diagnosis<'c>(&self, condition: &'c Condition<'_>) -> &'c str {
        let holds_not = ["refuted", "entered-in-error"];
        let mut statuses = condition.verification_status.iter().flat_map(|status| &status.coding);
        if statuses.any(|status| holds_not.contains(&text(&status.code))) {
            return "";
        }
        let icd = self.codes.system("ICD-10");
        let codings = || condition.code.iter().flat_map(|concept| &concept.coding);
        let of_icd = codings().find(|coding| self.codes.system(text(&coding.system)) == icd);
        of_icd
            .or_else(|| codings().next())
            .map_or("", |coding| text(&coding.code))
    }
}

impl Reading<'_> {
    /// A stay, and the unit of birth when it is the birth stay.
    pub(super) fn encounter(&self, encounter: &Encounter<'_>, record: &mut Record) {
        let class = encounter.class.as_ref();
        let class_code = class.map_or("", |class| text(&class.code));
        let status = text(&encounter.status);
        if !self.settings.is_stay(encounter) {
            let system = class.map_or("", |class| text(&class.system));
            let code = if class_code.is_empty() { "Encounter" } else { class_code };
            record.unmapped.push(note(system, code, "an encounter that is no stay"));
            return;
        }
        if status == "planned" {
            record
                .unmapped
                .push(note("FHIR status", status, "an encounter that has not begun"));
            return;
        }
        let Some(mut row) = part_of("stays") else { return };
        row.say("stay_id", id_of(&encounter.identifier, &encounter.id));
        if matches!(status, "cancelled" | "entered-in-error") {
            row.say("record_status", "withdrawn");
        }
        say_version(&mut row, &encounter.meta);
        let shown = Concept::default();
        if !self.say_baby(
            &mut row,
            encounter.subject.as_ref(),
            &encounter.contained,
            Some(&shown),
            record,
        ) {
            record.unmapped.pop();
            let system = class.map_or("", |class| text(&class.system));
            record
                .unmapped
                .push(note(system, class_code, super::rows::OF_NO_NEWBORN));
            return;
        }
        if row.value("record_status") == "withdrawn" {
            record.rows.push(row);
            return;
        }
        row.say("unit", encounter.unit());
        row.say("admitted_at", encounter.begins());
        row.say("discharged_at", encounter.ends());
        self.say_source(&mut row, encounter);
        let hospitalization = encounter.hospitalization.as_ref();
        let disposition = hospitalization.and_then(|it| it.discharge_disposition.as_ref());
        self.say_word(&mut row, "disposition", disposition);
        let facts = self
            .references
            .encounters
            .get(&Key::of("Encounter", text(&encounter.id)));
        row.say(
            "diagnoses",
            facts.map_or(String::new(), |facts| self.references.diagnoses(facts)),
        );
        record.rows.extend(self.unit_of_birth(encounter, &row));
        record.rows.push(row);
    }

    fn say_source(&self, row: &mut SourceRow, encounter: &Encounter<'_>) {
        if encounter
            .admit_source()
            .is_some_and(|concept| !concept.said().is_empty())
        {
            return self.say_word(row, "source", encounter.admit_source());
        }
        let patient = key_of(encounter.subject.as_ref(), "Patient");
        let born_s = patient.and_then(|patient| self.references.patients.get(&patient)?.born_s);
        let begins = milliseconds(encounter.begins());
        let after = begins
            .zip(born_s)
            .map(|(begins, born_s)| begins.saturating_sub(born_s.saturating_mul(1000)));
        let is_birth = after.is_some_and(|after| (0..=BIRTH_STAY_BEGINS_WITHIN_MS).contains(&after));
        row.say("source", if is_birth { "birth" } else { "" });
    }

    /// Says the word of the contract; a word that is not listed is a fault.
    fn say_word(&self, row: &mut SourceRow, column: &str, concept: Option<&Concept<'_>>) {
        let said = concept.map_or("", |concept| concept.said());
        match concept.and_then(|concept| self.settings.word(column, concept)) {
            Some(word) => row.say(column, Cell::read_from(said, word.to_owned())),
            None if said.is_empty() => row.say(column, ""),
            None => {
                let remedy = format!("name the word under [words.{column}] of sources.toml");
                row.fail(Fault::of_cell(Reason::UnknownWord, column, said).with_remedy(remedy));
            }
        }
    }

    /// The birth stay gives the unit of birth, unless the baby's own record does: it
    /// claims no version.
    fn unit_of_birth(&self, encounter: &Encounter<'_>, stay: &SourceRow) -> Option<SourceRow> {
        let (infant_id, unit) = (stay.value("infant_id"), stay.value("unit"));
        if stay.value("source") != "birth" || infant_id.is_empty() || unit.is_empty() || stay.fault.is_some() {
            return None;
        }
        let patient = self
            .references
            .patients
            .get(&key_of(encounter.subject.as_ref(), "Patient")?)?;
        if !patient.has_come() {
            return None;
        }
        let mut row = part_of("births")?;
        row.say("infant_id", infant_id);
        row.say("unit", unit);
        Some(row)
    }

    /// All diagnoses now known of the stay that a condition belongs to.
    pub(super) fn condition(&self, condition: &Condition<'_>, record: &mut Record) {
        let facts = self
            .references
            .conditions
            .get(&Key::of("Condition", text(&condition.id)));
        let named = key_of(condition.encounter.as_ref(), "Encounter");
        let Some(encounter) = named.or(facts.and_then(|facts| facts.encounter)) else {
            return self.unmapped(condition.code.as_ref(), "Condition", record);
        };
        let reference = condition
            .encounter
            .as_ref()
            .map_or("", |encounter| text(&encounter.reference));
        let Some(mut row) = self.diagnoses_of(encounter, reference) else {
            return self.unmapped(condition.code.as_ref(), "Condition", record);
        };
        let code = condition.code.as_ref();
        if self.say_baby(&mut row, condition.subject.as_ref(), &condition.contained, code, record) {
            record.rows.push(row);
        }
    }

    /// A part of a stay with its diagnoses; none when the encounter is known to be no stay.
    pub(super) fn diagnoses_of(&self, encounter: Key, reference: &str) -> Option<SourceRow> {
        let mut row = part_of("stays")?;
        let facts = self.references.encounters.get(&encounter);
        match facts.and_then(|facts| Some((facts, facts.stay_id.as_deref()?))) {
            Some((facts, _)) if !facts.is_stay => return None,
            Some((facts, stay_id)) => {
                row.say("stay_id", stay_id);
                row.say("diagnoses", self.references.diagnoses(facts));
            }
            None => row.fail(absent("stay_id", reference)),
        }
        Some(row)
    }
}
