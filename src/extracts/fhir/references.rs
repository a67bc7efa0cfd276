//! The first pass: what other resources refer to, held in memory. A later load recalls
//! what earlier ones learned.

use std::collections::HashMap;
use std::io::{self, BufRead};

use serde::Serialize;
use serde_json::Value;

use super::facts::{ConditionFacts, DeviceFacts, EncounterFacts, PatientFacts, SpecimenFacts};
use super::lines::Lines;
use super::parts::{Identifier, Reference, contained, text};
use super::pointing::{Key, Target, key_of, target};
use super::resources::{Device, Patient, Specimen};
use super::settings::FhirSettings;

/// What is remembered of patients, encounters, conditions, specimens and devices.
///
/// A patient takes about 150 bytes, a specimen about 120, the others lie between. Of two
/// versions of a patient the one written later counts, of anything else the later line.
#[derive(Debug, Default)]
pub struct References {
    pub(super) patients: HashMap<Key, PatientFacts>,
    pub(super) encounters: HashMap<Key, EncounterFacts>,
    pub(super) conditions: HashMap<Key, ConditionFacts>,
    pub(super) specimens: HashMap<Key, SpecimenFacts>,
    pub(super) devices: HashMap<Key, DeviceFacts>,
}

/// Whose a row is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Baby {
    /// The baby of that id.
    Known(String),
    /// A patient who is no newborn.
    NoNewborn,
    /// A patient who has not come; as the reference says it.
    Absent(String),
    /// It is not given.
    NotGiven,
}

/// What a reference leads to.
pub(super) enum Found<T> {
    /// What is wanted.
    Yes(T),
    /// Nothing is referred to.
    NotGiven,
    /// The resource has not come; as the reference says it.
    Absent(String),
}

impl References {
    /// Reads a file of resources for what others may refer to. Lines that cannot be read
    /// are left for the second pass to report.
    ///
    /// # Errors
    /// When the file cannot be read on.
    pub fn index(&mut self, file: impl BufRead, settings: &FhirSettings) -> io::Result<()> {
        let mut lines = Lines::new(file);
        while let Some(line) = lines.next()? {
            if let (true, Ok(text)) = (line.is_whole, std::str::from_utf8(line.bytes)) {
                self.index_line(text, settings);
            }
        }
        Ok(())
    }

    /// Recalls what an earlier load learned. Returns whether it could be understood.
    pub fn recall(&mut self, key: &str, value: &str) -> bool {
        let Some((kind, id)) = key.split_once('/') else {
            return false;
        };
        let Some(id) = Key::read(id) else { return false };
        fn put<T: serde::de::DeserializeOwned>(into: &mut HashMap<Key, T>, id: Key, value: &str) -> bool {
            let read = serde_json::from_str(value);
            read.map(|facts| into.insert(id, facts)).is_ok()
        }
        match kind {
            "Patient" => put(&mut self.patients, id, value),
            "Encounter" => put(&mut self.encounters, id, value),
            "Condition" => put(&mut self.conditions, id, value),
            "Device" => put(&mut self.devices, id, value),
            "Specimen" => put(&mut self.specimens, id, value),
            _ => false,
        }
    }

    /// What was learned since it was recalled, for later loads: a key and small JSON.
    pub fn learned(&self) -> Vec<(String, String)> {
        let mut all = Vec::new();
        let mut keep = |kind: &str, id: &Key, facts: Option<String>| {
            all.extend(facts.map(|facts| (format!("{kind}/{}", id.written()), facts)));
        };
        fn json(facts: &impl Serialize) -> Option<String> {
            serde_json::to_string(facts).ok()
        }
        for (id, facts) in self.patients.iter().filter(|(_, facts)| facts.is_new) {
            keep("Patient", id, json(facts));
        }
        for (id, facts) in self.encounters.iter().filter(|(_, facts)| facts.is_new) {
            keep("Encounter", id, json(facts));
        }
        for (id, facts) in self.conditions.iter().filter(|(_, facts)| facts.is_new) {
            keep("Condition", id, json(facts));
        }
        for (id, facts) in self.devices.iter().filter(|(_, facts)| facts.is_new) {
            keep("Device", id, json(facts));
        }
        for (id, facts) in self.specimens.iter().filter(|(_, facts)| facts.is_new) {
            keep("Specimen", id, json(facts));
        }
        all.sort_unstable();
        all
    }

