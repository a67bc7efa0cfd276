//! Births, stays, treatments and merges as ADT messages.

use super::row::Row;
use super::segments::{Message, Segment, component, identifier, observation, own_code, time};

pub(super) fn birth(row: &Row<'_>) -> Message {
    let event = if row.is_withdrawn() { "A29" } else { "A31" };
    let patient = row
        .patient("infant_id")
        .set(7, time(row.cell("born_at")))
        .set(8, component(row.cell("sex")))
        .set(21, identifier(row.cell("mother_id")))
        .set(25, component(row.cell("birth_order")));
    let visit = visit(row).set(4, "N".to_owned());
    let message = row.event(event, "").with(patient).with(visit);
    observations_of_birth(row, message)
}

fn observations_of_birth(row: &Row<'_>, mut message: Message) -> Message {
    let mut set = 0;
    let mut add = |message: Message, code: &str, kind: &str, value: String, unit: &str| {
        set += 1;
        message.with(observation(set, code, kind, value, unit))
    };
    let gestation = row.cell("gestation");
    if !gestation.is_empty() {
        let (kind, value, unit) = gestation_of(gestation);
        message = add(message, "11884-4^Gestational age^LN", kind, value, unit);
    }
    let weight = component(row.cell("birth_weight_g"));
    if !weight.is_empty() {
        message = add(message, "8339-4^Birth weight^LN", "NM", weight, "g");
    }
    for column in ["plurality", "feeding", "risk_factors", "skin_tone", "ethnicity"] {
        let cell = row.cell(column);
        let values = match column {
            "risk_factors" => cell.split(';').map(|word| component(word.trim())).collect(),
            _ => vec![component(cell)],
        };
        if !cell.is_empty() {
            message = add(message, &own_code(column), "ST", values.join("~"), "");
        }
    }
    message
}

/// Days, or completed weeks, as numbers; anything else as it is.
fn gestation_of(cell: &str) -> (&'static str, String, &'static str) {
    let number = |text: &str| text.parse::<u32>().ok().filter(|_| text.len() < 4);
    if let Some((weeks, days)) = cell.split_once('+')
        && let (Some(weeks), Some(days @ 0..=6)) = (number(weeks), number(days))
    {
        return ("NM", (weeks * 7 + days).to_string(), "d");
    }
    match number(cell) {
        Some(weeks) => ("NM", weeks.to_string(), "wk"),
        None => ("ST", component(cell), ""),
    }
}

/// One message with all that is known: an admission, or a discharge that states the admission
/// as well. What lacks the moment of its event is an update.
pub(super) fn stay(row: &Row<'_>) -> Message {
    let [admitted, discharged, disposition] = ["admitted_at", "discharged_at", "disposition"].map(|of| row.cell(of));
    let event = match (admitted, discharged, disposition) {
        _ if row.is_withdrawn() => "A11",
        ("", _, _) => "A08",
        (_, "", "") => "A01",
        (_, "", _) => "A08",
        _ => "A03",
    };
    let (admission_type, admit_source) = match row.cell("source") {
        "birth" => ("N", String::new()),
        "home" => ("R", String::new()),
        "transfer" => ("", "4".to_owned()),
        other => ("", component(other)),
    };
    let disposition = match disposition {
        "home" => "01".to_owned(),
        "transfer" => "02".to_owned(),
        "died" => "20".to_owned(),
        other => component(other),
    };
    let visit = visit(row)
        .set(4, admission_type.to_owned())
        .set(14, admit_source)
        .set(19, component(row.cell("stay_id")))
        .set(36, disposition)
        .set(44, time(admitted))
        .set(45, time(discharged));
    let mut message = row.event(event, "").with(row.patient("infant_id")).with(visit);
    let diagnoses = row.cell("diagnoses").split(';').map(str::trim);
    for (i, code) in diagnoses.filter(|code| !code.is_empty()).enumerate() {
        let priority = (i + 1).to_string();
        let dg1 = Segment::named("DG1").set(1, priority.clone()).set(15, priority);
        message = message.with(dg1.set(3, component(code) + "^^I10").set(6, "F".to_owned()));
    }
    message
}

pub(super) fn phototherapy(row: &Row<'_>) -> Message {
    let mut message = treatment(row);
    let (setting, stopped) = (row.cell("setting"), row.cell("stopped_at"));
    if !setting.is_empty() {
        message = message.with(observation(1, &own_code("setting"), "ST", component(setting), ""));
    }
    if !stopped.is_empty() {
        message = message.with(observation(2, &own_code("stopped_at"), "DTM", time(stopped), ""));
    }
    let (code, modifier) = match row.cell("kind") {
        "single" => ("phototherapy_single", String::new()),
        "multiple" => ("phototherapy_multiple", String::new()),
        other => ("phototherapy", component(other)),
    };
    message.with(procedure(row, code, "started_at", "episode_id").set(16, modifier))
}

pub(super) fn exchange(row: &Row<'_>) -> Message {
    treatment(row).with(procedure(row, "exchange", "performed_at", "exchange_id"))
}

fn treatment(row: &Row<'_>) -> Message {
    row.event("A08", "").with(row.patient("infant_id")).with(visit(row))
}

/// A procedure with its own identifier and, in field 20, what is to be done with it.
fn procedure(row: &Row<'_>, code: &str, at: &str, id: &str) -> Segment {
    let action = if row.is_withdrawn() { "D" } else { "A" };
    Segment::named("PR1")
        .set(1, "1".to_owned())
        .set(3, own_code(code))
        .set(5, time(row.cell(at)))
        .set(19, component(row.cell(id)))
        .set(20, action.to_owned())
}

pub(super) fn merge(row: &Row<'_>) -> Message {
    let event = if row.is_withdrawn() { "A37" } else { "A40" };
    let message = row.event(event, row.cell("merged_at"));
    let message = message.with(row.patient("into_infant_id"));
    if row.is_withdrawn() {
        return message.with(row.patient("from_infant_id"));
    }
    message.with(Segment::named("MRG").set(1, identifier(row.cell("from_infant_id"))))
}

fn visit(row: &Row<'_>) -> Segment {
    let pv1 = Segment::named("PV1").set(1, "1".to_owned()).set(2, "I".to_owned());
    pv1.set(3, component(row.cell("unit")))
}
