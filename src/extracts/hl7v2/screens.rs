//! Readings of a skin meter.

use crate::extracts::reason::Reason;
use crate::extracts::record::SourceRow;

use super::cells::{say_part, say_time, say_word};
use super::message::Segment;
use super::order::Order;
use super::serum::say_value;

/// Observations of the same order that become a column of the same name.
const DESCRIBED: [&str; 4] = ["body_site", "readings", "id_entry", "setting"];

/// Whether observations of that meaning describe a screen.
pub(super) fn is_described_by(meaning: &str) -> bool {
    meaning == "operator" || DESCRIBED.contains(&meaning)
}

/// The row of a reading; `number` counts those of its order.
pub(super) fn row(order: &Order<'_, '_>, obx: &Segment<'_>, number: usize) -> Option<SourceRow> {
    let codes = &order.settings.codes;
    let id = order.id().map(|id| match number {
        1 => id,
        _ => format!("{id}#{number}"),
    });
    let mut row = order.row("screens", id)?;
    say_time(
        &mut row,
        "measured_at",
        &[(Some(obx), 14), (order.obr, 7), (order.spm, 17)],
    );
    say_value(&mut row, obx);
    say_part(&mut row, "meter_id", obx, 18);
    say_part(&mut row, "operator_id", obx, 16);
    for column in DESCRIBED {
        for described in order.of(column).filter(|described| describes(described, obx)) {
            say_word(&mut row, column, described, 5, codes);
        }
    }
    for described in order.of("operator").filter(|described| describes(described, obx)) {
        say_part(&mut row, "operator_id", described, 5);
    }
    say_word(&mut row, "body_site", obx, 20, codes);
    match order.status(obx) {
        Some("withdrawn") => row.say("record_status", "withdrawn"),
        Some("cancelled") if row.value("value").bytes().any(|b| b.is_ascii_digit()) => {
            let what = "the status in field 11 says that there is no result, yet a number stands here";
            row.fail(obx.fault(5, Reason::UnreadableValue, "value", what));
        }
        _ => {}
    }
    Some(row)
}

/// Observations with different sub-ids are of different readings.
fn describes(described: &Segment<'_>, obx: &Segment<'_>) -> bool {
    let [of, own] = [described, obx].map(|segment| segment.part(4, 1).unwrap_or_default());
    of.is_empty() || own.is_empty() || of == own
}
