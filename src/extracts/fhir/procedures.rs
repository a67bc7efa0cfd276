//! Phototherapy and exchange transfusions.

use crate::extracts::record::Record;

use super::parts::text;
use super::reader::{Reading, note};
use super::references::id_of;
use super::resources::Procedure;
use super::rows::{row_of, say_version};

impl Procedure<'_> {
    /// When it began.
    pub(super) fn start(&self) -> &str {
        let start = self
            .performed_period
            .as_ref()
            .and_then(|period| period.start.as_deref());
        start.or(self.performed_date_time.as_deref()).unwrap_or_default().trim()
    }

    fn end(&self) -> &str {
        self.performed_period.as_ref().map_or("", |period| text(&period.end))
    }
}

impl Reading<'_> {
    /// An episode of phototherapy, or an exchange transfusion.
    pub(super) fn procedure(&self, procedure: &Procedure<'_>, record: &mut Record) {
        let meant = self
            .settings
            .meaning(procedure.code.as_ref())
            .map(|meant| meant.meaning);
        let (table, id, start) = match meant {
            Some("exchange") => ("exchanges", "exchange_id", "performed_at"),
            Some("phototherapy" | "phototherapy_single" | "phototherapy_multiple") => {
                ("phototherapy", "episode_id", "started_at")
            }
            _ => return self.unmapped(procedure.code.as_ref(), "Procedure", record),
        };
        let status = text(&procedure.status);
        if status == "preparation" {
            record
                .unmapped
                .push(note("FHIR status", status, "a procedure that has not begun"));
            return;
        }
        let Some(mut row) = row_of(table) else { return };
        row.say(id, id_of(&procedure.identifier, &procedure.id));
        if matches!(status, "entered-in-error" | "not-done") {
            row.say("record_status", "withdrawn");
        }
        say_version(&mut row, &procedure.meta);
        let (subject, code) = (procedure.subject.as_ref(), procedure.code.as_ref());
        if !self.say_baby(&mut row, subject, &procedure.contained, code, record) {
            return;
        }
        row.say(start, procedure.start());
        if table == "phototherapy" {
            let details = self.settings.details(&[], &procedure.extension);
            row.say_if_any("stopped_at", procedure.end());
            let kind = meant.and_then(|meaning| meaning.strip_prefix("phototherapy_"));
            let kind = kind.map(str::to_owned).or_else(|| details.of("kind"));
            row.say_if_any("kind", kind.unwrap_or_default());
            row.say_if_any("setting", details.of("setting").unwrap_or_default());
        }
        let place = procedure.location.as_ref().map(|place| text(&place.display).to_owned());
        self.say_unit(&mut row, place, procedure.encounter.as_ref());
        record.rows.push(row);
    }
}
