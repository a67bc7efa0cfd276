//! Admissions, transfers, discharges, merges (HL7 v2.5.1, chapter 3).

use crate::extracts::record::{Code, Fault, SourceRow};

use super::codes::observed;
use super::event::Event;
use super::message::Message;
use super::settings::Hl7Settings;
use super::visits::Visits;
use super::{births, identity, merges, procedures, stays};

/// Whether siskin reads an event of that name.
pub(super) fn is_read(name: &str) -> bool {
    is_about_the_baby(name) || stays::is_about_stays(name) || merges::is_merge(name)
}

/// Events that carry what is known of the patient, and what was done.
fn is_about_the_baby(name: &str) -> bool {
    matches!(name, "A01" | "A03" | "A04" | "A06" | "A08" | "A28" | "A29" | "A31")
}

/// Rows of one message.
///
/// # Errors
/// When it does not say whom it is about.
pub(super) fn read(
    message: &Message<'_>,
    name: &str,
    settings: &Hl7Settings,
    visits: &mut Visits,
    unmapped: &mut Vec<Code>,
) -> Result<Vec<SourceRow>, Fault> {
    let event = Event {
        name,
        message,
        pid: message.first("PID").ok_or_else(identity::no_patient)?,
        pv1: message.first("PV1"),
        evn: message.first("EVN"),
        settings,
    };
    let mut rows = Vec::new();
    if merges::is_merge(name) {
        merges::read(&event, &mut rows);
        return Ok(rows);
    }
    if is_about_the_baby(name) {
        births::read(&event, &mut rows);
        procedures::read(&event, &mut rows, unmapped);
        unmapped.extend(event.unread_observations());
    }
    if stays::is_about_stays(name) {
        stays::read(&event, visits, &mut rows, unmapped);
    }
    Ok(rows)
}

impl Event<'_, '_> {
    /// Codes of the observations that are about neither births nor procedures.
    fn unread_observations(&self) -> impl Iterator<Item = Code> {
        let observed = self.message.all("OBX").map(|obx| observed(obx, &self.settings.codes));
        let is_read = |meaning: &str| births::is_about_birth(meaning) || procedures::is_about_procedure(meaning);
        observed
            .filter(move |coded| !coded.meaning.is_some_and(is_read))
            .map(|coded| coded.code)
    }
}
