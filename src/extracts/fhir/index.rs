//! The first pass over one line: which facts it states.

use std::collections::HashMap;

use jiff::Timestamp;
use jiff::civil::{Date, date};

use super::facts::{ConditionFacts, DeviceFacts, EncounterFacts, PatientFacts, SpecimenFacts};
use super::parts::{Reference, text};
use super::pointing::{Key, Target, key_of, target_of};
use super::reader::kind_of;
use super::references::{References, id_of};
use super::resources::{
    Bundle, Condition, Device, Encounter, ObservationHead, Patient, Procedure, RelatedPerson, Specimen, effective,
};
use super::settings::FhirSettings;

/// Facts that know whether they changed since they were recalled.
trait Remembered: Clone + Default + PartialEq {
    fn mark_new(&mut self);
}

macro_rules! remembered {
    ($($facts:ty),*) => {
        $(impl Remembered for $facts {
            fn mark_new(&mut self) {
                self.is_new = true;
            }
        })*
    };
}

remembered!(PatientFacts, EncounterFacts, ConditionFacts, SpecimenFacts, DeviceFacts);

/// Changes what is known of a resource. One without an id cannot be referred to.
fn learn<T: Remembered>(of: &mut HashMap<Key, T>, key: Option<Key>, change: impl FnOnce(&mut T)) {
    let Some(key) = key else { return };
    match of.get_mut(&key) {
        Some(known) => {
            let before = known.clone();
            change(known);
            if *known != before {
                known.mark_new();
            }
        }
        None => {
            let mut facts = T::default();
            change(&mut facts);
            facts.mark_new();
            of.insert(key, facts);
        }
    }
}

impl References {
    pub(super) fn index_line(&mut self, line: &str, settings: &FhirSettings) {
        let Some(kind) = kind_of(line) else { return };
        match kind.as_ref() {
            "Patient" => read(line, |patient| self.index_patient(&patient, settings)),
            "RelatedPerson" => read(line, |person| self.index_mother(&person, settings)),
            "Encounter" => read(line, |encounter| self.index_encounter(&encounter, settings)),
            "Condition" => read(line, |condition| self.index_condition(&condition, settings)),
            "Observation" => read(line, |observation| self.index_observation(&observation, settings)),
            "Procedure" => read(line, |procedure| self.index_procedure(&procedure, settings)),
            "Specimen" => read(line, |specimen| self.index_specimen(&specimen)),
            "Device" => read(line, |device| self.index_device(&device)),
            "Bundle" => read(line, |bundle| self.index_deletions(&bundle)),
            _ => {}
        }
    }

    fn index_patient(&mut self, patient: &Patient<'_>, settings: &FhirSettings) {
        let key = Key::of_resource("Patient", text(&patient.id));
        let birth_time = patient.birth_time();
        let replaced_by = key_of(patient.replaced_by(), "Patient");
        let is_replaced = patient.replaced_by().is_some();
        let updated_ms = patient
            .meta
            .as_ref()
            .and_then(|meta| milliseconds(text(&meta.last_updated)));
        learn(&mut self.patients, key, |facts| {
            facts.was_replaced |= is_replaced;
            if updated_ms
                .zip(facts.updated_ms)
                .is_some_and(|(this, known)| this < known)
            {
                return;
            }
            facts.infant_id = Some(settings.infant_id(patient).into());
            facts.born_day = day_of(birth_time.unwrap_or_else(|| text(&patient.birth_date)));
            facts.born_s = birth_time.and_then(milliseconds).map(|ms| ms.div_euclid(1000));
            facts.has_birth_time = birth_time.is_some();
            facts.replaced_by = replaced_by;
            facts.updated_ms = updated_ms.or(facts.updated_ms);
        });
    }

    fn index_mother(&mut self, person: &RelatedPerson<'_>, settings: &FhirSettings) {
        let patient = key_of(person.patient.as_ref(), "Patient");
        if settings.is_mother(person) {
            learn(&mut self.patients, patient, |facts| facts.has_mother = true);
        }
    }