    /// Whether a patient is a newborn, by itself or because the one that replaces it is.
    pub(super) fn is_newborn(&self, facts: &PatientFacts) -> bool {
        const MOST_STEPS: usize = 8;
        let next = |facts: &&PatientFacts| self.patients.get(&facts.replaced_by?);
        let chain = std::iter::successors(Some(facts), next);
        chain.take(MOST_STEPS).any(PatientFacts::is_newborn)
    }

    /// Whose a resource is. A patient who has not come is known by an identifier in the
    /// reference, when there is one of the wanted kind.
    pub(super) fn baby(&self, subject: Option<&Reference<'_>>, inside: &[Value], settings: &FhirSettings) -> Baby {
        let Some(subject) = subject else { return Baby::NotGiven };
        let by_identifier = || {
            let identifier = subject.identifier.as_ref()?;
            settings
                .is_wanted(identifier)
                .then(|| text(&identifier.value).to_owned())
        };
        match target(subject, "Patient") {
            Target::Inside(id) => {
                let patient: Option<Patient<'_>> = contained(inside, "Patient", id);
                let infant_id = patient.map(|patient| settings.infant_id(&patient));
                let known = infant_id.filter(|id| !id.is_empty());
                known.map_or_else(|| Baby::Absent(format!("#{id}")), Baby::Known)
            }
            Target::Resource(kind, id) => {
                let facts = self.patients.get(&Key::of(kind, id));
                match facts.and_then(|facts| Some((facts, facts.infant_id.as_deref()?))) {
                    Some((facts, infant_id)) if self.is_newborn(facts) => Baby::Known(infant_id.to_owned()),
                    Some(_) => Baby::NoNewborn,
                    None => match by_identifier() {
                        Some(infant_id) => Baby::Known(infant_id),
                        None => Baby::Absent(text(&subject.reference).to_owned()),
                    },
                }
            }
            Target::Nothing => by_identifier().map_or(Baby::NotGiven, Baby::Known),
        }
    }

    /// As [`Self::baby`], for parts of the birth register: they wait until the patient itself
    /// comes, for alone they would make a birth of which nothing else is known.
    pub(super) fn registered(
        &self,
        subject: Option<&Reference<'_>>,
        inside: &[Value],
        settings: &FhirSettings,
    ) -> Baby {
        let baby = self.baby(subject, inside, settings);
        let has_come = match subject.map(|subject| target(subject, "Patient")) {
            Some(Target::Resource(kind, id)) => self
                .patients
                .get(&Key::of(kind, id))
                .is_some_and(PatientFacts::has_come),
            Some(Target::Nothing) => false,
            Some(Target::Inside(_)) | None => true,
        };
        match (baby, subject) {
            (Baby::Known(infant_id), Some(subject)) if !has_come => match text(&subject.reference) {
                "" => Baby::Absent(infant_id),
                reference => Baby::Absent(reference.to_owned()),
            },
            (baby, _) => baby,
        }
    }

    /// The infant id of a patient who may or may not be a newborn.
    pub(super) fn infant_id(&self, patient: &Reference<'_>, settings: &FhirSettings) -> Found<String> {
        let known = key_of(Some(patient), "Patient").and_then(|key| self.patients.get(&key)?.infant_id.as_deref());
        let identifier = patient
            .identifier
            .as_ref()
            .filter(|identifier| settings.is_wanted(identifier));
        match known.or(identifier.map(|identifier| text(&identifier.value))) {
            Some(id) => Found::Yes(id.to_owned()),
            None => absent_or_not_given(patient),
        }
    }

