//! Screens, serum and meter checks as results.

use super::row::Row;
use super::segments::{Message, Segment, component, observation, own_code, time};

/// The code of a reading of a skin meter.
const SCREEN: &str = "58941-6^Bilirubin^LN";

pub(super) fn screen(row: &Row<'_>) -> Message {
    let (kind, value) = value(row.cell("value"));
    let reading = observation(1, SCREEN, kind, value, row.cell("unit_of_measure"))
        .set(11, status(row, "final"))
        .set(14, time(row.cell("measured_at")))
        .set(16, component(row.cell("operator_id")))
        .set(18, component(row.cell("meter_id")))
        .set(20, component(row.cell("body_site")));
    let order = order(row, "screen_id", SCREEN.to_owned(), "measured_at");
    let message = whereabouts(row, row.message("ORU", "R01").with(row.patient("infant_id")));
    let mut message = message.with(order).with(reading);
    let described = ["readings", "id_entry", "setting"];
    let stated = described.into_iter().filter(|column| !row.cell(column).is_empty());
    for (i, column) in stated.enumerate() {
        let value = component(row.cell(column));
        message = message.with(observation(i + 2, &own_code(column), "ST", value, ""));
    }
    message
}

pub(super) fn serum(row: &Row<'_>) -> Message {
    let analyte = row.cell("analyte");
    let code = match analyte {
        "total" | "direct" => own_code(analyte),
        loinc => component(loinc) + "^^LN",
    };
    let (kind, value) = value(row.cell("value"));
    let status = status(row, row.cell("status"));
    let result = observation(1, &code, kind, value, row.cell("unit_of_measure"))
        .set(11, status.clone())
        .set(14, time(row.cell("collected_at")));
    let specimen = Segment::named("SPM")
        .set(1, "1".to_owned())
        .set(4, specimen(row.cell("specimen")))
        .set(17, time(row.cell("collected_at")));
    let order = order(row, "specimen_id", code, "collected_at")
        .set(22, time(row.cell("resulted_at")))
        .set(25, status);
    let message = whereabouts(row, row.message("ORU", "R01").with(row.patient("infant_id")));
    message.with(order).with(result).with(specimen)
}

pub(super) fn meter_check(row: &Row<'_>) -> Message {
    let code = own_code("meter_check");
    let outcome = component(row.cell("outcome"));
    let check = observation(1, &code, "ST", outcome, "")
        .set(11, status(row, "final"))
        .set(14, time(row.cell("checked_at")))
        .set(18, component(row.cell("meter_id")));
    let message = whereabouts(row, row.message("ORU", "R01"));
    let order = order(row, "check_id", code, "checked_at");
    message.with(order).with(check)
}

fn order(row: &Row<'_>, id: &str, code: String, at: &str) -> Segment {
    Segment::named("OBR")
        .set(1, "1".to_owned())
        .set(3, component(row.cell(id)))
        .set(4, code)
        .set(7, time(row.cell(at)))
}

/// The unit, where it is known.
fn whereabouts(row: &Row<'_>, message: Message) -> Message {
    let unit = row.cell("unit");
    if unit.is_empty() {
        return message;
    }
    let pv1 = Segment::named("PV1").set(1, "1".to_owned());
    message.with(pv1.set(2, "I".to_owned()).set(3, component(unit)))
}

/// A value with the type it is sent as: a number, a bound, or text.
fn value(cell: &str) -> (&'static str, String) {
    let is_number = |text: &str| {
        let is_digits = text.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        is_digits && text.starts_with(|c: char| c.is_ascii_digit())
    };
    match cell.strip_prefix(['>', '<']) {
        Some(number) if is_number(number) => {
            let comparator = if cell.starts_with('>') { ">" } else { "<" };
            ("SN", format!("{comparator}^{number}"))
        }
        None if is_number(cell) => ("NM", cell.to_owned()),
        _ => ("ST", component(cell)),
    }
}

/// HL7 table 0085.
fn status(row: &Row<'_>, word: &str) -> String {
    let code = match word {
        _ if row.is_withdrawn() => "D",
        "preliminary" => "P",
        "final" => "F",
        "corrected" => "C",
        "cancelled" => "X",
        other => return component(other),
    };
    code.to_owned()
}

/// HL7 table 0487.
fn specimen(word: &str) -> String {
    let code = match word {
        "serum" => "SER",
        "plasma" => "PLAS",
        "blood" => "BLD",
        "urine" => "UR",
        "cord" => "BLDCO",
        other => return component(other),
    };
    code.to_owned()
}
