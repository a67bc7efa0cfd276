//! Stays: which unit a baby was in, from when until when, and why.
//!
//! Each message states only part of a stay. [`super::visits`] knows which stay that is;
//! [`super::stay_cells`] reads what is said of it.

use crate::extracts::reason::Reason;
use crate::extracts::record::{Code, Fault, SourceRow};
use crate::warehouse::tables::SourceTable;

use super::cells::{in_contract, say_time, says_anything, unit_of};
use super::event::Event;
use super::identity;
use super::message::Segment;
use super::stay_cells;
use super::visits::{Change, Happening, Refused, Visits};

/// Whether an event says anything of stays.
pub(super) fn is_about_stays(event: &str) -> bool {
    matches!(event, "A01" | "A02" | "A03" | "A06" | "A08" | "A11" | "A12" | "A13")
}

/// Adds what the message says of stays. Visits of outpatients are no stays; their class is
/// counted in `unmapped`.
pub(super) fn read(event: &Event<'_, '_>, visits: &mut Visits, rows: &mut Vec<SourceRow>, unmapped: &mut Vec<Code>) {
    let Some(table) = SourceTable::named("stays") else {
        return;
    };
    let class = event.pv1.and_then(|pv1| pv1.part(2, 1)).unwrap_or_default();
    if event.settings.codes.word("patient_class", &class) == Some("outpatient") {
        unmapped.push(Code {
            system: "HL7 v2 patient class".to_owned(),
            code: class,
            display: String::new(),
        });
        return;
    }
    let visit = event.pv1.and_then(|pv1| pv1.part(19, 1)).unwrap_or_default();
    let (Some(pv1), false) = (event.pv1, visit.is_empty()) else {
        if event.name != "A08" {
            let mut row = SourceRow::part_of(table);
            identity::say(&mut row, "infant_id", event.pid, 3, event.settings);
            let remedy = "PV1, field 19: the visit number is not given";
            row.fail(Fault::of_cell(Reason::MissingId, "stay_id", "").with_remedy(remedy));
            rows.push(row);
        }
        return;
    };
    let message = StayMessage {
        event,
        pv1,
        visit,
        table,
    };
    message.read(visits, rows);
}

/// A message about the stays of a visit.
struct StayMessage<'a, 't> {
    event: &'a Event<'a, 't>,
    pv1: &'a Segment<'t>,
    visit: String,
    table: &'static SourceTable,
}

impl StayMessage<'_, '_> {
    fn read(&self, visits: &mut Visits, rows: &mut Vec<SourceRow>) {
        let unit = unit_of(Some(self.pv1), self.event.settings).map(|cell| cell.value);
        let before = self.unit_before();
        let happening = match self.event.name {
            "A01" | "A06" => Happening::Admitted { unit: unit.as_deref() },
            "A02" => {
                if let Some(row) = self.incomplete_transfer(unit.as_deref()) {
                    rows.push(row);
                    return;
                }
                Happening::Moved {
                    unit: unit.as_deref().unwrap_or_default(),
                    from: before.as_deref(),
                }
            }
            "A11" => Happening::AdmissionCancelled,
            "A12" => Happening::TransferCancelled,
            "A13" => Happening::DischargeCancelled,
            _ => Happening::Described { unit: unit.as_deref() },
        };
        match visits.apply(&self.visit, &self.message_key(), happening) {
            Ok(change) => self.say(&change, before, rows),
            Err(refused) => {
                let (kind, what) = match refused {
                    Refused::Cancelled => (
                        Reason::UnreadableRecord,
                        "the admission of this visit was cancelled: send A01 first if it took place after all",
                    ),
                    Refused::UnknownTransfer => (
                        Reason::AbsentReference,
                        "cancels a transfer of this visit that no message told of: load the earlier messages",
                    ),
                };
                let mut row = self.row(1);
                row.fail(self.pv1.fault(19, kind, "stay_id", what));
                rows.push(row);
            }
        }
    }

    /// The unit a transfer is from, where it is said.
    fn unit_before(&self) -> Option<String> {
        let said = self.pv1.part(6, 1).filter(|before| !before.is_empty())?;
        Some(in_contract("unit", &said, &self.event.settings.codes).value)
    }

    /// A row with the reason why a transfer cannot be taken.
    fn incomplete_transfer(&self, unit: Option<&str>) -> Option<SourceRow> {
        let mut row = self.row(1);
        say_time(&mut row, "admitted_at", &self.event.happened());
        if row.value("admitted_at").is_empty() {
            let fault = Fault::of_cell(Reason::UnreadableTime, "admitted_at", "");
            row.fail(fault.with_remedy("EVN, field 6 or 2: the moment of the transfer is not given"));
        }
        if unit.is_none_or(str::is_empty) {
            let what = "the unit the baby was moved to is not given";
            row.fail(self.pv1.fault(3, Reason::UnreadableRecord, "unit", what));
        }
        row.fault.is_some().then_some(row)
    }

    /// A row of the stay of that number, which says nothing of it yet.
    fn row(&self, number: u32) -> SourceRow {
        let mut row = SourceRow::part_of(self.table);
        match number {
            1 => row.say("stay_id", self.visit.as_str()),
            _ => row.say("stay_id", format!("{}.{number}", self.visit)),
        }
        identity::say(&mut row, "infant_id", self.event.pid, 3, self.event.settings);
        self.event.say_recorded(&mut row);
        row
    }

    /// What distinguishes this message from all others: its control id and its own time.
    fn message_key(&self) -> String {
        let header = self.event.message.header();
        let [control, time] = [10, 7].map(|n| header.field(n).text.trim());
        if control.is_empty() {
            return String::new();
        }
        format!("{} {control} {time}", self.event.name)
    }

    fn say(&self, change: &Change, before: Option<String>, rows: &mut Vec<SourceRow>) {
        for number in &change.withdrawn {
            let mut row = self.row(*number);
            row.say("record_status", "withdrawn");
            rows.push(row);
        }
        if let Some(ended) = change.ended {
            let mut row = self.row(ended);
            if change.is_news {
                say_time(&mut row, "admitted_at", &[(Some(self.pv1), 44)]);
                row.say_if_any("unit", before.unwrap_or_default());
            }
            say_time(&mut row, "discharged_at", &self.event.happened());
            row.say("disposition", "transfer");
            rows.push(row);
        }
        let Some(about) = change.about else {
            return;
        };
        let mut row = self.row(about);
        match self.event.name {
            "A02" => {
                say_time(&mut row, "admitted_at", &self.event.happened());
                row.say("source", "transfer");
                if let Some(unit) = unit_of(Some(self.pv1), self.event.settings) {
                    row.say("unit", unit);
                }
            }
            "A12" | "A13" => {
                row.say("discharged_at", "");
                row.say("disposition", "");
            }
            _ => stay_cells::describe(&mut row, self.event, self.pv1, change.is_first),
        }
        if says_anything(&row) || matches!(self.event.name, "A01" | "A06") {
            rows.push(row);
        }
    }
}
