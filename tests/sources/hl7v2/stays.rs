//! Stays of a visit: transfers, and messages that cancel others (HL7 v2.5.1, chapter 3).

use siskin::extracts::hl7v2::Visits;
use siskin::extracts::reason::Reason;

use super::{adt, assert_fault, read_with, said, settings, settings_with};

const COLUMNS: [&str; 8] = [
    "stay_id",
    "unit",
    "admitted_at",
    "discharged_at",
    "source",
    "disposition",
    "diagnoses",
    "record_status",
];

/// A message at an hour of the first of March, in a unit.
fn at(event: &str, hour: u32, unit: &str) -> String {
    let time = format!("20260301{hour:02}00");
    let visit = format!("PV1|1|I|{unit}|R|||||||||||||||V");
    let message = adt(event, &format!("C{hour}"), &[&visit]);
    message.replace("20260301080000", &time)
}

/// What each message says of stays, a line for each row.
fn stays(visits: &mut Visits, messages: &[String]) -> Vec<Vec<String>> {
    let records = read_with(messages.concat().as_bytes(), &settings(), visits);
    assert!(records.iter().all(|record| record.fault.is_none()), "{records:#?}");
    let told = records.iter().map(|record| {
        let rows = record.rows.iter().inspect(|row| assert_eq!(row.fault, None));
        rows.map(|row| said(row, &COLUMNS).join(",")).collect()
    });
    told.collect()
}

#[test]
fn a_transfer_ends_a_stay_and_opens_the_next() {
    let told = stays(
        &mut Visits::default(),
        &[
            at("A01", 8, "A^1"),
            at("A02", 9, "B^1"),
            at("A02", 10, "B^2"),
            at("A02", 11, "A"),
            at("A03", 12, "A"),
        ],
    );
    assert_eq!(told[0], ["V,A,2026-03-01T08:00,,home,,,"]);
    assert_eq!(
        told[1],
        [
            "V,,,2026-03-01T09:00,,transfer,,",
            "V.2,B,2026-03-01T09:00,,transfer,,,"
        ]
    );
    assert_eq!(told[2], Vec::<String>::new());
    assert_eq!(
        told[3],
        [
            "V.2,,,2026-03-01T11:00,,transfer,,",
            "V.3,A,2026-03-01T11:00,,transfer,,,"
        ]
    );
    assert_eq!(told[4], ["V.3,A,,2026-03-01T12:00,,,,"]);
}

#[test]
fn a_cancelled_transfer_opens_the_stay_before_again() {
    let told = stays(
        &mut Visits::default(),
        &[
            at("A01", 8, "A"),
            at("A02", 9, "B"),
            at("A12", 10, "A"),
            at("A02", 11, "C"),
            at("A08", 12, "C"),
        ],
    );
    assert_eq!(told[2], ["V.2,,,,,,,withdrawn", "V,,,,,,,"]);
    assert_eq!(told[3][1], "V.3,C,2026-03-01T11:00,,transfer,,,");
    assert_eq!(told[4], ["V.3,C,,,,,,"]);
}

#[test]
fn cancelling_a_move_between_beds_cancels_no_transfer() {
    let messages = [
        at("A01", 8, "A"),
        at("A02", 9, "B"),
        at("A02", 10, "B^2"),
        at("A12", 11, "B"),
        at("A12", 12, "A"),
    ];
    let told = stays(&mut Visits::default(), &messages);
    assert_eq!(told[3], Vec::<String>::new());
    assert_eq!(told[4][0], "V.2,,,,,,,withdrawn");
}

#[test]
fn a_cancelled_discharge_opens_the_last_stay_again() {
    let mut visits = Visits::default();
    let messages = [
        at("A01", 8, "A"),
        at("A02", 9, "B"),
        at("A03", 10, "B"),
        at("A13", 11, "B"),
    ];
    let records = read_with(messages.concat().as_bytes(), &settings(), &mut visits);
    let row = &records[3].rows[0];
    assert_eq!(said(row, &["stay_id", "discharged_at", "disposition"]), ["V.2", "", ""]);
    assert!(super::is_said(row, "discharged_at") && super::is_said(row, "disposition"));
}

#[test]
fn a_cancelled_admission_withdraws_all_stays_and_their_ids_for_good() {
    let messages = [
        at("A01", 8, "A"),
        at("A02", 9, "B"),
        at("A11", 10, "A"),
        at("A01", 11, "C"),
    ];
    let told = stays(&mut Visits::default(), &messages);
    assert_eq!(told[2], ["V,,,,,,,withdrawn", "V.2,,,,,,,withdrawn"]);
    assert_eq!(told[3], ["V.3,C,2026-03-01T11:00,,home,,,"]);
}

#[test]
fn a_visit_goes_on_in_the_next_load() {
    let mut first = Visits::default();
    stays(&mut first, &[at("A01", 8, "A"), at("A02", 9, "B")]);
    let learned = first.learned();
    assert_eq!(learned.len(), 1);
    let mut next = Visits::default();
    assert!(learned.iter().all(|(key, value)| next.recall(key, value)));
    assert!(!next.recall("W", "not what was learned"));
    assert_eq!(next.learned(), []);
    let told = stays(&mut next, &[at("A02", 10, "C")]);
    assert_eq!(told[0][1], "V.3,C,2026-03-01T10:00,,transfer,,,");
}

