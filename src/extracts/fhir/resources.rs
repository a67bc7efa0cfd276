//! The resources that are read, with the fields that matter (FHIR R4, hl7.org/fhir/R4).

use serde::Deserialize;
use serde_json::{Number, Value};

use super::parts::{Concept, Extended, Extension, Identifier, Meta, Period, Quantity, Reference, Text, list};

/// Only the type, for a line that does not begin with it.
#[derive(Debug, Default, Deserialize)]
#[serde(default, rename_all = "camelCase")]
pub(super) struct Head<'a> {
    #[serde(borrow)]
    pub(super) resource_type: Option<Text<'a>>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default, rename_all = "camelCase")]
pub(super) struct Patient<'a> {
    #[serde(borrow)]
    pub(super) id: Option<Text<'a>>,
    pub(super) meta: Option<Meta<'a>>,
    #[serde(deserialize_with = "list")]
    pub(super) identifier: Vec<Identifier<'a>>,
    pub(super) gender: Option<Text<'a>>,
    pub(super) birth_date: Option<Text<'a>>,
    #[serde(rename = "_birthDate")]
    pub(super) birth_date_extended: Option<Extended<'a>>,
    pub(super) multiple_birth_integer: Option<Number>,
    #[serde(deserialize_with = "list")]
    pub(super) link: Vec<Link<'a>>,
    #[serde(deserialize_with = "list")]
    pub(super) extension: Vec<Extension<'a>>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Link<'a> {
    #[serde(borrow)]
    pub(super) other: Option<Reference<'a>>,
    #[serde(rename = "type")]
    pub(super) kind: Option<Text<'a>>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct RelatedPerson<'a> {
    #[serde(borrow)]
    pub(super) meta: Option<Meta<'a>>,
    pub(super) patient: Option<Reference<'a>>,
    #[serde(deserialize_with = "list")]
    pub(super) relationship: Vec<Concept<'a>>,
    #[serde(deserialize_with = "list")]
    pub(super) identifier: Vec<Identifier<'a>>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default, rename_all = "camelCase")]
pub(super) struct Encounter<'a> {
    #[serde(borrow)]
    pub(super) id: Option<Text<'a>>,
    pub(super) meta: Option<Meta<'a>>,
    #[serde(deserialize_with = "list")]
    pub(super) identifier: Vec<Identifier<'a>>,
    pub(super) status: Option<Text<'a>>,
    pub(super) class: Option<super::parts::Coding<'a>>,
    pub(super) subject: Option<Reference<'a>>,
    pub(super) period: Option<Period<'a>>,
    #[serde(deserialize_with = "list")]
    pub(super) location: Vec<Place<'a>>,
    pub(super) service_provider: Option<Reference<'a>>,
    pub(super) hospitalization: Option<Hospitalization<'a>>,
    #[serde(deserialize_with = "list")]
    pub(super) diagnosis: Vec<Diagnosis<'a>>,
    #[serde(deserialize_with = "list")]
    pub(super) contained: Vec<Value>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Place<'a> {
    #[serde(borrow)]
    pub(super) location: Option<Reference<'a>>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default, rename_all = "camelCase")]
pub(super) struct Hospitalization<'a> {
    #[serde(borrow)]
    pub(super) admit_source: Option<Concept<'a>>,
    pub(super) discharge_disposition: Option<Concept<'a>>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Diagnosis<'a> {
    #[serde(borrow)]
    pub(super) condition: Option<Reference<'a>>,
    pub(super) rank: Option<u32>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default, rename_all = "camelCase")]
pub(super) struct Condition<'a> {
    #[serde(borrow)]
    pub(super) id: Option<Text<'a>>,
    pub(super) verification_status: Option<Concept<'a>>,
    pub(super) code: Option<Concept<'a>>,
    pub(super) subject: Option<Reference<'a>>,
    pub(super) encounter: Option<Reference<'a>>,
    #[serde(deserialize_with = "list")]
    pub(super) contained: Vec<Value>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default, rename_all = "camelCase")]
pub(super) struct Observation<'a> {
    #[serde(borrow)]
    pub(super) id: Option<Text<'a>>,
    pub(super) meta: Option<Meta<'a>>,
    #[serde(deserialize_with = "list")]
    pub(super) identifier: Vec<Identifier<'a>>,
    pub(super) status: Option<Text<'a>>,
    pub(super) code: Option<Concept<'a>>,
    pub(super) subject: Option<Reference<'a>>,
    pub(super) encounter: Option<Reference<'a>>,
    pub(super) effective_date_time: Option<Text<'a>>,
    pub(super) effective_instant: Option<Text<'a>>,
    pub(super) effective_period: Option<Period<'a>>,
    pub(super) issued: Option<Text<'a>>,
    #[serde(deserialize_with = "list")]
    pub(super) performer: Vec<Reference<'a>>,
    pub(super) value_quantity: Option<Quantity<'a>>,
    pub(super) value_string: Option<Text<'a>>,
    pub(super) value_integer: Option<Number>,
    pub(super) value_codeable_concept: Option<Concept<'a>>,
    pub(super) data_absent_reason: Option<Concept<'a>>,
    pub(super) body_site: Option<Concept<'a>>,
    pub(super) specimen: Option<Reference<'a>>,
    pub(super) device: Option<Reference<'a>>,
    #[serde(deserialize_with = "list")]
    pub(super) component: Vec<Component<'a>>,
    #[serde(deserialize_with = "list")]
    pub(super) extension: Vec<Extension<'a>>,
    #[serde(deserialize_with = "list")]
    pub(super) contained: Vec<Value>,
}

