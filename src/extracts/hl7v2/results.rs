//! Results (ORU, HL7 v2.5.1, chapter 7): an order (OBR) with its observations (OBX) and its
//! specimen (SPM) becomes screens, serum and meter checks.

use crate::extracts::record::{Code, Fault, SourceRow};

use super::cells::{in_contract, say_part, say_time};
use super::codes::{coded, observed};
use super::identity;
use super::message::{Message, Segment};
use super::order::Order;
use super::settings::Hl7Settings;
use super::{screens, serum};

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
        let mut codes = Vec::new();
        for (coded, obx) in &self.observations {
            match coded.meaning {
                Some("screen") => {
                    screens += 1;
                    rows.extend(screens::row(self, obx, screens));
                }
                Some("serum") => rows.extend(serum::row(self, &coded.code, Some(obx), &mut codes)),
                Some("meter_check") => rows.extend(self.meter_check(obx)),
                Some(meaning) if has_screen && screens::is_described_by(meaning) => {}
                _ => unmapped.push(coded.code.clone()),
            }
        }
        if let Some(ordered) = ordered.filter(|_| self.observations.is_empty()) {
            if is_serum_without_result {
                rows.extend(serum::row(self, &ordered.code, None, &mut codes));
            } else {
                unmapped.push(ordered.code);
            }
        }
        Ok(())
    }

    fn meter_check(&self, obx: &'a Segment<'t>) -> Option<SourceRow> {
        let mut row = self.row("meter_checks", self.id())?;
        say_part(&mut row, "meter_id", obx, 18);
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
