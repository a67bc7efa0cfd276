//! What an admission, a discharge or an update says of one stay.

use crate::extracts::record::SourceRow;

use super::cells::{say_known_word, say_time, unit_of, unknown_word};
use super::event::Event;
use super::message::Segment;

/// Says what stands in the message. How and when the visit began is said of its first stay
/// only; a discharge is not read from an admission.
pub(super) fn describe(row: &mut SourceRow, event: &Event<'_, '_>, pv1: &Segment<'_>, is_first: bool) {
    let is_admission = matches!(event.name, "A01" | "A06");
    let [(evn, occurred), (_, recorded)] = event.happened();
    if is_first {
        let evn = evn.filter(|_| is_admission);
        say_time(row, "admitted_at", &[(Some(pv1), 44), (evn, occurred), (evn, recorded)]);
        say_source(row, event, pv1);
    }
    if !is_admission {
        let evn = evn.filter(|_| event.name == "A03");
        say_time(
            row,
            "discharged_at",
            &[(Some(pv1), 45), (evn, occurred), (evn, recorded)],
        );
        say_known_word(row, "disposition", pv1, 36, &event.settings.codes);
    }
    if let Some(unit) = unit_of(Some(pv1), event.settings) {
        row.say("unit", unit);
    }
    say_diagnoses(row, event);
}

/// How the stay began: with the birth when the admission type says so, else by the admit
/// source, else by the admission type.
fn say_source(row: &mut SourceRow, event: &Event<'_, '_>, pv1: &Segment<'_>) {
    let codes = &event.settings.codes;
    let known = |n: usize| {
        let said = pv1.part(n, 1).unwrap_or_default();
        codes.word("source", &said)
    };
    let word = if event.is_newborn() {
        Some("birth")
    } else {
        known(14).or(known(4))
    };
    let given = [14, 4].into_iter().find(|n| pv1.part(*n, 1).is_some());
    match (word, given) {
        (Some(word), _) => row.say("source", word),
        (None, Some(n)) if pv1.part(n, 1).as_deref() == Some("") => row.say("source", ""),
        (None, Some(n)) => row.fail(unknown_word(pv1, n, "source")),
        (None, None) => {}
    }
}

/// Diagnoses by their priority, then as they stand.
fn say_diagnoses(row: &mut SourceRow, event: &Event<'_, '_>) {
    let mut codes: Vec<(u32, u32, String)> = Vec::new();
    for dg1 in event.message.all("DG1") {
        let number = |n: usize| dg1.part(n, 1).and_then(|text| text.parse().ok()).unwrap_or(u32::MAX);
        let is_deleted = dg1.part(21, 1).as_deref() == Some("D");
        if let Some(code) = dg1.part(3, 1).filter(|_| !is_deleted) {
            codes.push((number(15), number(1), code));
        }
    }
    if codes.is_empty() {
        return;
    }
    codes.sort_by_key(|(priority, set, _)| (*priority, *set));
    let codes = codes.into_iter().map(|(.., code)| code);
    let codes = codes.filter(|code| !code.is_empty());
    row.say("diagnoses", codes.collect::<Vec<_>>().join(";"));
}
