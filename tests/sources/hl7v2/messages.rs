//! Messages: delimiters, escapes, what is said and what is not, whom it is about.

use siskin::extracts::hl7v2::{Hl7Settings, Visits};
use siskin::extracts::reason::Reason;
use siskin::extracts::record::Code;

use super::{adt, assert_fault, is_said, only_row, oru, read, read_with, settings};

fn screen_with(obx: &str) -> String {
    oru(&["OBR|1||T-1|58941-6^^LN|||202603010700", obx])
}

#[test]
fn delimiters_are_those_the_message_declares() {
    let usual = screen_with("OBX|1|SN|58941-6^^LN||>^20|mg/dL^^UCUM|||||F|||202603010705||||N\\R\\1");
    let swapped: String = usual
        .chars()
        .map(|c| match c {
            '|' => '*',
            '^' => '!',
            '~' => '$',
            '\\' => '%',
            '&' => '@',
            c => c,
        })
        .collect();
    let (usual, swapped) = (only_row(usual), only_row(swapped));
    assert_eq!(usual.value("meter_id"), "N~1");
    assert_eq!(swapped.value("meter_id"), "N$1");
    assert_eq!(
        (swapped.value("value"), swapped.value("unit_of_measure")),
        (">20", "mg/dL")
    );
}

/// HL7 v2.5.1, chapter 2, section 2.7.
#[test]
fn escapes_are_replaced() {
    let row = only_row(screen_with(
        "OBX|1|NM|58941-6^^LN||1|u|||||F|||||||a\\F\\b\\S\\c\\T\\d\\R\\e\\E\\f\\X41\\\\.br\\g\\Zx\\h",
    ));
    assert_eq!(row.value("meter_id"), "a|b^c&d~e\\fA\ng\\Zx\\h");
}

#[test]
fn delimiters_that_cannot_be_told_apart_are_a_fault() {
    for bad in ["MSH|^^\\&|", "MSH|^~\\&#$|", "MSHA^~", "MSH||", "MSH"] {
        let records = read(format!("{bad}\rPID|1\r"));
        assert!(records[0].fault.is_some(), "{bad}");
        assert!(records[0].rows.is_empty());
    }
}

#[test]
fn a_line_that_is_no_segment_is_told() {
    let records = read(screen_with("note that goes on"));
    assert_fault(
        records[0].fault.as_ref(),
        Reason::UnreadableRecord,
        "",
        "segment 4 does not begin",
    );
    assert_eq!(records[0].fault.as_ref().unwrap().cell, "note that goes on");
}

#[test]
fn two_quotes_empty_a_cell_and_nothing_says_nothing() {
    let row = only_row(adt("A31", "1", &["PV1|1|I|U|N", "OBX|1|ST|feeding^^SISKIN||\"\""]));
    assert!(is_said(&row, "feeding"));
    assert_eq!(row.value("feeding"), "");
    assert!(!is_said(&row, "skin_tone"));
}

#[test]
fn the_identifier_is_that_of_the_declared_type_and_authority() {
    let ids = "PID|1||W-9^^^WARD^PI~B-2^^^H^MR~B-3^^^OTHER&1.2.3&ISO^MR";
    let message = screen_with("OBX|1|NM|58941-6^^LN||1|u|||||F").replace("PID|1||B-1^^^H^MR", ids);
    let with = |identifier_type: &str, authority: Option<&str>| {
        let settings = Hl7Settings {
            identifier_type: identifier_type.to_owned(),
            identifier_authority: authority.map(str::to_owned),
            ..settings()
        };
        let row = read_with(message.as_bytes(), &settings, &mut Visits::default())
            .remove(0)
            .rows
            .remove(0);
        (row.value("infant_id").to_owned(), row.fault)
    };
    assert_eq!(with("MR", None).0, "B-2");
    assert_eq!(with("MR", Some("OTHER")).0, "B-3");
    // One of another type may be somebody else's number.
    let (id, fault) = with("XX", None);
    assert_eq!(id, "");
    assert_fault(
        fault.as_ref(),
        Reason::UnreadableId,
        "infant_id",
        "PID, field 3: no identifier of type XX",
    );
    let untyped = message.replace("W-9^^^WARD^PI", "W-9");
    let row = read(untyped.replace("^MR", "^XX")).remove(0).rows.remove(0);
    assert_eq!(row.value("infant_id"), "W-9");
    let (id, fault) = with("MR", Some("NOBODY"));
    assert_eq!(id, "");
    assert_fault(
        fault.as_ref(),
        Reason::UnreadableId,
        "infant_id",
        "PID, field 3: no identifier of NOBODY",
    );
}

#[test]
fn without_a_patient_nothing_can_be_read() {
    let message = screen_with("OBX|1|NM|58941-6^^LN||1|u|||||F").replace("PID|1||B-1^^^H^MR\r", "");
    let records = read(message);
    assert_fault(
        records[0].fault.as_ref(),
        Reason::UnreadableRecord,
        "",
        "PID is missing",
    );
}

#[test]
fn a_type_of_message_that_is_not_read_is_counted() {
    let record = read("MSH|^~\\&|A|||||| ORM^O01|1|P|2.3\rPID|1||B-1\r").remove(0);
    let code = Code {
        system: "HL7 v2 message".to_owned(),
        code: "ORM^O01".to_owned(),
        display: String::new(),
    };
    assert_eq!(
        (record.fault, record.rows.len(), record.unmapped),
        (None, 0, vec![code])
    );
}

#[test]
fn a_training_message_is_left_out() {
    let message = screen_with("OBX|1|NM|58941-6^^LN||1|u|||||F").replace("|P|2.5.1", "|T|2.5.1");
    let records = read(message);
    assert_fault(records[0].fault.as_ref(), Reason::UnreadableRecord, "", "MSH, field 11");
}

/// Data type DTM of HL7 v2.5.1, chapter 2A.
#[test]
fn times_are_read_only_as_precise_as_they_are() {
    let measured = |time: &str| only_row(screen_with(&format!("OBX|1|NM|58941-6^^LN||1|u|||||F|||{time}")));
    let read = [
        ("202603010705", "2026-03-01T07:05"),
        ("20260301070509", "2026-03-01T07:05:09"),
        ("20260301070509.25+0530", "2026-03-01T07:05:09.25+05:30"),
        ("202603010705-0000", "2026-03-01T07:05+00:00"),
        ("20260301", "2026-03-01"),
        ("202603010000^D", "2026-03-01"),
    ];
    for (written, iso) in read {
        assert_eq!(measured(written).value("measured_at"), iso);
    }
    for bad in [
        "202603",
        "2026030107",
        "202602300705",
        "202603012405",
        "202603010760",
        "202603010705+1",
        "202603010705+1560",
        "202603010705.5",
        "yesterday",
        "2026-03-01",
        "\u{663}\u{663}260301",
    ] {
        let row = measured(bad);
        assert_fault(
            row.fault.as_ref(),
            Reason::UnreadableTime,
            "measured_at",
            "OBX, field 14",
        );
        assert_eq!(row.fault.unwrap().cell, bad);
    }
}
