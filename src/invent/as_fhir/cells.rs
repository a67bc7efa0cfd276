//! The cells of a row by name, and the parts of resources they become.

use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;
use serde_json::{Map, Number, Value, json};

use crate::warehouse::tables::{OPTIONAL_COLUMNS, SourceTable};

pub(super) const LOINC: &str = "http://loinc.org";
pub(super) const SISKIN: &str = "urn:siskin";
const UCUM: &str = "http://unitsofmeasure.org";

/// The cells of a row.
pub(super) struct Cells<'a> {
    table: &'static SourceTable,
    cells: &'a [String],
    zone: &'a TimeZone,
}

impl<'a> Cells<'a> {
    pub(super) fn new(table: &'static SourceTable, cells: &'a [String], zone: &'a TimeZone) -> Self {
        Self { table, cells, zone }
    }

    /// A cell; empty when it is not given.
    pub(super) fn get(&self, column: &str) -> &'a str {
        let own = self.table.columns.iter().map(|(name, _)| *name);
        let place = own.chain(OPTIONAL_COLUMNS).position(|name| name == column);
        place
            .and_then(|place| self.cells.get(place))
            .map_or("", |cell| cell.trim())
    }

    /// The id of the row.
    pub(super) fn id(&self) -> &'a str {
        self.cells.first().map_or("", |cell| cell.trim())
    }

    /// A time with its offset; a date, and what is no time, as it is.
    pub(super) fn moment(&self, column: &str) -> String {
        let cell = self.get(column);
        if cell.len() <= 10 || cell.parse::<Timestamp>().is_ok() {
            return cell.to_owned();
        }
        let local = cell.parse::<DateTime>();
        let at = local.and_then(|local| self.zone.to_ambiguous_timestamp(local).compatible());
        match at {
            Ok(at) => at
                .to_zoned_datetime(self.zone.clone())
                .strftime("%Y-%m-%dT%H:%M:%S%:z")
                .to_string(),
            Err(_) => cell.to_owned(),
        }
    }

    pub(super) fn is_withdrawn(&self) -> bool {
        self.get("record_status").eq_ignore_ascii_case("withdrawn")
            || self.get("status").eq_ignore_ascii_case("withdrawn")
    }

    /// A resource for the row, with id, version and identifier.
    pub(super) fn resource(&self, version: u32) -> Map<String, Value> {
        let mut resource = self.begun(&format!("{}-{}", self.table.name, self.id()), version);
        if !self.id().is_empty() {
            let system = format!("{SISKIN}:{}", self.table.name);
            resource.insert("identifier".into(), json!([{"system": system, "value": self.id()}]));
        }
        resource
    }

    /// A resource of that id in the version of the row.
    pub(super) fn begun(&self, id: &str, version: u32) -> Map<String, Value> {
        let mut resource = Map::new();
        resource.insert("id".into(), json!(resource_id(id)));
        let mut meta = json!({"versionId": version.to_string()});
        let recorded_at = self.moment("recorded_at");
        if !recorded_at.is_empty() {
            meta["lastUpdated"] = json!(recorded_at);
        }
        resource.insert("meta".into(), meta);
        resource
    }

    /// Adds the baby as the subject.
    pub(super) fn put_subject(&self, resource: &mut Map<String, Value>) {
        let infant_id = self.get("infant_id");
        if !infant_id.is_empty() {
            resource.insert("subject".into(), patient(infant_id));
        }
    }

    /// A component or extension for each of those columns that is not empty.
    pub(super) fn components(&self, columns: &[&str]) -> Vec<Value> {
        let stated = columns.iter().filter(|column| !self.get(column).is_empty());
        stated.map(|column| component(column, self.get(column))).collect()
    }
}

/// A component of an observation that says a column.
pub(super) fn component(column: &str, said: &str) -> Value {
    json!({"code": {"coding": [{"system": SISKIN, "code": column}]}, "valueString": said})
}

/// An extension that says a column.
pub(super) fn extension(column: &str, said: &str) -> Value {
    json!({"url": format!("{SISKIN}:{column}"), "valueString": said})
}

/// Adds a field unless it is empty.
pub(super) fn put_if_any(resource: &mut Map<String, Value>, field: &str, said: &str) {
    if !said.is_empty() {
        resource.insert(field.into(), json!(said));
    }
}

/// Adds a list unless it is empty.
pub(super) fn put_list(resource: &mut Map<String, Value>, field: &str, list: Vec<Value>) {
    if !list.is_empty() {
        resource.insert(field.into(), Value::Array(list));
    }
}

/// The baby's own identifier.
pub(super) fn medical_record_number(id: &str) -> Value {
    let kind = json!({"coding": [{"system": "http://terminology.hl7.org/CodeSystem/v2-0203", "code": "MR"}]});
    json!({"type": kind, "system": "urn:siskin:infants", "value": id})
}

/// A reference to a baby, by resource and by identifier: it may be in no birth register.
pub(super) fn patient(infant_id: &str) -> Value {
    json!({
        "reference": format!("Patient/{}", resource_id(infant_id)),
        "identifier": medical_record_number(infant_id),
    })
}

/// A reference to a resource.
pub(super) fn reference(kind: &str, id: &str) -> Value {
    json!({"reference": format!("{kind}/{}", resource_id(id))})
}

/// An id as FHIR allows it (`[A-Za-z0-9\-\.]{1,64}`); any other by its hash.
pub(super) fn resource_id(id: &str) -> String {
    let is_allowed = |byte: u8| byte.is_ascii_alphanumeric() || byte == b'-' || byte == b'.';
    if (1..=64).contains(&id.len()) && id.bytes().all(is_allowed) {
        return id.to_owned();
    }
    format!("x-{:016x}{:016x}", super::hash("first", id), super::hash("second", id))
}

/// Adds a value and its unit to an observation; what is no number stands as words, with the
/// unit in a component.
pub(super) fn put_value(resource: &mut Map<String, Value>, components: &mut Vec<Value>, value: &str, unit: &str) {
    let digits = value.strip_prefix(['<', '>']).unwrap_or(value);
    let number = digits
        .parse::<Number>()
        .ok()
        .filter(|number| number.to_string() == digits);
    let mut quantity = Map::new();
    match number {
        Some(number) => {
            if digits.len() < value.len() {
                put_if_any(&mut quantity, "comparator", &value[..value.len() - digits.len()]);
            }
            quantity.insert("value".into(), Value::Number(number));
        }
        None if !value.is_empty() => {
            put_if_any(resource, "valueString", value);
            if !unit.is_empty() {
                components.push(component("unit_of_measure", unit));
            }
            return;
        }
        None => {}
    }
    put_if_any(&mut quantity, "unit", unit);
    if matches!(unit, "mg/dL" | "umol/L") {
        put_if_any(&mut quantity, "system", UCUM);
        put_if_any(&mut quantity, "code", unit);
    }
    if !quantity.is_empty() {
        resource.insert("valueQuantity".into(), Value::Object(quantity));
    }
}

/// A quantity in a UCUM unit.
pub(super) fn quantity(value: u32, unit: &str) -> Value {
    json!({"value": value, "unit": unit, "system": UCUM, "code": unit})
}
