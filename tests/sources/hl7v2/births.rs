//! The birth register from admission messages.

use siskin::extracts::reason::Reason;

use super::{adt, assert_fault, is_said, only_row, read, said};

const NEWBORN: &str = "PV1|1|I|U1|N";

fn gestation(obx: &str) -> siskin::extracts::record::SourceRow {
    only_row(adt("A31", "1", &[NEWBORN, &format!("OBX|1|{obx}")]))
}

#[test]
fn gestation_is_days_or_whole_weeks_or_both() {
    let read = [
        ("NM|11884-4^^LN||249|d", "35+4"),
        ("NM|11884-4^^LN||280|days", "40+0"),
        ("NM|11884-4^^LN||35|wk", "35"),
        ("NM|11884-4^^LN||35.0|weeks", "35"),
        ("ST|11884-4^^LN||35+4", "35+4"),
    ];
    for (obx, gestation_of_contract) in read {
        assert_eq!(gestation(obx).value("gestation"), gestation_of_contract, "{obx}");
    }
}

#[test]
fn gestation_that_can_be_read_in_two_ways_is_not_read() {
    for obx in [
        "NM|11884-4^^LN||35.4|wk",
        "NM|11884-4^^LN||35",
        "NM|11884-4^^LN||249.5|d",
        "ST|11884-4^^LN||35w4d",
    ] {
        let row = gestation(obx);
        assert_fault(
            row.fault.as_ref(),
            Reason::UnreadableGestation,
            "gestation",
            "OBX, field 5",
        );
    }
}

#[test]
fn birth_weight_is_in_grams() {
    assert_eq!(gestation("NM|8339-4^^LN||3250|g").value("birth_weight_g"), "3250");
    assert_eq!(gestation("NM|8339-4^^LN||3.25|kg").value("birth_weight_g"), "3250");
    for obx in [
        "NM|8339-4^^LN||3250",
        "NM|8339-4^^LN||7.1|lb",
        "NM|8339-4^^LN||3.2505|kg",
    ] {
        let row = gestation(obx);
        assert_fault(
            row.fault.as_ref(),
            Reason::UnreadableValue,
            "birth_weight_g",
            "OBX, field 5",
        );
    }
}

#[test]
fn observations_describe_the_baby() {
    let row = only_row(adt(
        "A31",
        "1",
        &[
            NEWBORN,
            "OBX|1|NM|plurality^^SISKIN||2",
            "OBX|2|CE|feeding^^SISKIN||breast^at the breast^L",
            "OBX|3|ST|risk_factors^^SISKIN||g6pd; sepsis~low_albumin",
            "OBX|4|ST|risk_factors^^SISKIN||instability",
            "OBX|5|ST|ethnicity^^SISKIN||x",
        ],
    ));
    let columns = ["plurality", "feeding", "risk_factors", "ethnicity", "unit"];
    assert_eq!(
        said(&row, &columns),
        ["2", "breast", "g6pd;sepsis;low_albumin;instability", "x", "U1"]
    );
}

#[test]
fn a_patient_who_is_no_newborn_has_no_birth() {
    let records = read(adt("A08", "1", &["PV1|1|I|U1|R", "OBX|1|ST|feeding^^SISKIN||breast"]));
    assert!(records[0].rows.is_empty() && records[0].fault.is_none());
}

#[test]
fn a_gestation_tells_of_a_birth_whatever_the_admission_type() {
    let row = only_row(adt("A31", "1", &["PV1|1|I|U1|R", "OBX|1|NM|11884-4^^LN||280|d"]));
    assert_eq!(row.value("gestation"), "40+0");
    assert!(row.is_part && !is_said(&row, "unit"));
}

#[test]
fn codes_that_no_table_wants_are_counted() {
    let records = read(adt("A31", "1", &[NEWBORN, "OBX|1|NM|9999-9^Something^LN||1"]));
    let code = &records[0].unmapped[0];
    let told = [&code.system, &code.code, &code.display].map(String::as_str);
    assert_eq!(told, ["http://loinc.org", "9999-9", "Something"]);
}

#[test]
fn an_observation_that_is_deleted_empties_its_cell() {
    let row = gestation("NM|11884-4^^LN||249|d|||||D");
    assert!(is_said(&row, "gestation"));
    assert_eq!(row.value("gestation"), "");
}
