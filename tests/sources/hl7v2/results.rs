//! Screens, serum and meter checks from results (HL7 v2.5.1, chapter 7).

use siskin::extracts::hl7v2::Visits;
use siskin::extracts::reason::Reason;
use siskin::extracts::record::SourceRow;

use super::{assert_fault, is_said, only_row, oru, read, read_with, said, settings_with};

const SCREEN: &str = "OBR|1|P-1|T-1|58941-6^^LN|||202603010700";
const SERUM: &str = "OBR|1|P-1|F-1|14631-6^^LN|||202603010700|||||||||||||||202603010900|||F";

fn screen(obx: &str) -> SourceRow {
    only_row(oru(&[SCREEN, &format!("OBX|1|{obx}")]))
}

fn serum(obx: &str) -> SourceRow {
    only_row(oru(&[SERUM, &format!("OBX|1|{obx}")]))
}

/// Data type SN of HL7 v2.5.1, chapter 2A.
#[test]
fn a_structured_number_is_a_value_or_a_bound() {
    for (written, value) in [(">^20", ">20"), ("<^1.5", "<1.5"), ("^20", "20"), ("=^20", "20")] {
        assert_eq!(
            screen(&format!("SN|58941-6^^LN||{written}|mg/dL|||||F")).value("value"),
            value
        );
    }
    for bad in ["^10^-^20", "^1^:^128", "^2^+", ">=^20", "<>^20", ">", "20"] {
        let row = screen(&format!("SN|58941-6^^LN||{bad}|mg/dL|||||F"));
        assert_fault(row.fault.as_ref(), Reason::UnreadableValue, "value", "OBX, field 5");
        assert_eq!(row.fault.unwrap().cell, bad);
    }
}

#[test]
fn several_values_in_one_observation_are_not_read() {
    let row = screen("NM|58941-6^^LN||200~210|umol/L|||||F");
    assert_fault(row.fault.as_ref(), Reason::UnreadableValue, "value", "several values");
}

#[test]
fn a_unit_that_is_not_given_is_not_guessed() {
    assert!(!is_said(&screen("NM|58941-6^^LN||200||||||F"), "unit_of_measure"));
    assert_eq!(
        screen("NM|58941-6^^LN||200|mmol|||||F").value("unit_of_measure"),
        "mmol"
    );
}

#[test]
fn other_observations_of_the_order_describe_the_screen() {
    let row = only_row(oru(&[
        SCREEN,
        "OBX|1|NM|58941-6^^LN|1|200|umol/L|||||F|||202603010705||N07^A^B||M1^X||sternum",
        "OBX|2|NM|readings^^SISKIN|1|3",
        "OBX|3|ST|id_entry^^SISKIN||typed",
        "OBX|4|ST|setting^^SISKIN|1|home",
        "OBX|5|ST|setting^^SISKIN|2|inpatient",
    ]));
    let columns = [
        "measured_at",
        "operator_id",
        "meter_id",
        "body_site",
        "readings",
        "id_entry",
        "setting",
    ];
    assert_eq!(
        said(&row, &columns),
        ["2026-03-01T07:05", "N07", "M1", "sternum", "3", "typed", "home"]
    );
}

#[test]
fn the_moment_of_a_screen_is_its_own_or_that_of_its_order() {
    assert_eq!(
        screen("NM|58941-6^^LN||200|umol/L|||||F").value("measured_at"),
        "2026-03-01T07:00"
    );
    let row = only_row(oru(&[
        "OBR|1||T|58941-6^^LN",
        "OBX|1|NM|58941-6^^LN||2|u|||||F",
        "SPM|1||||||||||||||||202603010600",
    ]));
    assert_eq!(row.value("measured_at"), "2026-03-01T06:00");
}

#[test]
fn two_readings_of_one_order_have_two_ids() {
    let record = read(oru(&[
        SCREEN,
        "OBX|1|NM|58941-6^^LN||200|umol/L|||||F",
        "OBX|2|NM|58941-6^^LN||210|umol/L|||||F",
    ]))
    .remove(0);
    let ids: Vec<&str> = record.rows.iter().map(|row| row.value("screen_id")).collect();
    assert_eq!(ids, ["T-1", "T-1#2"]);
}

#[test]
fn a_screen_that_was_taken_back_is_withdrawn() {
    for status in ["D", "W"] {
        let row = screen(&format!("NM|58941-6^^LN||200|umol/L|||||{status}"));
        assert_eq!(row.value("record_status"), "withdrawn");
    }
    assert!(!is_said(&screen("NM|58941-6^^LN||200|umol/L|||||F"), "record_status"));
}

#[test]
fn a_cancelled_screen_has_no_number() {
    assert_eq!(screen("ST|58941-6^^LN||failed||||||X").value("value"), "failed");
    let row = screen("NM|58941-6^^LN||200|umol/L|||||X");
    assert_fault(row.fault.as_ref(), Reason::UnreadableValue, "value", "field 11");
}

#[test]
fn the_status_of_serum_is_that_of_the_result_or_of_the_order() {
    let expected = [
        ("P", "preliminary"),
        ("F", "final"),
        ("C", "corrected"),
        ("X", "cancelled"),
        ("", "final"),
    ];
    for (status, word) in expected {
        let row = serum(&format!("NM|14631-6^^LN||200|umol/L|||||{status}"));
        assert_eq!((row.value("status"), row.value("record_status")), (word, ""));
    }
    for status in ["D", "W"] {
        let row = serum(&format!("NM|14631-6^^LN||200|umol/L|||||{status}"));
        assert_eq!(said(&row, &["status", "record_status"]), ["withdrawn", "withdrawn"]);
    }
    let row = serum("NM|14631-6^^LN||200|umol/L|||||Q");
    assert_fault(row.fault.as_ref(), Reason::UnknownWord, "status", "[words.status]");
}

