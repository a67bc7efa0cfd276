//! Parts of the birth register: from the patient, its mother, and what is observed of it.

use serde_json::{Number, Value};

use crate::extracts::reason::Reason;
use crate::extracts::record::{Cell, Fault, Record, SourceRow};

use super::facts::PatientFacts;
use super::parts::{Concept, Quantity, Reference, count, text};
use super::pointing::Key;
use super::reader::{RESOURCE, Reading, note};
use super::references::{Baby, Found};
use super::resources::{Observation, Patient, RelatedPerson};
use super::rows::{OF_NO_NEWBORN, absent, part_of, row_of, say_version};
use super::settings::{FhirSettings, first_coding};

impl FhirSettings {
    /// Whether a person is the patient's mother.
    pub(super) fn is_mother(&self, person: &RelatedPerson<'_>) -> bool {
        let mut relationships = person.relationship.iter();
        relationships.any(|concept| self.word("relationship", concept) == Some("mother"))
    }
}

impl Reading<'_> {
    /// A newborn's part of the birth register; of a patient that another replaces, the merge alone.
    pub(super) fn patient(&self, patient: &Patient<'_>, record: &mut Record) {
        let infant_id = self.settings.infant_id(patient);
        let facts = self.references.patients.get(&Key::of("Patient", text(&patient.id)));
        let stands_again = |facts: &PatientFacts| facts.was_replaced && facts.replaced_by.is_none();
        if patient.replaced_by().is_none() && facts.is_some_and(stands_again) {
            record.rows.extend(unmerge(patient, &infant_id));
        }
        let is_newborn = facts.map_or(patient.birth_time().is_some(), |facts| {
            self.references.is_newborn(facts)
        });
        if !is_newborn {
            record
                .unmapped
                .push(note(RESOURCE, "Patient (nothing tells of a birth)", ""));
            return;
        }
        if patient.replaced_by().is_some() {
            record.rows.extend(self.merge(patient, &infant_id));
            return;
        }
        let Some(mut row) = part_of("births") else { return };
        row.say("infant_id", infant_id);
        row.say(
            "born_at",
            patient.birth_time().unwrap_or_else(|| text(&patient.birth_date)),
        );
        let details = self.settings.details(&[], &patient.extension);
        let sex = details.of("sex").unwrap_or_else(|| {
            let gender = text(&patient.gender);
            self.settings.codes.word("sex", gender).unwrap_or(gender).to_owned()
        });
        row.say("sex", Cell::read_from(text(&patient.gender), sex));
        let order = patient.multiple_birth_integer.as_ref().map(count);
        let order = order.or_else(|| details.of("birth_order"));
        row.say("birth_order", order.unwrap_or_default());
        say_version(&mut row, &patient.meta);
        record.rows.push(row);
    }

    fn merge(&self, patient: &Patient<'_>, infant_id: &str) -> Option<SourceRow> {
        let mut row = row_of("merges")?;
        row.say("from_infant_id", infant_id);
        match self.references.infant_id(patient.replaced_by()?, self.settings) {
            Found::Yes(other) => row.say("into_infant_id", other),
            Found::Absent(reference) => row.fail(absent("into_infant_id", &reference)),
            Found::NotGiven => {}
        }
        let merged_at = patient.meta.as_ref().map_or("", |meta| text(&meta.last_updated));
        row.say("merged_at", merged_at);
        say_version(&mut row, &patient.meta);
        Some(row)
    }

    /// The mother of a newborn.
    pub(super) fn related_person(&self, person: &RelatedPerson<'_>, record: &mut Record) {
        if !self.settings.is_mother(person) {
            return self.unmapped(person.relationship.first(), "RelatedPerson", record);
        }
        let mother_id = self.settings.identifier(&person.identifier);
        if mother_id.is_empty() {
            record
                .unmapped
                .push(note(RESOURCE, "RelatedPerson", "a mother without an identifier"));
            return;
        }
        let (patient, code) = (person.patient.as_ref(), person.relationship.first());
        let Some(mut row) = self.part_of_birth(patient, &[], code, record) else {
            return;
        };
        row.say("mother_id", mother_id);
        say_version(&mut row, &person.meta);
        record.rows.push(row);
    }

    /// A part of the birth register for a newborn; none, and a note, for another patient.
    fn part_of_birth(
        &self,
        subject: Option<&Reference<'_>>,
        inside: &[Value],
        code: Option<&Concept<'_>>,
        record: &mut Record,
    ) -> Option<SourceRow> {
        let mut row = part_of("births")?;
        match self.references.registered(subject, inside, self.settings) {
            Baby::Known(infant_id) => row.say("infant_id", infant_id),
            Baby::Absent(reference) => row.fail(absent("infant_id", &reference)),
            Baby::NotGiven => {}
            Baby::NoNewborn => {
                let mut code = first_coding(code);
                OF_NO_NEWBORN.clone_into(&mut code.display);
                record.unmapped.push(code);
                return None;
            }
        }
        Some(row)
    }

    /// What an observation says of a newborn, in a column of the birth register.
    pub(super) fn described(&self, observation: &Observation<'_>, column: &str, record: &mut Record) {
        let status = text(&observation.status);
        if matches!(status, "entered-in-error" | "cancelled") {
            let mut code = first_coding(observation.code.as_ref());
            code.display = format!("{status}: {column} is left as it was");
            record.unmapped.push(code);
            return;
        }
        let (subject, code) = (observation.subject.as_ref(), observation.code.as_ref());
        let Some(mut row) = self.part_of_birth(subject, &observation.contained, code, record) else {
            return;
        };
        let cell = match (column, &observation.value_quantity) {
            ("gestation", Some(quantity)) => self.gestation(quantity),
            ("birth_weight_g", Some(quantity)) => self.weight(quantity),
            _ => Ok(self.in_words(observation, column)),
        };
        match cell {
            Ok(cell) => row.say(column, cell),
            Err(fault) => row.fail(fault),
        }
        say_version(&mut row, &observation.meta);
        record.rows.push(row);
    }

    /// Completed weeks, or weeks and days of a number of days.
    fn gestation(&self, quantity: &Quantity<'_>) -> Result<Cell, Fault> {
        let written = quantity.as_written();
        let refused = |remedy: &str| {
            let fault = Fault::of_cell(Reason::UnreadableGestation, "gestation", &written);
            Err(fault.with_remedy(remedy))
        };
        let Some(value) = &quantity.value else {
            return Ok(Cell::from(""));
        };
        if !text(&quantity.comparator).is_empty() {
            return refused("give the gestation itself, without a comparator");
        }
        let Ok(number) = count(value).parse::<u32>() else {
            return refused("give whole days (unit d) or completed weeks (unit wk)");
        };
        match self.settings.codes.word("gestation_unit", quantity.unit()) {
            Some("d") => Ok(Cell::read_from(&written, format!("{}+{}", number / 7, number % 7))),
            Some("wk") => Ok(Cell::read_from(&written, number.to_string())),
            _ => refused("give the unit as d or wk, or name its word under [words.gestation_unit]"),
        }
    }

    /// A weight in whole grams; what is not whole stays as it is.
    fn weight(&self, quantity: &Quantity<'_>) -> Result<Cell, Fault> {
        let written = quantity.as_written();
        let refused = |remedy: &str| {
            let fault = Fault::of_cell(Reason::UnreadableValue, "birth_weight_g", &written);
            Err(fault.with_remedy(remedy))
        };
        let Some(value) = &quantity.value else {
            return Ok(Cell::from(""));
        };
        if !text(&quantity.comparator).is_empty() {
            return refused("give the weight itself, without a comparator");
        }
        match self.settings.codes.word("weight_unit", quantity.unit()) {
            Some("g") => Ok(Cell::read_from(&written, count(value))),
            Some("kg") => Ok(Cell::read_from(&written, grams(value))),
            _ => refused("give the unit as g or kg, or name its word under [words.weight_unit]"),
        }
    }

    /// What an observation says in words or as a count; several words are separated by `;`.
    fn in_words(&self, observation: &Observation<'_>, column: &str) -> Cell {
        let codes = &self.settings.codes;
        let word = |said: &str| codes.word(column, said).unwrap_or(said).to_owned();
        if let Some(concept) = &observation.value_codeable_concept {
            if column == "risk_factors" && text(&concept.text).is_empty() {
                let each = concept.coding.iter().map(|coding| {
                    let (code, display) = (text(&coding.code), text(&coding.display));
                    let known = codes.word(column, code).or_else(|| codes.word(column, display));
                    known.unwrap_or(if display.is_empty() { code } else { display })
                });
                return each.collect::<Vec<_>>().join(";").into();
            }
            return self.settings.word_or_said(column, concept).into();
        }
        if let Some(number) = &observation.value_integer {
            return count(number).into();
        }
        if let Some(number) = observation
            .value_quantity
            .as_ref()
            .and_then(|quantity| quantity.value.as_ref())
        {
            return count(number).into();
        }
        let said = text(&observation.value_string);
        let words: Vec<String> = said.split(';').map(|said| word(said.trim())).collect();
        Cell::read_from(
            said,
            if column == "risk_factors" {
                words.join(";")
            } else {
                word(said)
            },
        )
    }
}

/// 3.25 kg as 3250; digits are moved, not multiplied.
fn grams(kilograms: &Number) -> String {
    let written = super::parts::number(kilograms);
    let (whole, part) = written.split_once('.').unwrap_or((&written, ""));
    let part = part.trim_end_matches('0');
    let (milli, rest) = part.split_at(part.len().min(3));
    let grams = format!("{whole}{milli:0<3}");
    let grams = match grams.trim_start_matches('0') {
        "" => "0",
        grams => grams,
    };
    if rest.is_empty() {
        grams.to_owned()
    } else {
        format!("{grams}.{rest}")
    }
}

/// A patient that had been replaced stands for itself again.
fn unmerge(patient: &Patient<'_>, infant_id: &str) -> Option<SourceRow> {
    let mut row = row_of("merges")?;
    row.say("from_infant_id", infant_id);
    row.say("record_status", "withdrawn");
    say_version(&mut row, &patient.meta);
    Some(row)
}
