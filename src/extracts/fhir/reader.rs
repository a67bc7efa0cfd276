//! The second pass: each line is one resource, and becomes a record with its rows.

use std::borrow::Cow;
use std::io::{self, BufRead};

use serde::Deserialize;

use crate::extracts::reason::Reason;
use crate::extracts::record::{Code, Fault, Record};

use super::lines::{LONGEST_LINE, Lines};
use super::parts::text;
use super::references::References;
use super::resources::{Head, OperationOutcome};
use super::settings::FhirSettings;

/// Under which counts of whole resources stand.
pub(super) const RESOURCE: &str = "FHIR resource";

/// A file of resources, read one by one.
pub struct FhirReader<'r, R> {
    lines: Lines<R>,
    settings: &'r FhirSettings,
    references: &'r References,
}

impl<'r, R: BufRead> FhirReader<'r, R> {
    /// Reads from `from`; `references` know what the files of the export refer to.
    pub fn new(from: R, settings: &'r FhirSettings, references: &'r References) -> Self {
        Self {
            lines: Lines::new(from),
            settings,
            references,
        }
    }

    /// The next record, or `None` at the end.
    ///
    /// # Errors
    /// When the file cannot be read on. A single bad line is a record with a fault.
    pub fn next_record(&mut self) -> io::Result<Option<Record>> {
        let Some(line) = self.lines.next()? else {
            return Ok(None);
        };
        let broken = |kind: Reason, remedy: String| Record {
            text: String::from_utf8_lossy(line.bytes).into_owned(),
            fault: Some(Fault::of_record(kind).with_remedy(remedy)),
            ..Record::default()
        };
        let mut record = match std::str::from_utf8(line.bytes) {
            _ if !line.is_whole => {
                let remedy = format!("longer than {LONGEST_LINE} bytes; write one resource on each line");
                broken(Reason::UnreadableRecord, remedy)
            }
            Ok(text) => record_of(text, self.settings, self.references),
            Err(error) => {
                let remedy = format!("column {}: export the file as UTF-8", error.valid_up_to() + 1);
                broken(Reason::NotUtf8, remedy)
            }
        };
        record.line = line.number;
        Ok(Some(record))
    }
}

/// What one resource says; its line is 0.
pub fn record_of(text: &str, settings: &FhirSettings, references: &References) -> Record {
    let mut record = Record {
        text: text.to_owned(),
        ..Record::default()
    };
    let reading = Reading { settings, references };
    if let Err(fault) = reading.resource(text, &mut record) {
        record.rows.clear();
        record.fault = Some(fault);
    }
    record
}

/// The type of the resource on a line; none when it is not given.
pub(super) fn kind_of(line: &str) -> Option<Cow<'_, str>> {
    if let Some(rest) = line.strip_prefix("{\"resourceType\":\"") {
        let (kind, _) = rest.split_once('"')?;
        return Some(Cow::Borrowed(kind));
    }
    let head: Head<'_> = serde_json::from_str(line).ok()?;
    head.resource_type.map(|kind| Cow::Owned(kind.to_string()))
}

/// Reads resources with what is known.
pub(super) struct Reading<'r> {
    pub(super) settings: &'r FhirSettings,
    pub(super) references: &'r References,
}

impl Reading<'_> {
    fn resource(&self, line: &str, record: &mut Record) -> Result<(), Fault> {
        let kind = kind_of(line).ok_or_else(|| not_json(line))?;
        match kind.as_ref() {
            "Patient" => self.patient(&parsed(line)?, record),
            "RelatedPerson" => self.related_person(&parsed(line)?, record),
            "Encounter" => self.encounter(&parsed(line)?, record),
            "Condition" => self.condition(&parsed(line)?, record),
            "Observation" => self.observation(&parsed(line)?, record),
            "Procedure" => self.procedure(&parsed(line)?, record),
            "Bundle" => self.bundle(&parsed(line)?, record),
            "OperationOutcome" => {
                let outcome: OperationOutcome<'_> = parsed(line)?;
                record.unmapped.push(note(RESOURCE, "OperationOutcome", outcome.said()));
            }
            // Read in the first pass; here only that they are whole matters.
            "Specimen" => drop(parsed::<super::resources::Specimen<'_>>(line)?),
            "Device" => drop(parsed::<super::resources::Device<'_>>(line)?),
            other => {
                parsed::<serde::de::IgnoredAny>(line)?;
                record.unmapped.push(note(RESOURCE, other, "no table is read from it"));
            }
        }
        Ok(())
    }
}

/// An entry in the list of what no table wants.
pub(super) fn note(system: &str, code: &str, display: &str) -> Code {
    Code {
        system: system.to_owned(),
        code: code.to_owned(),
        display: display.to_owned(),
    }
}

fn parsed<'l, T: Deserialize<'l>>(line: &'l str) -> Result<T, Fault> {
    serde_json::from_str(line).map_err(|error| unreadable(&error))
}

fn unreadable(error: &serde_json::Error) -> Fault {
    let said = error.to_string();
    let said = said.split(" at line ").next().unwrap_or_default();
    let remedy = format!(
        "column {}: {said}; check that the file is whole and each line one FHIR R4 resource",
        error.column()
    );
    Fault::of_record(Reason::UnreadableRecord).with_remedy(remedy)
}

fn not_json(line: &str) -> Fault {
    match serde_json::from_str::<Head<'_>>(line) {
        Err(error) => unreadable(&error),
        Ok(_) => Fault::of_record(Reason::UnreadableRecord)
            .with_remedy("column 1: no resourceType; each line must be one FHIR R4 resource"),
    }
}

impl OperationOutcome<'_> {
    /// What a server says went wrong in its export.
    fn said(&self) -> &str {
        let Some(issue) = self.issue.first() else {
            return "the export reports an error";
        };
        let details = issue.details.as_ref().map_or("", |details| details.said());
        let all = [text(&issue.diagnostics), details, text(&issue.code)];
        all.into_iter()
            .find(|said| !said.is_empty())
            .unwrap_or("the export reports an error")
    }
}
