//! Bilirubin in blood.

use crate::extracts::reason::Reason;
use crate::extracts::record::{Cell, Fault, Record, SourceRow};

use super::parts::text;
use super::reader::Reading;
use super::references::{Found, id_of};
use super::resources::Observation;
use super::rows::{absent, row_of, say_version};
use super::screens::say_unit_of_measure;
use super::settings::{FhirSettings, Meant};

impl FhirSettings {
    /// The analyte: the LOINC code if the result has one that means serum, else the code of
    /// the hospital, in the word of the contract where one is listed.
    fn analyte(&self, observation: &Observation<'_>, meant: &Meant<'_, '_>) -> String {
        let loinc = self.codes.system("LOINC");
        let codings = observation.code.iter().flat_map(|concept| &concept.coding);
        for coding in codings {
            let (system, code) = (text(&coding.system), text(&coding.code));
            if self.codes.system(system) == loinc && self.codes.meaning(system, code) == Some("serum") {
                return code.to_owned();
            }
        }
        let is_bare = self.codes.system(meant.system) == "urn:siskin" && meant.code == "serum";
        let word = self.codes.word("analyte", meant.code).unwrap_or(meant.code);
        if is_bare { String::new() } else { word.to_owned() }
    }
}

impl Reading<'_> {
    /// A result of the laboratory. When the specimen was taken is known from the specimen, if
    /// it has come, else from the observation.
    pub(super) fn serum(&self, observation: &Observation<'_>, meant: &Meant<'_, '_>, record: &mut Record) {
        let Some(mut row) = row_of("serum") else { return };
        row.say("specimen_id", id_of(&observation.identifier, &observation.id));
        self.say_status(&mut row, text(&observation.status));
        say_version(&mut row, &observation.meta);
        let (subject, code) = (observation.subject.as_ref(), observation.code.as_ref());
        if !self.say_baby(&mut row, subject, &observation.contained, code, record) {
            return;
        }
        let details = self.details(observation);
        row.say("collected_at", observation.at());
        self.say_specimen(&mut row, observation);
        row.say_if_any("resulted_at", text(&observation.issued));
        match observation.value_and_unit() {
            Ok((value, unit)) => {
                row.say("value", value);
                say_unit_of_measure(&mut row, &details, unit);
            }
            Err(fault) => row.fail(fault),
        }
        let analyte = details.of("analyte");
        row.say(
            "analyte",
            analyte.unwrap_or_else(|| self.settings.analyte(observation, meant)),
        );
        self.say_unit(&mut row, details.of("unit"), observation.encounter.as_ref());
        record.rows.push(row);
    }

    fn say_status(&self, row: &mut SourceRow, status: &str) {
        match self.settings.codes.word("status", status) {
            Some(word) => {
                row.say("status", Cell::read_from(status, word.to_owned()));
                if word == "withdrawn" {
                    row.say("record_status", word);
                }
            }
            None if status.is_empty() => row.say("status", ""),
            None => {
                let fault = Fault::of_cell(Reason::UnknownWord, "status", status);
                row.fail(fault.with_remedy("name the word under [words.status] of sources.toml"));
            }
        }
    }

    fn say_specimen(&self, row: &mut SourceRow, observation: &Observation<'_>) {
        match self
            .references
            .specimen(observation.specimen.as_ref(), &observation.contained)
        {
            Found::Yes((said, collected_at)) => {
                let word = self.settings.codes.word("specimen", &said).map(str::to_owned);
                let word = word.unwrap_or_else(|| said.to_lowercase());
                row.say_if_any("specimen", Cell::read_from(&said, word));
                row.say_if_any("collected_at", collected_at);
            }
            Found::Absent(_) if row.value("record_status") == "withdrawn" => {}
            Found::Absent(reference) => row.fail(absent("specimen", &reference)),
            Found::NotGiven => {}
        }
    }
}
