//! Stays: an Encounter, and a Condition for each diagnosis.

use std::io;

use serde_json::{Map, Value, json};

use super::cells::{Cells, patient, put_list, reference};
use super::{FhirWriter, hash};

impl FhirWriter {
    pub(super) fn stay(&mut self, cells: &Cells<'_>) -> io::Result<()> {
        let stay_id = cells.id();
        let version = self.version("stays", stay_id);
        let status = match (cells.is_withdrawn(), cells.get("discharged_at")) {
            (true, _) => "entered-in-error",
            (false, "") => "in-progress",
            (false, _) => "finished",
        };
        let mut encounter = cells.resource(version);
        encounter.insert("status".into(), json!(status));
        let class = "http://terminology.hl7.org/CodeSystem/v3-ActCode";
        encounter.insert("class".into(), json!({"system": class, "code": "IMP"}));
        cells.put_subject(&mut encounter);
        let mut period = Map::new();
        super::cells::put_if_any(&mut period, "start", &cells.moment("admitted_at"));
        super::cells::put_if_any(&mut period, "end", &cells.moment("discharged_at"));
        if !period.is_empty() {
            encounter.insert("period".into(), Value::Object(period));
        }
        if !cells.get("unit").is_empty() {
            encounter.insert("location".into(), json!([{"location": {"display": cells.get("unit")}}]));
        }
        let hospitalization = hospitalization(cells);
        if !hospitalization.is_empty() {
            encounter.insert("hospitalization".into(), Value::Object(hospitalization));
        }
        let codes = cells
            .get("diagnoses")
            .split(';')
            .map(str::trim)
            .filter(|code| !code.is_empty());
        let codes: Vec<&str> = codes.collect();
        let before = self.diagnoses.insert(hash("stays", stay_id), codes.len()).unwrap_or(0);
        let mut listed = Vec::new();
        for (place, code) in codes.iter().enumerate() {
            let id = format!("stays-{stay_id}-diagnosis-{}", place + 1);
            listed.push(json!({"condition": reference("Condition", &id), "rank": place + 1}));
            self.diagnosis(cells, &id, version, Some(code))?;
        }
        for place in codes.len()..before {
            let id = format!("stays-{stay_id}-diagnosis-{}", place + 1);
            self.diagnosis(cells, &id, version, None)?;
        }
        put_list(&mut encounter, "diagnosis", listed);
        self.put("Encounter", &Value::Object(encounter))
    }

    /// A diagnosis of a stay; without a code it does not hold any more.
    fn diagnosis(&mut self, cells: &Cells<'_>, id: &str, version: u32, code: Option<&str>) -> io::Result<()> {
        let mut condition = cells.begun(id, version);
        match code {
            Some(code) => {
                let coding = json!([{"system": "http://hl7.org/fhir/sid/icd-10", "code": code}]);
                condition.insert("code".into(), json!({"coding": coding}));
            }
            None => {
                let system = "http://terminology.hl7.org/CodeSystem/condition-ver-status";
                let coding = json!([{"system": system, "code": "entered-in-error"}]);
                condition.insert("verificationStatus".into(), json!({"coding": coding}));
            }
        }
        let infant_id = cells.get("infant_id");
        if !infant_id.is_empty() {
            condition.insert("subject".into(), patient(infant_id));
        }
        let encounter = reference("Encounter", &format!("stays-{}", cells.id()));
        condition.insert("encounter".into(), encounter);
        self.put("Condition", &Value::Object(condition))
    }
}

fn hospitalization(cells: &Cells<'_>) -> Map<String, Value> {
    let mut hospitalization = Map::new();
    let system = |name: &str| format!("http://terminology.hl7.org/CodeSystem/{name}");
    let source = match cells.get("source") {
        "" => None,
        "birth" => Some(json!({"coding": [{"system": system("admit-source"), "code": "born"}]})),
        "transfer" => Some(json!({"coding": [{"system": system("admit-source"), "code": "hosp-trans"}]})),
        other => Some(json!({"text": other})),
    };
    hospitalization.extend(source.map(|source| ("admitSource".to_owned(), source)));
    let coded = |code: &str| json!({"coding": [{"system": system("discharge-disposition"), "code": code}]});
    let disposition = match cells.get("disposition") {
        "" => None,
        "home" => Some(coded("home")),
        "transfer" => Some(coded("other-hcf")),
        "died" => Some(coded("exp")),
        other => Some(json!({"text": other})),
    };
    hospitalization.extend(disposition.map(|disposition| ("dischargeDisposition".to_owned(), disposition)));
    hospitalization
}
