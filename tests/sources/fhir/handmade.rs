//! The handmade export: twins, a mother, two stays, the change of the clock on 2025-10-26,
//! a corrected result, one entered in error, a haemolysed specimen, merged patients.

use super::{handmade, records_of, said};

/// `file:line table cells`, for each row of the export.
fn rows() -> Vec<String> {
    let mut rows = Vec::new();
    for (file, record) in records_of(&handmade()) {
        assert_eq!(record.fault, None);
        for row in &record.rows {
            assert_eq!(row.fault, None, "{row:?}");
            let kind = file.split('.').next().unwrap();
            rows.push(format!("{kind}:{} {} {}", record.line, row.table.name, said(row)));
        }
    }
    rows
}

fn of(kind: &str) -> Vec<String> {
    let begins = format!("{kind}:");
    rows().into_iter().filter(|row| row.starts_with(&begins)).collect()
}

#[test]
fn twins_are_two_births_and_the_mother_is_none() {
    let born = "born_at=2025-10-25T19:42:00+02:00 sex=F";
    assert_eq!(
        of("Patient"),
        [
            format!("Patient:2 births infant_id=N-000451 {born} birth_order=1 recorded_at=2025-11-03T04:10:00Z"),
            format!("Patient:3 births infant_id=N-000452 {born} birth_order=2 recorded_at=2025-11-03T04:10:00Z"),
            "Patient:4 merges from_infant_id=N-000987 into_infant_id=N-000452 merged_at=2025-11-03T04:10:00Z \
             recorded_at=2025-11-03T04:10:00Z"
                .to_owned(),
        ]
    );
}

#[test]
fn both_twins_have_the_same_mother() {
    assert_eq!(
        of("RelatedPerson"),
        [
            "RelatedPerson:1 births infant_id=N-000451 mother_id=M-700100",
            "RelatedPerson:2 births infant_id=N-000452 mother_id=M-700100",
        ]
    );
}

#[test]
fn the_stay_that_begins_at_the_birth_is_the_birth_stay_and_tells_the_unit_of_birth() {
    assert_eq!(
        of("Encounter"),
        [
            "Encounter:1 births infant_id=N-000451 unit=Postnatal ward 3",
            "Encounter:1 stays stay_id=V-1001 infant_id=N-000451 unit=Postnatal ward 3 \
             admitted_at=2025-10-25T19:42:00+02:00 discharged_at=2025-10-28T11:05:00+01:00 source=birth \
             disposition=home diagnoses=",
            "Encounter:2 stays stay_id=V-1077 infant_id=N-000451 unit= admitted_at=2025-10-31T09:20:00+01:00 \
             discharged_at=2025-11-01T16:00:00+01:00 source=home disposition= diagnoses=P59.9",
        ]
    );
}

#[test]
fn the_condition_adds_the_icd_code_to_its_stay() {
    assert_eq!(
        of("Condition"),
        ["Condition:1 stays stay_id=V-1077 infant_id=N-000451 diagnoses=P59.9"]
    );
}

#[test]
fn the_observations_are_a_gestation_three_screens_and_five_results() {
    let ward = "unit=Postnatal ward 3";
    let expected = [
        "1 births infant_id=N-000451 gestation=35+4 recorded_at=2025-10-25T20:10:00Z".to_owned(),
        format!(
            "2 screens screen_id=tcb-a1 infant_id=N-000451 measured_at=2025-10-26T02:30:00+02:00 value=5.9 \
             unit_of_measure=mg/dL body_site=sternum meter_id=SN-0031 {ward} recorded_at=2025-10-26T00:31:00Z"
        ),
        format!(
            "3 screens screen_id=tcb-a2 infant_id=N-000451 measured_at=2025-10-26T02:30:00+01:00 value=6.0 \
             unit_of_measure=mg/dL meter_id=SN-0031 {ward} recorded_at=2025-10-26T01:31:00Z"
        ),
        format!(
            "4 screens screen_id=tcb-a3 infant_id=N-000451 measured_at=2025-10-27T18:00:00+01:00 value=>20.0 \
             unit_of_measure=mg/dL meter_id=SN-0031 {ward} recorded_at=2025-10-27T17:02:00Z"
        ),
        format!(
            "5 serum specimen_id=tsb-a1 infant_id=N-000451 collected_at=2025-10-27T18:40:00+01:00 \
             resulted_at=2025-10-27T19:55:00Z value=298 unit_of_measure=umol/L analyte=14631-6 specimen=serum \
             status=final {ward} recorded_at=2025-10-27T19:55:00Z"
        ),
        format!(
            "6 serum specimen_id=tsb-a2 infant_id=N-000451 collected_at=2025-10-28T06:00:00+01:00 \
             resulted_at=2025-10-28T07:40:00Z value=251 unit_of_measure=umol/L analyte=14631-6 status=corrected \
             {ward} recorded_at=2025-11-02T09:00:00Z"
        ),
        "7 serum specimen_id=tsb-a3 infant_id=N-000451 collected_at=2025-10-31T10:05:00+01:00 \
         resulted_at=2025-10-31T11:15:00Z value=19.4 unit_of_measure=mg/dL analyte=1975-2 status=final \
         recorded_at=2025-10-31T11:15:00Z"
            .to_owned(),
        "8 serum specimen_id=tsb-x1 infant_id=N-000987 collected_at=2025-10-27T18:45:00+01:00 \
         resulted_at=2025-10-27T19:58:00Z value=143 unit_of_measure=umol/L analyte=14631-6 status=withdrawn \
         record_status=withdrawn recorded_at=2025-10-29T08:00:00Z"
            .to_owned(),
        "9 serum specimen_id=tsb-b1 infant_id=N-000452 collected_at=2025-10-27T18:45:00+01:00 \
         resulted_at=2025-10-27T20:30:00Z value=HEMOLYZED - recollect analyte=14631-6 status=cancelled \
         recorded_at=2025-10-27T20:30:00Z"
            .to_owned(),
    ];
    assert_eq!(of("Observation"), expected.map(|row| format!("Observation:{row}")));
}

#[test]
fn the_procedures_are_phototherapy_one_of_them_running() {
    assert_eq!(
        of("Procedure"),
        [
            "Procedure:1 phototherapy episode_id=pt-a1 infant_id=N-000451 started_at=2025-10-27T20:30:00+01:00 \
             stopped_at=2025-10-28T08:15:00+01:00 unit=Postnatal ward 3",
            "Procedure:2 phototherapy episode_id=pt-a2 infant_id=N-000451 started_at=2025-10-31T12:00:00+01:00",
        ]
    );
}

#[test]
fn the_deleted_observation_is_withdrawn_wherever_it_may_be() {
    assert_eq!(
        of("deleted"),
        [
            "deleted:1 screens screen_id=tsb-x0 record_status=withdrawn",
            "deleted:1 serum specimen_id=tsb-x0 record_status=withdrawn",
            "deleted:1 meter_checks check_id=tsb-x0 record_status=withdrawn",
        ]
    );
}

#[test]
fn what_no_table_wants_is_listed() {
    let records = records_of(&handmade());
    let unmapped = records.iter().flat_map(|(_, record)| &record.unmapped);
    let codes: Vec<&str> = unmapped.map(|code| code.code.as_str()).collect();
    assert_eq!(
        codes,
        [
            "Patient (nothing tells of a birth)",
            "DeviceUseStatement",
            "Observation"
        ]
    );
}

#[test]
fn nothing_else_becomes_a_row() {
    assert_eq!(rows().len(), 3 + 2 + 3 + 1 + 9 + 2 + 3);
}
