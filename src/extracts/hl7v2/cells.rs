//! Says cells of a row from fields of segments.

use crate::extracts::codes::Codes;
use crate::extracts::reason::Reason;
use crate::extracts::record::{Cell, SourceRow};

use super::message::Segment;
use super::settings::Hl7Settings;
use super::times;

/// Where a cell may stand: a segment, if there is one, and the field.
pub(super) type Place<'a, 't> = (Option<&'a Segment<'t>>, usize);

/// Says the first component of a field, if it says anything.
pub(super) fn say_part(row: &mut SourceRow, column: &str, segment: &Segment<'_>, n: usize) {
    if let Some(part) = segment.part(n, 1) {
        row.say(column, part);
    }
}

/// Says the word of the contract for a component, or the component itself.
pub(super) fn say_word(row: &mut SourceRow, column: &str, segment: &Segment<'_>, n: usize, codes: &Codes) {
    if let Some(said) = segment.part(n, 1) {
        row.say(column, in_contract(column, &said, codes));
    }
}

/// A word in the spelling of the contract; one that no list names stays as it is.
pub(super) fn in_contract(column: &str, said: &str, codes: &Codes) -> Cell {
    let word = codes.word(column, said).unwrap_or(said);
    Cell::read_from(said, word.to_owned())
}

/// Says a word that a list has to name.
pub(super) fn say_known_word(row: &mut SourceRow, column: &str, segment: &Segment<'_>, n: usize, codes: &Codes) {
    let Some(said) = segment.part(n, 1) else {
        return;
    };
    match codes.word(column, &said) {
        Some(word) => row.say(column, Cell::read_from(&said, word.to_owned())),
        None if said.is_empty() => row.say(column, ""),
        None => row.fail(unknown_word(segment, n, column)),
    }
}

/// A word that no list names.
pub(super) fn unknown_word(segment: &Segment<'_>, n: usize, column: &str) -> crate::extracts::record::Fault {
    let what = format!("no list names this word: say what it means in sources.toml, under [words.{column}]");
    let mut fault = segment.fault(n, Reason::UnknownWord, column, &what);
    fault.cell = segment.part(n, 1).unwrap_or_default();
    fault
}

/// Says the time that stands in the first of several places.
pub(super) fn say_time(row: &mut SourceRow, column: &str, places: &[Place<'_, '_>]) {
    let Some((segment, n, said)) = first_said(places) else {
        return;
    };
    let precision = segment.part(n, 2).unwrap_or_default();
    let read = match precision.as_str() {
        "D" => said.get(..8).and_then(times::iso),
        "Y" | "L" | "H" => None,
        _ => times::iso(&said),
    };
    match read {
        Some(iso) => row.say(column, Cell::read_from(&said, iso)),
        None if said.is_empty() => row.say(column, ""),
        None => row.fail(segment.fault(
            n,
            Reason::UnreadableTime,
            column,
            "write the time as YYYYMMDDHHMM, with seconds and an offset if known",
        )),
    }
}

/// The first place that says anything.
fn first_said<'a, 't>(places: &[Place<'a, 't>]) -> Option<(&'a Segment<'t>, usize, String)> {
    places.iter().find_map(|(segment, n)| {
        let segment = (*segment)?;
        Some((segment, *n, segment.part(*n, 1)?))
    })
}

/// The unit of the hospital in which the patient is: the point of care of `PV1`.
pub(super) fn unit_of(pv1: Option<&Segment<'_>>, settings: &Hl7Settings) -> Option<Cell> {
    let said = pv1?.part(3, 1)?;
    Some(in_contract("unit", &said, &settings.codes))
}

/// Whether a row says anything besides what identifies and orders it.
pub(super) fn says_anything(row: &SourceRow) -> bool {
    if row.fault.is_some() {
        return true;
    }
    let own = row.table.columns.iter().zip(&row.cells).skip(1);
    own.into_iter()
        .any(|((name, _), cell)| *name != "infant_id" && cell.is_some())
}
