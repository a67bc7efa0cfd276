//! Readings of the skin meter, and checks of the meter itself.

use crate::extracts::record::{Record, SourceRow};

use super::parts::{Reference, text};
use super::reader::Reading;
use super::references::id_of;
use super::resources::Observation;
use super::rows::{row_of, say_version};
use super::settings::Details;

impl Reading<'_> {
    /// A reading of the skin meter.
    pub(super) fn screen(&self, observation: &Observation<'_>, record: &mut Record) {
        let Some(mut row) = row_of("screens") else { return };
        row.say("screen_id", id_of(&observation.identifier, &observation.id));
        if text(&observation.status) == "entered-in-error" {
            row.say("record_status", "withdrawn");
        }
        say_version(&mut row, &observation.meta);
        let (subject, code) = (observation.subject.as_ref(), observation.code.as_ref());
        if !self.say_baby(&mut row, subject, &observation.contained, code, record) {
            return;
        }
        let details = self.details(observation);
        row.say("measured_at", observation.at());
        match observation.value_and_unit() {
            Ok((value, unit)) => {
                row.say("value", value);
                say_unit_of_measure(&mut row, &details, unit);
            }
            Err(fault) => row.fail(fault),
        }
        let site = observation.body_site.as_ref();
        let site = site.map(|site| self.settings.word_or_said("body_site", site));
        let site = site.or_else(|| details.of("body_site"));
        row.say_if_any("body_site", site.unwrap_or_default());
        self.say_meter(&mut row, observation.device.as_ref(), &observation.contained);
        let operator = details.of("operator");
        let performer = || observation.performer.first().map(|performer| who(performer).to_owned());
        row.say_if_any("operator_id", operator.or_else(performer).unwrap_or_default());
        for column in ["readings", "id_entry", "setting"] {
            row.say_if_any(column, details.of(column).unwrap_or_default());
        }
        self.say_unit(&mut row, details.of("unit"), observation.encounter.as_ref());
        record.rows.push(row);
    }

    /// A check of a meter. The meter is the device, else the subject.
    pub(super) fn meter_check(&self, observation: &Observation<'_>, record: &mut Record) {
        let Some(mut row) = row_of("meter_checks") else { return };
        row.say("check_id", id_of(&observation.identifier, &observation.id));
        if text(&observation.status) == "entered-in-error" {
            row.say("record_status", "withdrawn");
        }
        say_version(&mut row, &observation.meta);
        let device = observation.device.as_ref().or(observation.subject.as_ref());
        self.say_meter(&mut row, device, &observation.contained);
        row.say("checked_at", observation.at());
        let details = self.details(observation);
        let concept = observation.value_codeable_concept.as_ref();
        let outcome = concept.map(|concept| self.settings.word_or_said("outcome", concept));
        let outcome = outcome.unwrap_or_else(|| {
            let said = text(&observation.value_string);
            self.settings.codes.word("outcome", said).unwrap_or(said).to_owned()
        });
        row.say("outcome", outcome);
        self.say_unit(&mut row, details.of("unit"), observation.encounter.as_ref());
        record.rows.push(row);
    }
}

/// The unit of the value, else the one among the details.
pub(super) fn say_unit_of_measure(row: &mut SourceRow, details: &Details<'_>, unit: String) {
    let of_value = Some(unit).filter(|unit| !unit.is_empty());
    let unit = of_value.or_else(|| details.of("unit_of_measure"));
    row.say_if_any("unit_of_measure", unit.unwrap_or_default());
}

/// Who did it: an identifier, else the id of the resource, else the name given.
fn who<'t>(performer: &'t Reference<'_>) -> &'t str {
    let identifier = performer
        .identifier
        .as_ref()
        .map_or("", |identifier| text(&identifier.value));
    let id = text(&performer.reference).rsplit('/').next().unwrap_or_default();
    let all = [identifier, id, text(&performer.display)];
    all.into_iter().find(|who| !who.is_empty()).unwrap_or_default()
}