    fn index_encounter(&mut self, encounter: &Encounter<'_>, settings: &FhirSettings) {
        let key = Key::of_resource("Encounter", text(&encounter.id));
        let patient = key_of(encounter.subject.as_ref(), "Patient");
        let listed: Vec<Key> = encounter
            .conditions()
            .filter_map(|it| key_of(Some(it), "Condition"))
            .collect();
        for condition in &listed {
            learn(&mut self.conditions, Some(*condition), |facts| {
                facts.encounter = key.or(facts.encounter)
            });
        }
        let is_stay = settings.is_stay(encounter);
        learn(&mut self.encounters, key, |facts| {
            facts.stay_id = Some(id_of(&encounter.identifier, &encounter.id).into());
            facts.unit = encounter.unit().into();
            facts.is_stay = is_stay;
            facts.patient = patient;
            facts.listed = listed;
        });
        let start = encounter.begins();
        if settings.admit_source(encounter) == Some("birth") {
            self.see(encounter.subject.as_ref(), start, true);
        } else if is_stay {
            self.see(encounter.subject.as_ref(), start, false);
        }
    }

    fn index_condition(&mut self, condition: &Condition<'_>, settings: &FhirSettings) {
        let Some(key) = Key::of_resource("Condition", text(&condition.id)) else {
            return;
        };
        let encounter = key_of(condition.encounter.as_ref(), "Encounter");
        let code = settings.diagnosis(condition);
        learn(&mut self.conditions, Some(key), |facts| {
            facts.code = code.into();
            facts.encounter = encounter.or(facts.encounter);
        });
        learn(&mut self.encounters, encounter, |facts| {
            if !facts.named_by.contains(&key) {
                facts.named_by.push(key);
            }
        });
    }

    fn index_observation(&mut self, observation: &ObservationHead<'_>, settings: &FhirSettings) {
        let Some(meant) = settings.meaning(observation.code.as_ref()) else {
            return;
        };
        let is_birth = match meant.meaning {
            "gestation" | "birth_weight" | "plurality" | "feeding" | "mother" | "unit" => true,
            "screen" | "serum" => false,
            _ => return,
        };
        if matches!(observation.status.as_deref(), Some("entered-in-error")) {
            return;
        }
        let at = effective(
            &observation.effective_date_time,
            &observation.effective_instant,
            &observation.effective_period,
        );
        self.see(observation.subject.as_ref(), at, is_birth);
    }

    fn index_procedure(&mut self, procedure: &Procedure<'_>, settings: &FhirSettings) {
        let meant = settings.meaning(procedure.code.as_ref());
        if meant.is_some_and(|meant| meant.meaning.starts_with("phototherapy")) {
            self.see(procedure.subject.as_ref(), procedure.start(), false);
        }
    }

    fn index_specimen(&mut self, specimen: &Specimen<'_>) {
        let word = specimen.kind.as_ref().map_or("", |kind| kind.said());
        learn(
            &mut self.specimens,
            Key::of_resource("Specimen", text(&specimen.id)),
            |facts| {
                facts.word = word.into();
                facts.collected_at = specimen.collected_at().into();
            },
        );
    }

    fn index_device(&mut self, device: &Device<'_>) {
        learn(
            &mut self.devices,
            Key::of_resource("Device", text(&device.id)),
            |facts| {
                facts.meter_id = device.meter_id().into();
            },
        );
    }

    /// A condition that was deleted holds no more.
    fn index_deletions(&mut self, bundle: &Bundle<'_>) {
        for url in bundle.deleted() {
            if let Target::Resource("Condition", id) = target_of(url, "") {
                learn(&mut self.conditions, Key::of_resource("Condition", id), |facts| {
                    facts.code = "".into()
                });
            }
        }
    }

    /// Notes the day of what a record says of a patient; the first day counts. A gestation
    /// or birth without a day counts as stated on no particular day.
    fn see(&mut self, patient: Option<&Reference<'_>>, at: &str, is_birth: bool) {
        let Some(key) = key_of(patient, "Patient") else { return };
        let day = match day_of(at) {
            Some(day) => day,
            None if is_birth => i32::MIN,
            None => return,
        };
        let facts = self.patients.entry(key).or_default();
        let first = if is_birth {
            &mut facts.birth_told_day
        } else {
            &mut facts.seen_day
        };
        if first.is_none_or(|first| day < first) {
            *first = Some(day);
            facts.is_new = true;
        }
    }
}

fn read<'l, T: serde::Deserialize<'l>>(line: &'l str, then: impl FnOnce(T)) {
    if let Ok(resource) = serde_json::from_str(line) {
        then(resource);
    }
}

/// Days since 1970 of a time or a date.
pub(super) fn day_of(at: &str) -> Option<i32> {
    let day: Date = at.get(..10)?.parse().ok()?;
    i32::try_from(day.duration_since(date(1970, 1, 1)).as_hours() / 24).ok()
}

/// Milliseconds since 1970 of a time with an offset.
pub(super) fn milliseconds(at: &str) -> Option<i64> {
    at.parse::<Timestamp>().ok().map(Timestamp::as_millisecond)
}