    /// The meter that a reference means.
    pub(super) fn meter_id(&self, device: Option<&Reference<'_>>, inside: &[Value]) -> Found<String> {
        let Some(device) = device else { return Found::NotGiven };
        let found = match target(device, "Device") {
            Target::Inside(id) => {
                contained(inside, "Device", id).map(|device: Device<'_>| device.meter_id().to_owned())
            }
            Target::Resource(kind, id) => {
                let facts = self.devices.get(&Key::of(kind, id));
                facts.map(|facts| facts.meter_id.to_string())
            }
            Target::Nothing => None,
        };
        let identifier = device.identifier.as_ref().map(|identifier| text(&identifier.value));
        let in_words = Some(text(&device.display)).filter(|_| text(&device.reference).is_empty());
        let otherwise = identifier.or(in_words).filter(|id| !id.is_empty());
        match found.or(otherwise.map(str::to_owned)) {
            Some(id) => Found::Yes(id),
            None => absent_or_not_given(device),
        }
    }

    /// What the specimen of a reference is of, and when it was taken.
    pub(super) fn specimen(&self, specimen: Option<&Reference<'_>>, inside: &[Value]) -> Found<(String, String)> {
        let Some(reference) = specimen else {
            return Found::NotGiven;
        };
        let found = match target(reference, "Specimen") {
            Target::Inside(id) => contained(inside, "Specimen", id).map(|specimen: Specimen<'_>| {
                let kind = specimen.kind.as_ref().map(|kind| kind.said().to_owned());
                (kind.unwrap_or_default(), specimen.collected_at().to_owned())
            }),
            Target::Resource(kind, id) => {
                let facts = self.specimens.get(&Key::of(kind, id));
                facts.map(|facts| (facts.word.to_string(), facts.collected_at.to_string()))
            }
            Target::Nothing => None,
        };
        found.map_or_else(|| absent_or_not_given(reference), Found::Yes)
    }

    /// The encounter that a reference means, if it has come.
    pub(super) fn encounter(&self, encounter: Option<&Reference<'_>>) -> Option<&EncounterFacts> {
        let facts = self.encounters.get(&key_of(encounter, "Encounter")?)?;
        facts.stay_id.is_some().then_some(facts)
    }

    /// The codes of a stay's diagnoses: those it lists by rank, then those that name it.
    pub(super) fn diagnoses(&self, encounter: &EncounterFacts) -> String {
        let mut codes: Vec<&str> = Vec::new();
        for condition in encounter.listed.iter().chain(&encounter.named_by) {
            let code = self.conditions.get(condition).map_or("", |facts| &facts.code);
            if !code.is_empty() && !codes.contains(&code) {
                codes.push(code);
            }
        }
        codes.join(";")
    }
}

fn absent_or_not_given<T>(reference: &Reference<'_>) -> Found<T> {
    match text(&reference.reference) {
        "" => Found::NotGiven,
        said => Found::Absent(said.to_owned()),
    }
}

/// The first identifier; empty when there is none.
pub(super) fn first_identifier<'t>(identifiers: &'t [Identifier<'_>]) -> &'t str {
    let mut values = identifiers.iter().map(|identifier| text(&identifier.value));
    values.find(|value| !value.is_empty()).unwrap_or_default()
}

/// The first identifier, else the id of the resource.
pub(super) fn id_of<'t>(identifiers: &'t [Identifier<'_>], id: &'t Option<super::parts::Text<'_>>) -> &'t str {
    match first_identifier(identifiers) {
        "" => text(id),
        identifier => identifier,
    }
}

impl Device<'_> {
    /// The serial number, else an identifier, else the id.
    pub(super) fn meter_id(&self) -> &str {
        match text(&self.serial_number) {
            "" => id_of(&self.identifier, &self.id),
            serial => serial,
        }
    }
}

impl Specimen<'_> {
    /// When it was taken; empty when that is not given.
    pub(super) fn collected_at(&self) -> &str {
        let collection = self.collection.as_ref();
        let moment = collection.and_then(|collection| collection.collected_date_time.as_deref());
        let start = collection.and_then(|collection| collection.collected_period.as_ref()?.start.as_deref());
        moment.or(start).unwrap_or_default().trim()
    }
}
