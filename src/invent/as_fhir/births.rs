//! Births: a Patient, its mother, and an Observation for each thing stated of it; merges.

use std::io;

use serde_json::{Map, Value, json};

use super::FhirWriter;
use super::cells::{
    Cells, LOINC, SISKIN, extension, medical_record_number, patient, put_if_any, put_list, quantity, resource_id,
};

/// Columns that become observations, and the code of each.
const OBSERVED: [(&str, &str, &str); 8] = [
    ("gestation", LOINC, "76516-4"),
    ("birth_weight_g", LOINC, "8339-4"),
    ("plurality", SISKIN, "plurality"),
    ("unit", SISKIN, "unit"),
    ("feeding", SISKIN, "feeding"),
    ("risk_factors", SISKIN, "risk_factors"),
    ("skin_tone", SISKIN, "skin_tone"),
    ("ethnicity", SISKIN, "ethnicity"),
];

impl FhirWriter {
    pub(super) fn birth(&mut self, cells: &Cells<'_>) -> io::Result<()> {
        let infant_id = cells.id();
        let version = self.version("births", infant_id);
        if cells.is_withdrawn() {
            if !self.patients.contains_key(infant_id) {
                self.put("Patient", &Value::Object(named(infant_id)))?;
            }
            return self.put_deletion(&format!("Patient/{}", resource_id(infant_id)));
        }
        let resource = Value::Object(patient_of(cells, version));
        self.put("Patient", &resource)?;
        self.patients.insert(infant_id.to_owned(), resource.to_string());
        self.mother(cells, version)?;
        for (column, system, code) in OBSERVED {
            // What an earlier version or the birth stay may have stated is emptied.
            if cells.get(column).is_empty() && version == 1 && column != "unit" {
                continue;
            }
            let mut observation = cells.begun(&format!("births-{infant_id}-{column}"), version);
            observation.insert("status".into(), json!("final"));
            observation.insert("code".into(), json!({"coding": [{"system": system, "code": code}]}));
            observation.insert("subject".into(), patient(infant_id));
            put_if_any(&mut observation, "effectiveDateTime", &cells.moment("born_at"));
            put_value(&mut observation, column, cells.get(column));
            self.put("Observation", &Value::Object(observation))?;
        }
        Ok(())
    }

    fn mother(&mut self, cells: &Cells<'_>, version: u32) -> io::Result<()> {
        let (infant_id, mother_id) = (cells.id(), cells.get("mother_id"));
        if mother_id.is_empty() {
            return Ok(());
        }
        let mut mother = cells.begun(&format!("mother-of-{infant_id}"), version);
        let role = "http://terminology.hl7.org/CodeSystem/v3-RoleCode";
        mother.insert("identifier".into(), json!([medical_record_number(mother_id)]));
        mother.insert("patient".into(), patient(infant_id));
        mother.insert(
            "relationship".into(),
            json!([{"coding": [{"system": role, "code": "MTH"}]}]),
        );
        self.put("RelatedPerson", &Value::Object(mother))
    }

    /// The patient again, with the link to the one that replaces it, or without it.
    pub(super) fn merge(&mut self, cells: &Cells<'_>) -> io::Result<()> {
        let from = cells.id();
        let known = self.patients.get(from);
        let known = known.and_then(|known| serde_json::from_str::<Map<String, Value>>(known).ok());
        let mut resource = known.unwrap_or_else(|| named(from));
        let recorded_at = match (cells.is_withdrawn(), cells.moment("recorded_at")) {
            (true, recorded_at) if !recorded_at.is_empty() => recorded_at,
            _ => cells.moment("merged_at"),
        };
        resource.remove("meta");
        if !recorded_at.is_empty() {
            resource.insert("meta".into(), json!({"lastUpdated": recorded_at}));
        }
        if !cells.is_withdrawn() {
            let mut link = Map::new();
            link.insert("type".into(), json!("replaced-by"));
            if !cells.get("into_infant_id").is_empty() {
                link.insert("other".into(), patient(cells.get("into_infant_id")));
            } else {
                link.insert("other".into(), json!({}));
            }
            resource.insert("active".into(), json!(false));
            resource.insert("link".into(), json!([link]));
        }
        self.put("Patient", &Value::Object(resource))
    }
}

fn named(infant_id: &str) -> Map<String, Value> {
    let mut resource = Map::new();
    resource.insert("id".into(), json!(resource_id(infant_id)));
    resource.insert("identifier".into(), json!([medical_record_number(infant_id)]));
    resource
}

fn patient_of(cells: &Cells<'_>, version: u32) -> Map<String, Value> {
    let mut resource = cells.begun(cells.id(), version);
    if !cells.id().is_empty() {
        resource.insert("identifier".into(), json!([medical_record_number(cells.id())]));
    }
    let mut extensions = Vec::new();
    match cells.get("sex") {
        "F" => put_if_any(&mut resource, "gender", "female"),
        "M" => put_if_any(&mut resource, "gender", "male"),
        other @ ("other" | "unknown" | "") => put_if_any(&mut resource, "gender", other),
        other => extensions.push(extension("sex", other)),
    }
    let born_at = cells.moment("born_at");
    match born_at.get(..10) {
        Some(day) if born_at.len() > 10 => {
            put_if_any(&mut resource, "birthDate", day);
            let url = "http://hl7.org/fhir/StructureDefinition/patient-birthTime";
            let extended = json!({"extension": [{"url": url, "valueDateTime": born_at}]});
            resource.insert("_birthDate".into(), extended);
        }
        _ => put_if_any(&mut resource, "birthDate", &born_at),
    }
    let order = cells.get("birth_order");
    match order.parse::<u32>() {
        Ok(number) if number.to_string() == order => {
            resource.insert("multipleBirthInteger".into(), json!(number));
        }
        _ if !order.is_empty() => extensions.push(extension("birth_order", order)),
        _ => {}
    }
    put_list(&mut resource, "extension", extensions);
    resource
}

/// The value of an observation: days or weeks, grams, or words.
fn put_value(observation: &mut Map<String, Value>, column: &str, said: &str) {
    let whole = said.parse::<u32>().ok().filter(|number| number.to_string() == said);
    let in_quantity = match (column, whole) {
        ("gestation", Some(weeks)) => Some(quantity(weeks, "wk")),
        ("gestation", None) => days(said).map(|days| quantity(days, "d")),
        ("birth_weight_g", Some(grams)) => Some(quantity(grams, "g")),
        _ => None,
    };
    if let Some(quantity) = in_quantity {
        observation.insert("valueQuantity".into(), quantity);
    } else if said.is_empty() {
        let system = "http://terminology.hl7.org/CodeSystem/data-absent-reason";
        let reason = json!({"coding": [{"system": system, "code": "unknown"}]});
        observation.insert("dataAbsentReason".into(), reason);
    } else {
        put_if_any(observation, "valueString", said);
    }
}

/// Days of `38+4`, when they say it back in the same words.
fn days(gestation: &str) -> Option<u32> {
    let (weeks, days) = gestation.split_once('+')?;
    let all = weeks
        .parse::<u32>()
        .ok()?
        .checked_mul(7)?
        .checked_add(days.parse().ok()?)?;
    (format!("{}+{}", all / 7, all % 7) == gestation).then_some(all)
}
