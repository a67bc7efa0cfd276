//! Results (ORU, HL7 v2.5.1, chapter 7): an order (OBR) with its observations (OBX) and its
//! specimen (SPM) becomes screens, serum and meter checks.

use crate::extracts::record::{Code, Fault, SourceRow};
use crate::warehouse::tables::SourceTable;

use super::Hl7Settings;
use super::cells::{self, in_contract, say_time, unit_of};
use super::codes::{Coded, coded, observed};
use super::identity;
use super::message::{Message, Segment};
use super::{screens, serum};

/// An order and what belongs to it.
pub(super) struct Order<'a, 't> {
    pub(super) header: &'a Segment<'t>,
    pub(super) pid: Option<&'a Segment<'t>>,
    pub(super) pv1: Option<&'a Segment<'t>>,
    pub(super) obr: Option<&'a Segment<'t>>,
    pub(super) observations: Vec<(Coded<'a>, &'a Segment<'t>)>,
    pub(super) spm: Option<&'a Segment<'t>>,
    pub(super) settings: &'a Hl7Settings,
}

/// Rows of one message.
///
/// # Errors
/// When a reading or a specimen is of nobody.
pub(super) fn read(
    message: &Message<'_>,
    settings: &Hl7Settings,
    unmapped: &mut Vec<Code>,
) -> Result<Vec<SourceRow>, Fault> {
    let mut rows = Vec::new();
    for order in orders(message, settings) {
        order.read(&mut rows, unmapped)?;
    }
    Ok(rows)
}

/// The orders of a message, each with the patient and visit that stand before it.
fn orders<'a, 't>(message: &'a Message<'t>, settings: &'a Hl7Settings) -> Vec<Order<'a, 't>> {
    let (mut pid, mut pv1) = (None, None);
    let mut orders: Vec<Order<'a, 't>> = Vec::new();
    let mut is_open = false;
    for segment in message.segments() {
        match segment.name {
            "PID" => (pid, pv1, is_open) = (Some(segment), None, false),
            "PV1" => (pv1, is_open) = (Some(segment), false),
            "OBR" | "OBX" | "SPM" => {
                if segment.name == "OBR" || !is_open {
                    orders.push(Order {
                        header: message.header(),
                        pid,
                        pv1,
                        obr: None,
                        observations: Vec::new(),
                        spm: None,
                        settings,
                    });
                    is_open = true;
                }
                let Some(order) = orders.last_mut() else {
                    continue;
                };
                match segment.name {
                    "OBR" => order.obr = Some(segment),
                    "OBX" => order.observations.push((observed(segment, &settings.codes), segment)),
                    _ => order.spm = order.spm.or(Some(segment)),
                }
            }
            _ => {}
        }
    }
    orders
}

impl<'a, 't> Order<'a, 't> {
    fn read(&self, rows: &mut Vec<SourceRow>, unmapped: &mut Vec<Code>) -> Result<(), Fault> {
        let has = |wanted: &str| self.of(wanted).next().is_some();
        let ordered = self.obr.map(|obr| coded(obr.field(4), &self.settings.codes));
        let has_screen = has("screen");
        let is_serum_without_result =
            self.observations.is_empty() && ordered.as_ref().is_some_and(|ordered| ordered.meaning == Some("serum"));
        if (has_screen || has("serum") || is_serum_without_result) && self.pid.is_none() {
            return Err(identity::no_patient());
        }
        let mut screens = 0;
        let mut ids = Vec::new();
        for (coded, obx) in &self.observations {
            match coded.meaning {
                Some("screen") => {
                    screens += 1;
                    rows.extend(screens::row(self, obx, screens));
                }
                Some("serum") => rows.extend(serum::row(self, &coded.code, Some(obx), &mut ids)),
                Some("meter_check") => rows.extend(self.meter_check(obx)),
                Some(meaning) if has_screen && screens::is_described_by(meaning) => {}
                _ => unmapped.push(coded.code.clone()),
            }
        }
        if let Some(ordered) = ordered.filter(|_| self.observations.is_empty()) {
            if is_serum_without_result {
                rows.extend(serum::row(self, &ordered.code, None, &mut ids));
            } else {
                unmapped.push(ordered.code);
            }
        }
        Ok(())
    }

    /// Observations of a meaning.
    pub(super) fn of(&self, wanted: &str) -> impl Iterator<Item = &'a Segment<'t>> {
        let all = self.observations.iter();
        all.filter(move |(coded, _)| coded.meaning == Some(wanted))
            .map(|(_, obx)| *obx)
    }

    /// Says the id of the order: the filler's, else the placer's.
    pub(super) fn id(&self) -> Option<String> {
        let obr = self.obr?;
        let said = |n: usize| obr.part(n, 1).filter(|id| !id.is_empty());
        said(3).or_else(|| said(2))
    }

    /// A row with its id, baby, unit and when the message was written.
    pub(super) fn row(&self, table: &str, id: Option<String>) -> Option<SourceRow> {
        use crate::extracts::record::FaultKind::MissingId;
        let table = SourceTable::named(table)?;
        let mut row = SourceRow::of(table);
        let (column, _) = table.columns.first()?;
        match (id, self.obr) {
            (Some(id), _) => row.say(column, id),
            (None, Some(obr)) => row.fail(obr.fault(3, MissingId, column, "no order number, nor one in field 2")),
            (None, None) => row.fail(Fault::of_cell(MissingId, column, "").with_remedy("OBR is missing before OBX")),
        }
        if let Some(pid) = self.pid {
            identity::say(&mut row, "infant_id", pid, 3, self.settings);
        }
        if let Some(unit) = unit_of(self.pv1, self.settings) {
            row.say("unit", unit);
        }
        say_time(&mut row, "recorded_at", &[(Some(self.header), 7)]);
        Some(row)
    }

    /// The status of a result in the words of the contract.
    pub(super) fn status(&self, obx: &Segment<'_>) -> Option<&'a str> {
        let said = obx.part(11, 1)?;
        self.settings.codes.word("status", &said)
    }

    fn meter_check(&self, obx: &'a Segment<'t>) -> Option<SourceRow> {
        let mut row = self.row("meter_checks", self.id())?;
        cells::say_part(&mut row, "meter_id", obx, 18);
        say_time(&mut row, "checked_at", &[(Some(obx), 14), (self.obr, 7)]);
        if let Some(said) = obx.part(5, 1) {
            row.say("outcome", in_contract("outcome", &said, &self.settings.codes));
        }
        if self.status(obx) == Some("withdrawn") {
            row.say("record_status", "withdrawn");
        }
        Some(row)
    }
}