/// What the first pass reads of an Observation.
#[derive(Debug, Default, Deserialize)]
#[serde(default, rename_all = "camelCase")]
pub(super) struct ObservationHead<'a> {
    #[serde(borrow)]
    pub(super) status: Option<Text<'a>>,
    pub(super) code: Option<Concept<'a>>,
    pub(super) subject: Option<Reference<'a>>,
    pub(super) effective_date_time: Option<Text<'a>>,
    pub(super) effective_instant: Option<Text<'a>>,
    pub(super) effective_period: Option<Period<'a>>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default, rename_all = "camelCase")]
pub(super) struct Component<'a> {
    #[serde(borrow)]
    pub(super) code: Option<Concept<'a>>,
    pub(super) value_quantity: Option<Quantity<'a>>,
    pub(super) value_string: Option<Text<'a>>,
    pub(super) value_integer: Option<Number>,
    pub(super) value_codeable_concept: Option<Concept<'a>>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default, rename_all = "camelCase")]
pub(super) struct Procedure<'a> {
    #[serde(borrow)]
    pub(super) id: Option<Text<'a>>,
    pub(super) meta: Option<Meta<'a>>,
    #[serde(deserialize_with = "list")]
    pub(super) identifier: Vec<Identifier<'a>>,
    pub(super) status: Option<Text<'a>>,
    pub(super) code: Option<Concept<'a>>,
    pub(super) subject: Option<Reference<'a>>,
    pub(super) encounter: Option<Reference<'a>>,
    pub(super) performed_date_time: Option<Text<'a>>,
    pub(super) performed_period: Option<Period<'a>>,
    pub(super) location: Option<Reference<'a>>,
    #[serde(deserialize_with = "list")]
    pub(super) extension: Vec<Extension<'a>>,
    #[serde(deserialize_with = "list")]
    pub(super) contained: Vec<Value>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Specimen<'a> {
    #[serde(borrow)]
    pub(super) id: Option<Text<'a>>,
    #[serde(rename = "type")]
    pub(super) kind: Option<Concept<'a>>,
    pub(super) collection: Option<Collection<'a>>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default, rename_all = "camelCase")]
pub(super) struct Collection<'a> {
    #[serde(borrow)]
    pub(super) collected_date_time: Option<Text<'a>>,
    pub(super) collected_period: Option<Period<'a>>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default, rename_all = "camelCase")]
pub(super) struct Device<'a> {
    #[serde(borrow)]
    pub(super) id: Option<Text<'a>>,
    pub(super) serial_number: Option<Text<'a>>,
    #[serde(deserialize_with = "list")]
    pub(super) identifier: Vec<Identifier<'a>>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Bundle<'a> {
    #[serde(borrow, deserialize_with = "list")]
    pub(super) entry: Vec<Entry<'a>>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Entry<'a> {
    #[serde(borrow)]
    pub(super) request: Option<Request<'a>>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Request<'a> {
    #[serde(borrow)]
    pub(super) method: Option<Text<'a>>,
    pub(super) url: Option<Text<'a>>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct OperationOutcome<'a> {
    #[serde(borrow, deserialize_with = "list")]
    pub(super) issue: Vec<Issue<'a>>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Issue<'a> {
    #[serde(borrow)]
    pub(super) code: Option<Text<'a>>,
    pub(super) diagnostics: Option<Text<'a>>,
    pub(super) details: Option<Concept<'a>>,
}

impl Patient<'_> {
    /// The moment of birth, as given.
    pub(super) fn birth_time(&self) -> Option<&str> {
        const BIRTH_TIME: &str = "http://hl7.org/fhir/StructureDefinition/patient-birthTime";
        let extended = self.birth_date_extended.as_ref()?;
        let mut times = extended
            .extension
            .iter()
            .filter(|of| of.url.as_deref() == Some(BIRTH_TIME));
        times.find_map(|of| of.value_date_time.as_deref())
    }

    /// The patient that replaces this one.
    pub(super) fn replaced_by(&self) -> Option<&Reference<'_>> {
        let mut links = self
            .link
            .iter()
            .filter(|link| link.kind.as_deref() == Some("replaced-by"));
        links.find_map(|link| link.other.as_ref())
    }
}

/// The moment of an observation, whichever way it is given.
pub(super) fn effective<'t>(
    date_time: &'t Option<Text<'_>>,
    instant: &'t Option<Text<'_>>,
    period: &'t Option<Period<'_>>,
) -> &'t str {
    let start = period.as_ref().and_then(|period| period.start.as_deref());
    let given = date_time.as_deref().or(instant.as_deref()).or(start);
    given.unwrap_or_default().trim()
}
