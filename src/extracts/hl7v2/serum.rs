//! Bilirubin in blood, from the laboratory.

use crate::extracts::reason::Reason;
use crate::extracts::record::{Cell, Code, SourceRow};

use super::cells::{say_known_word, say_part, say_time};
use super::message::Segment;
use super::order::Order;

/// The row of a result, or of an order that was never resulted; `codes` are those of the results
/// of the order before it.
pub(super) fn row(
    order: &Order<'_, '_>,
    code: &Code,
    obx: Option<&Segment<'_>>,
    codes: &mut Vec<String>,
) -> Option<SourceRow> {
    let analyte = analyte(order, code);
    let id = order.id().map(|id| own_id(code, id, codes));
    codes.push(code.code.clone());
    let mut row = order.row("serum", id)?;
    say_time(&mut row, "collected_at", &[(order.spm, 17), (obx, 14), (order.obr, 7)]);
    say_time(&mut row, "resulted_at", &[(order.obr, 22)]);
    row.say("analyte", Cell::read_from(&code.code, analyte));
    if let Some(obx) = obx {
        say_value(&mut row, obx);
    }
    say_specimen(&mut row, order);
    let status = [(obx, 11), (order.obr, 25)].into_iter();
    let mut status = status.filter_map(|(segment, n)| Some((segment?, n)));
    if let Some((segment, n)) = status.find(|(segment, n)| !segment.field(*n).is_empty()) {
        say_known_word(&mut row, "status", segment, n, &order.settings.codes);
    }
    if row.value("status") == "withdrawn" {
        row.say("record_status", "withdrawn");
    }
    Some(row)
}

/// Says value and unit of an observation.
pub(super) fn say_value(row: &mut SourceRow, obx: &Segment<'_>) {
    say_part(row, "unit_of_measure", obx, 6);
    let kind = obx.part(2, 1).unwrap_or_default();
    let field = obx.field(5);
    if field.repetitions().nth(1).is_some() {
        let what = "several values stand here: send each in an observation of its own";
        row.fail(obx.fault(5, Reason::UnreadableValue, "value", what));
        return;
    }
    let value = match kind.as_str() {
        "SN" => structured(obx),
        "CE" | "CWE" | "CNE" | "CF" => field.part(2).or_else(|| field.part(1)),
        _ => field.whole(),
    };
    match value {
        Some(value) => row.say("value", Cell::read_from(field.text, value)),
        None if field.is_empty() => {}
        None => {
            let what = "write a number, or a comparator (>, <, =) and one number";
            row.fail(obx.fault(5, Reason::UnreadableValue, "value", what));
        }
    }
}

/// A structured number: a comparator and one number; no range, no ratio.
fn structured(obx: &Segment<'_>) -> Option<String> {
    let field = obx.field(5);
    let part = |n: usize| field.part(n).unwrap_or_default();
    if field.text.trim() == "\"\"" {
        return Some(String::new());
    }
    let comparator = match part(1).as_str() {
        "" | "=" => "",
        ">" => ">",
        "<" => "<",
        _ => return None,
    };
    let number = part(2);
    let is_alone = [3, 4].iter().all(|n| part(*n).is_empty());
    (is_alone && !number.is_empty()).then(|| format!("{comparator}{number}"))
}

/// The LOINC code, or the word of the contract for another code.
fn analyte(order: &Order<'_, '_>, code: &Code) -> String {
    let word = order.settings.codes.word("analyte", &code.code);
    word.unwrap_or(&code.code).to_owned()
}

/// The number of the order: total and direct of one order are told apart by what they measure.
/// Results of one code in one message are no versions of each other, so that the second has a
/// number of its own.
fn own_id(code: &Code, id: String, codes: &[String]) -> String {
    match codes.iter().filter(|other| **other == code.code).count() {
        0 => id,
        earlier => format!("{id}#{}", earlier + 1),
    }
}

/// What was drawn: the specimen segment, else the order's own field.
fn say_specimen(row: &mut SourceRow, order: &Order<'_, '_>) {
    let places = [(order.spm, 4), (order.obr, 15)];
    let said = places.iter().find_map(|(segment, n)| (*segment)?.part(*n, 1));
    let Some(said) = said else {
        return;
    };
    let word = order.settings.codes.word("specimen", &said);
    let word = word.map_or_else(|| said.to_lowercase(), str::to_owned);
    row.say("specimen", Cell::read_from(&said, word));
}
