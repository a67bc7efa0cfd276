//! Screens, serum, meter checks, phototherapy and exchange transfusions.

use std::io;

use serde_json::{Map, Value, json};

use super::FhirWriter;
use super::cells::{Cells, LOINC, SISKIN, component, extension, put_if_any, put_list, put_value, reference};

/// LOINC codes that mean bilirubin in blood.
const SERUM: [&str; 12] = [
    "1975-2", "14631-6", "77137-8", "1968-7", "14629-0", "15152-2", "1971-1", "14630-4", "42719-5", "54363-7",
    "59827-6", "59828-4",
];

impl FhirWriter {
    pub(super) fn screen(&mut self, cells: &Cells<'_>) -> io::Result<()> {
        let version = self.version("screens", cells.id());
        let mut screen = observation(cells, version, LOINC, "58941-6");
        cells.put_subject(&mut screen);
        put_if_any(&mut screen, "effectiveDateTime", &cells.moment("measured_at"));
        let mut components = cells.components(&["readings", "id_entry", "setting", "unit"]);
        put_value(
            &mut screen,
            &mut components,
            cells.get("value"),
            cells.get("unit_of_measure"),
        );
        if !cells.get("body_site").is_empty() {
            screen.insert("bodySite".into(), json!({"text": cells.get("body_site")}));
        }
        self.put_meter(&mut screen, "device", cells.get("meter_id"))?;
        if !cells.get("operator_id").is_empty() {
            screen.insert(
                "performer".into(),
                json!([{"identifier": {"value": cells.get("operator_id")}}]),
            );
        }
        put_list(&mut screen, "component", components);
        self.put("Observation", &Value::Object(screen))
    }

    pub(super) fn serum(&mut self, cells: &Cells<'_>) -> io::Result<()> {
        let version = self.version("serum", cells.id());
        let analyte = cells.get("analyte");
        let is_known = matches!(analyte, "total" | "direct");
        let (system, code) = match analyte {
            loinc if SERUM.contains(&loinc) => (LOINC, loinc),
            own if is_known => (SISKIN, own),
            _ => (SISKIN, "serum"),
        };
        let mut serum = observation(cells, version, system, code);
        serum.remove("status");
        let status = match (cells.is_withdrawn(), cells.get("status")) {
            (true, _) => "entered-in-error",
            (false, status) => status,
        };
        put_if_any(&mut serum, "status", status);
        cells.put_subject(&mut serum);
        let collected_at = cells.moment("collected_at");
        put_if_any(&mut serum, "effectiveDateTime", &collected_at);
        put_if_any(&mut serum, "issued", &cells.moment("resulted_at"));
        let mut components = cells.components(&["unit"]);
        if code == "serum" && !analyte.is_empty() {
            components.push(component("analyte", analyte));
        }
        put_value(
            &mut serum,
            &mut components,
            cells.get("value"),
            cells.get("unit_of_measure"),
        );
        put_list(&mut serum, "component", components);
        if !cells.get("specimen").is_empty() {
            let id = format!("specimen-{}-{version}", cells.id());
            let mut specimen = cells.begun(&id, version);
            specimen.insert("type".into(), json!({"text": cells.get("specimen")}));
            if !collected_at.is_empty() {
                specimen.insert("collection".into(), json!({"collectedDateTime": collected_at}));
            }
            self.put("Specimen", &Value::Object(specimen))?;
            serum.insert("specimen".into(), reference("Specimen", &id));
        }
        self.put("Observation", &Value::Object(serum))
    }

    pub(super) fn meter_check(&mut self, cells: &Cells<'_>) -> io::Result<()> {
        let version = self.version("meter_checks", cells.id());
        let mut check = observation(cells, version, SISKIN, "meter_check");
        self.put_meter(&mut check, "subject", cells.get("meter_id"))?;
        put_if_any(&mut check, "effectiveDateTime", &cells.moment("checked_at"));
        if !cells.get("outcome").is_empty() {
            check.insert("valueCodeableConcept".into(), json!({"text": cells.get("outcome")}));
        }
        put_list(&mut check, "component", cells.components(&["unit"]));
        self.put("Observation", &Value::Object(check))
    }

    pub(super) fn phototherapy(&mut self, cells: &Cells<'_>) -> io::Result<()> {
        let version = self.version("phototherapy", cells.id());
        let kind = cells.get("kind");
        let code = match kind {
            "single" => "phototherapy_single",
            "multiple" => "phototherapy_multiple",
            _ => "phototherapy",
        };
        let is_running = cells.get("stopped_at").is_empty();
        let mut procedure = procedure(
            cells,
            version,
            code,
            if is_running { "in-progress" } else { "completed" },
        );
        let mut period = Map::new();
        put_if_any(&mut period, "start", &cells.moment("started_at"));
        put_if_any(&mut period, "end", &cells.moment("stopped_at"));
        if !period.is_empty() {
            procedure.insert("performedPeriod".into(), Value::Object(period));
        }
        let mut extensions = Vec::new();
        if code == "phototherapy" && !kind.is_empty() {
            extensions.push(extension("kind", kind));
        }
        if !cells.get("setting").is_empty() {
            extensions.push(extension("setting", cells.get("setting")));
        }
        put_list(&mut procedure, "extension", extensions);
        self.put("Procedure", &Value::Object(procedure))
    }

    pub(super) fn exchange(&mut self, cells: &Cells<'_>) -> io::Result<()> {
        let version = self.version("exchanges", cells.id());
        let mut procedure = procedure(cells, version, "exchange", "completed");
        put_if_any(&mut procedure, "performedDateTime", &cells.moment("performed_at"));
        self.put("Procedure", &Value::Object(procedure))
    }

    /// Refers to a meter, and writes it as a Device the first time.
    fn put_meter(&mut self, resource: &mut Map<String, Value>, field: &str, meter_id: &str) -> io::Result<()> {
        if meter_id.is_empty() {
            return Ok(());
        }
        if self.version("meters", meter_id) == 1 {
            let id = super::cells::resource_id(meter_id);
            let device = json!({"id": id, "serialNumber": meter_id});
            self.put("Device", &device)?;
        }
        resource.insert(field.into(), reference("Device", meter_id));
        Ok(())
    }
}

fn observation(cells: &Cells<'_>, version: u32, system: &str, code: &str) -> Map<String, Value> {
    let mut resource = cells.resource(version);
    let status = if cells.is_withdrawn() {
        "entered-in-error"
    } else {
        "final"
    };
    resource.insert("status".into(), json!(status));
    resource.insert("code".into(), json!({"coding": [{"system": system, "code": code}]}));
    resource
}

fn procedure(cells: &Cells<'_>, version: u32, code: &str, status: &str) -> Map<String, Value> {
    let mut resource = cells.resource(version);
    let status = if cells.is_withdrawn() {
        "entered-in-error"
    } else {
        status
    };
    resource.insert("status".into(), json!(status));
    resource.insert("code".into(), json!({"coding": [{"system": SISKIN, "code": code}]}));
    cells.put_subject(&mut resource);
    if !cells.get("unit").is_empty() {
        resource.insert("location".into(), json!({"display": cells.get("unit")}));
    }
    resource
}