#[test]
fn messages_that_come_again_say_the_same_again() {
    let messages = [
        at("A01", 8, "A"),
        at("A08", 9, "A"),
        at("A02", 10, "B"),
        at("A02", 11, "A"),
        at("A12", 12, "B"),
        at("A03", 13, "B"),
        at("A13", 14, "B"),
        at("A11", 15, "B"),
    ];
    let mut visits = Visits::default();
    let first = stays(&mut visits, &messages);
    let learned = visits.learned();
    assert_eq!(stays(&mut visits, &messages), first);
    assert_eq!(visits.learned(), learned);
}

#[test]
fn a_transfer_of_an_unknown_visit_tells_what_it_knows_of_the_unit_before() {
    let visit = "PV1|1|I|B|R||A^3|||||||||||||V|||||||||||||||||||||||||202602280600";
    let message = adt("A02", "1", &[visit]);
    let told = stays(&mut Visits::default(), &[message]);
    let before = "V,A,2026-02-28T06:00,2026-03-01T08:00:00,,transfer,,";
    assert_eq!(told[0], [before, "V.2,B,2026-03-01T08:00:00,,transfer,,,"]);
}

#[test]
fn what_cancels_an_unknown_transfer_waits_for_it() {
    let records = read_with(at("A12", 8, "A").as_bytes(), &settings(), &mut Visits::default());
    let fault = records[0].rows[0].fault.as_ref();
    assert_fault(fault, Reason::AbsentReference, "stay_id", "PV1, field 19");
}

#[test]
fn a_visit_that_was_cancelled_cannot_be_discharged() {
    let messages = [at("A01", 8, "A"), at("A11", 9, "A"), at("A03", 10, "A")];
    let records = read_with(messages.concat().as_bytes(), &settings(), &mut Visits::default());
    let fault = records[2].rows[0].fault.as_ref();
    assert_fault(fault, Reason::UnreadableRecord, "stay_id", "was cancelled");
}

#[test]
fn a_stay_needs_a_visit_number() {
    for segments in [&["PV1|1|I|A|R"][..], &[]] {
        let records = read_with(
            adt("A01", "1", segments).as_bytes(),
            &settings(),
            &mut Visits::default(),
        );
        let fault = records[0].rows[0].fault.as_ref();
        assert_fault(fault, Reason::MissingId, "stay_id", "PV1, field 19");
    }
}

#[test]
fn a_transfer_needs_its_unit() {
    let records = read_with(at("A02", 8, "").as_bytes(), &settings(), &mut Visits::default());
    assert_fault(
        records[0].rows[0].fault.as_ref(),
        Reason::UnreadableRecord,
        "unit",
        "PV1, field 3",
    );
}

#[test]
fn outpatients_have_no_stay() {
    let message = at("A01", 8, "A").replace("PV1|1|I", "PV1|1|O");
    let records = read_with(message.as_bytes(), &settings(), &mut Visits::default());
    assert!(records[0].rows.is_empty());
    assert_eq!(records[0].unmapped[0].system, "HL7 v2 patient class");
}

fn discharged(disposition: &str) -> String {
    let visit = format!("PV1|1|I|A|R|||||||||||||||V|||||||||||||||||{disposition}||||||||202603010800|202603021100");
    adt("A03", "1", &[&visit])
}

#[test]
fn dispositions_are_words_that_a_list_names() {
    for (code, word) in [("01", "home"), ("02", "transfer"), ("20", "died")] {
        let told = stays(&mut Visits::default(), &[discharged(code)]);
        assert_eq!(
            told[0],
            [format!("V,A,2026-03-01T08:00,2026-03-02T11:00,home,{word},,")]
        );
    }
    let read = |settings| read_with(discharged("99").as_bytes(), &settings, &mut Visits::default()).remove(0);
    let unknown = read(settings()).rows.remove(0);
    assert_fault(
        unknown.fault.as_ref(),
        Reason::UnknownWord,
        "disposition",
        "PV1, field 36",
    );
    assert_fault(
        unknown.fault.as_ref(),
        Reason::UnknownWord,
        "disposition",
        "[words.disposition]",
    );
    let named = read(settings_with("words.disposition.99 = \"home\""));
    assert_eq!(named.rows[0].value("disposition"), "home");
}

#[test]
fn a_source_that_no_list_names_is_told() {
    let message = at("A01", 8, "A").replace("|R|||||||||||||||V", "|||||||||||Q|||||V");
    let records = read_with(message.as_bytes(), &settings(), &mut Visits::default());
    assert_fault(
        records[0].rows[0].fault.as_ref(),
        Reason::UnknownWord,
        "source",
        "PV1, field 14",
    );
}

#[test]
fn diagnoses_stand_by_priority() {
    let visit = "PV1|1|I|A|R|||||||||||||||V";
    let diagnoses = [
        "DG1|1||P07.3^^I10",
        "DG1|2||P59.9^^I10||||||||||||1",
        "DG1|3||P55.1^^I10||||||||||||2",
        "DG1|4||Z38.0^^I10||||||||||||||||||D",
    ];
    let segments: Vec<&str> = [visit].into_iter().chain(diagnoses).collect();
    let told = stays(&mut Visits::default(), &[adt("A08", "1", &segments)]);
    assert_eq!(told[0], ["V,A,,,home,,P59.9;P55.1;P07.3,"]);
}