#[test]
fn an_order_without_a_result_is_an_attempt() {
    let row = only_row(oru(&[&SERUM.replace("|||F", "|||X")]));
    let columns = ["specimen_id", "collected_at", "value", "analyte", "status"];
    assert_eq!(
        said(&row, &columns),
        ["F-1", "2026-03-01T07:00", "", "14631-6", "cancelled"]
    );
}

#[test]
fn each_result_of_an_order_keeps_its_id_whatever_comes_with_it() {
    let panel = "OBR|1|P-1|F-1|24325-3^Liver panel^LN|||202603010700";
    let total = "OBX|1|NM|14631-6^^LN||200|umol/L|||||F";
    let direct = "OBX|2|NM|14629-0^^LN||9|umol/L|||||F";
    let ids = |observations: &[&str]| {
        let segments: Vec<&str> = [panel].into_iter().chain(observations.iter().copied()).collect();
        let rows = read(oru(&segments)).remove(0).rows;
        rows.iter()
            .map(|row| row.value("specimen_id").to_owned())
            .collect::<Vec<_>>()
    };
    // What was measured tells them apart (src/intake/results.rs).
    assert_eq!(ids(&[total, direct]), ["F-1", "F-1"]);
    assert_eq!(ids(&[direct, total]), ["F-1", "F-1"]);
    assert_eq!(ids(&[direct]), ["F-1"]);
    // Two of one code in one message are no versions of each other.
    assert_eq!(ids(&[total, total]), ["F-1", "F-1#2"]);
    assert_eq!(ids(&[total, direct, total]), ["F-1", "F-1", "F-1#2"]);
    // Two codes of total are one result, of which the later row stands.
    let other_total = "OBX|1|NM|1975-2^^LN||11.7|mg/dL|||||F";
    assert_eq!(ids(&[total, other_total]), ["F-1", "F-1"]);
    let ordered = only_row(oru(&[&SERUM.replace("14631-6", "14629-0"), direct]));
    assert_eq!(ordered.value("specimen_id"), "F-1");
}

#[test]
fn the_specimen_is_that_of_its_segment_or_of_the_order() {
    let specimen = |order: &str, spm: &str| {
        let order = SERUM.replace(
            "202603010700|||||||||||||||",
            &format!("202603010700||||||||{order}|||||||"),
        );
        let result = "OBX|1|NM|14631-6^^LN||200|umol/L|||||F";
        only_row(oru(&[&order, result, spm])).value("specimen").to_owned()
    };
    assert_eq!(specimen("", "SPM|1|||SER^Serum^HL70487"), "serum");
    assert_eq!(specimen("PLAS&Plasma&HL70487", "SPM|1"), "plasma");
    assert_eq!(specimen("", "SPM|1|||Heel Prick"), "heel prick");
}

#[test]
fn codes_of_siskin_and_of_a_laboratory_become_words() {
    let row = serum("NM|total^^SISKIN||200|umol/L|||||F");
    assert_eq!(row.value("analyte"), "total");
    let settings = settings_with("codes.serum = [\"BILT\"]\nwords.analyte.BILT = \"total\"");
    let message = oru(&[SERUM, "OBX|1|NM|BILT^Bilirubin^L||200|umol/L|||||F"]);
    let records = read_with(message.as_bytes(), &settings, &mut Visits::default());
    assert_eq!(said(&records[0].rows[0], &["specimen_id", "analyte"]), ["F-1", "total"]);
    assert_eq!(read(message)[0].unmapped[0].code, "BILT");
}

#[test]
fn the_alternate_code_counts_where_the_first_is_unknown() {
    let row = serum("NM|BILT^Bilirubin^L^1975-2^Bilirubin.total^LN||12|mg/dL|||||F");
    assert_eq!(row.value("analyte"), "1975-2");
}

#[test]
fn a_result_without_an_order_number_has_no_id() {
    let row = only_row(oru(&["OBR|1|||58941-6^^LN", "OBX|1|NM|58941-6^^LN||200|umol/L|||||F"]));
    assert_fault(row.fault.as_ref(), Reason::MissingId, "screen_id", "OBR, field 3");
    let row = only_row(oru(&["OBX|1|NM|58941-6^^LN||200|umol/L|||||F"]));
    assert_fault(row.fault.as_ref(), Reason::MissingId, "screen_id", "OBR is missing");
}

#[test]
fn a_meter_check_is_of_nobody() {
    let message = oru(&[
        "OBR|1||K-1|meter_check^^SISKIN|||202603010600",
        "OBX|1|ST|meter_check^^SISKIN||pass||||||F|||||||M1",
    ]);
    let row = only_row(message.replace("PID|1||B-1^^^H^MR\r", "PV1|1|I|U1\r"));
    let columns = ["check_id", "meter_id", "checked_at", "outcome", "unit"];
    assert_eq!(said(&row, &columns), ["K-1", "M1", "2026-03-01T06:00", "pass", "U1"]);
}

#[test]
fn faults_say_which_observation_it_is() {
    let record = read(oru(&[
        SCREEN,
        "OBX|1|ST|note^^L||seen",
        "OBX|2|SN|58941-6^^LN||^1^-^2|mg/dL|||||F",
    ]))
    .remove(0);
    assert_fault(
        record.rows[0].fault.as_ref(),
        Reason::UnreadableValue,
        "value",
        "OBX 2, field 5",
    );
    assert_eq!(record.unmapped[0].code, "note");
}
