//! Single resources, by FHIR R4 (hl7.org/fhir/R4): what is read of each, and what is refused.

use siskin::extracts::reason::Reason;

use super::{last_of, only, said};

const BABY: &str = r#"{"resourceType":"Patient","id":"b","identifier":[{"value":"N-1"}],"birthDate":"2026-03-28","_birthDate":{"extension":[{"url":"http://hl7.org/fhir/StructureDefinition/patient-birthTime","valueDateTime":"2026-03-28T22:00:00+01:00"}]}}"#;
const ADULT: &str =
    r#"{"resourceType":"Patient","id":"adult","identifier":[{"value":"M-1"}],"birthDate":"1990-05-05"}"#;
const METER: &str = r#"{"resourceType":"Device","id":"d","serialNumber":"SN-1"}"#;

fn screen(more: &str) -> String {
    let code = r#""code":{"coding":[{"system":"http://loinc.org","code":"58941-6"}]}"#;
    format!(
        r#"{{"resourceType":"Observation","id":"t","status":"final",{code},"subject":{{"reference":"Patient/b"}}{more}}}"#
    )
}

fn serum(more: &str) -> String {
    screen(more).replace("58941-6", "14631-6")
}

fn value(quantity: &str) -> String {
    said(only(&last_of(&[
        BABY,
        &screen(&format!(r#","valueQuantity":{quantity}"#)),
    ])))
}

#[test]
fn a_number_stands_as_it_is_written() {
    for (written, read) in [
        ("20.0", "20.0"),
        ("5.9", "5.9"),
        ("298", "298"),
        ("0.5", "0.5"),
        ("1.2e2", "120.0"),
    ] {
        let row = value(&format!(r#"{{"value":{written},"unit":"mg/dL"}}"#));
        assert!(row.contains(&format!(" value={read} ")), "{row}");
    }
}

#[test]
fn a_bound_stands_before_the_value_and_an_inclusive_one_is_refused() {
    assert!(value(r#"{"value":340,"comparator":">","unit":"umol/L"}"#).contains(" value=>340 "));
    let record = last_of(&[
        BABY,
        &screen(r#","valueQuantity":{"value":340,"comparator":">=","unit":"umol/L"}"#),
    ]);
    let fault = only(&record).fault.as_ref().unwrap();
    assert_eq!((fault.kind, fault.cell.as_str()), (Reason::UnreadableValue, ">=340"));
    assert!(fault.remedy.as_ref().unwrap().contains("> or <"));
}

#[test]
fn a_unit_is_the_ucum_code_else_what_stands_there_and_never_guessed() {
    let ucum = r#""system":"http://unitsofmeasure.org","code":"umol/L""#;
    assert!(value(&format!(r#"{{"value":1,"unit":"micromol per litre",{ucum}}}"#)).ends_with("unit_of_measure=umol/L"));
    assert!(value(r#"{"value":1,"unit":"mg%","code":"99"}"#).ends_with("unit_of_measure=mg%"));
    assert!(!value(r#"{"value":1}"#).contains("unit_of_measure"));
}

#[test]
fn every_way_to_refer_to_a_patient_finds_it() {
    let ways = [
        "Patient/b",
        "https://h.example/fhir/Patient/b",
        "Patient/b/_history/3",
        "urn:uuid:b",
    ];
    for way in ways {
        let line = screen("").replace("Patient/b", way);
        assert_eq!(only(&last_of(&[BABY, &line])).value("infant_id"), "N-1", "{way}");
    }
    let inside = format!(
        r#"{},"contained":[{}]}}"#,
        screen("").replace("Patient/b", "#b").trim_end_matches('}'),
        BABY
    );
    let inside = inside.replacen(r##""#b","contained""##, r##""#b"},"contained""##, 1);
    assert_eq!(only(&last_of(&[&inside])).value("infant_id"), "N-1");
    let named = screen("").replace(r#""reference":"Patient/b""#, r#""identifier":{"value":"N-7"}"#);
    assert_eq!(only(&last_of(&[&named])).value("infant_id"), "N-7");
}

#[test]
fn what_has_not_come_is_named_and_the_row_waits() {
    let line = screen(r#","device":{"reference":"Device/d"}"#);
    let absent = |lines: &[&str]| {
        let record = last_of(lines);
        let fault = only(&record).fault.clone();
        fault.map(|fault| (fault.kind, fault.column, fault.cell, fault.remedy.unwrap()))
    };
    let remedy = |of: &str| format!("load the file with {of}; the row is then taken in by itself");
    let expected = |column: &str, of: &str| Some((Reason::AbsentReference, column.into(), of.into(), remedy(of)));
    assert_eq!(absent(&[METER, &line]), expected("infant_id", "Patient/b"));
    assert_eq!(absent(&[BABY, &line]), expected("meter_id", "Device/d"));
    assert_eq!(absent(&[BABY, METER, &line]), None);
    let line = serum(r#","specimen":{"reference":"Specimen/s"}"#);
    assert_eq!(absent(&[BABY, &line]), expected("specimen", "Specimen/s"));
    let line = r#"{"resourceType":"RelatedPerson","patient":{"reference":"Patient/b"},"identifier":[{"value":"M-1"}],"relationship":[{"coding":[{"code":"MTH"}]}]}"#;
    assert_eq!(absent(&[line]), expected("infant_id", "Patient/b"));
    let line = r#"{"resourceType":"Condition","id":"c","code":{"coding":[{"code":"P59.9"}]},"subject":{"reference":"Patient/b"},"encounter":{"reference":"Encounter/e"}}"#;
    assert_eq!(absent(&[BABY, line]), expected("stay_id", "Encounter/e"));
    let line = BABY.replace(
        r#""birthDate""#,
        r#""link":[{"type":"replaced-by","other":{"reference":"Patient/o"}}],"birthDate""#,
    );
    assert_eq!(absent(&[&line]), expected("into_infant_id", "Patient/o"));
}

#[test]
fn what_is_told_of_a_birth_waits_for_the_patient_itself() {
    let named = screen(r#","valueString":"38+1""#).replace("58941-6", "76516-4");
    let named = named.replace(r#""reference":"Patient/b""#, r#""identifier":{"value":"N-7"}"#);
    let record = last_of(&[BABY, &named]);
    let fault = only(&record).fault.as_ref().unwrap();
    assert_eq!((fault.kind, fault.cell.as_str()), (Reason::AbsentReference, "N-7"));
}

#[test]
fn a_withdrawal_waits_for_nothing() {
    let line = screen(r#","device":{"reference":"Device/d"}"#).replace("final", "entered-in-error");
    let record = last_of(&[&line]);
    assert_eq!(only(&record).fault, None);
    assert_eq!(only(&record).value("record_status"), "withdrawn");
}

#[test]
fn an_adult_has_no_rows_and_the_codes_are_counted() {
    assert_eq!(last_of(&[ADULT]).unmapped[0].code, "Patient (nothing tells of a birth)");
    let gestation = serum(r#","effectiveDateTime":"2026-03-01T10:00:00Z","valueQuantity":{"value":200,"code":"d"}"#);
    for line in [&screen(""), &serum(""), &gestation.replace("14631-6", "11884-4")] {
        let line = line.replace("Patient/b", "Patient/adult");
        let record = last_of(&[ADULT, &line]);
        assert!(record.rows.is_empty(), "{record:?}");
        assert_eq!(record.unmapped[0].display, "of a patient who is no newborn");
    }
}

#[test]
fn a_newborn_is_known_by_a_birth_time_a_mother_a_gestation_or_a_test_within_28_days() {
    let known_by = |evidence: &str| {
        let patient = r#"{"resourceType":"Patient","id":"b","birthDate":"2026-03-01"}"#;
        !last_of(&[evidence, patient]).rows.is_empty()
    };
    let at = |day: &str| serum(&format!(r#","effectiveDateTime":"{day}T10:00:00Z""#));
    assert!(!known_by(ADULT));
    assert!(known_by(&at("2026-03-29")));
    assert!(!known_by(&at("2026-03-30")));
    assert!(known_by(&at("2026-03-30").replace("14631-6", "11884-4")));
    assert!(!known_by(&at("2027-03-03").replace("14631-6", "11884-4")));
    let mother = r#"{"resourceType":"RelatedPerson","patient":{"reference":"Patient/b"},"relationship":[{"coding":[{"code":"NMTH"}]}]}"#;
    assert!(known_by(mother));
    assert!(!known_by(&mother.replace("NMTH", "FTH")));
    // A grown patient has a mother too.
    let grown = ADULT.replace("adult", "b");
    assert!(last_of(&[mother, &at("2026-03-29"), &grown]).rows.is_empty());
    let born = r#"{"resourceType":"Encounter","id":"e","subject":{"reference":"Patient/b"},"hospitalization":{"admitSource":{"coding":[{"code":"born"}]}}}"#;
    assert!(known_by(born));
}

#[test]
fn the_identifier_of_the_wanted_type_and_system_is_the_infant_id() {
    use siskin::extracts::fhir::{FhirSettings, References, record_of};
    let patient = BABY.replace(
        r#"[{"value":"N-1"}]"#,
        r#"[{"system":"s0","value":"other"},{"type":{"coding":[{"code":"MR"}]},"system":"s1","value":"first"},{"type":{"coding":[{"code":"MR"}]},"system":"s2","value":"second"}]"#,
    );
    let id = |identifier_type: &str, system: Option<&str>| {
        let settings = FhirSettings {
            identifier_type: identifier_type.to_owned(),
            identifier_system: system.map(str::to_owned),
            ..FhirSettings::default()
        };
        only(&record_of(&patient, &settings, &References::default()))
            .value("infant_id")
            .to_owned()
    };
    assert_eq!(id("MR", None), "first");
    assert_eq!(id("MR", Some("s2")), "second");
    assert_eq!(id("PI", None), "other");
    // One of another type may be somebody else's number.
    let visit = BABY.replace(
        r#"{"value":"N-1"}"#,
        r#"{"type":{"coding":[{"code":"VN"}]},"value":"N-1"}"#,
    );
    assert_eq!(only(&last_of(&[&visit])).value("infant_id"), "b");
    let bare = BABY.replace(r#""identifier":[{"value":"N-1"}],"#, "");
    assert_eq!(only(&last_of(&[&bare])).value("infant_id"), "b");
}

fn described(code: &str, value: &str) -> siskin::extracts::record::Record {
    let line = screen(&format!(",{value}")).replace("58941-6", code);
    last_of(&[BABY, &line])
}

#[test]
fn a_gestation_in_days_or_weeks_is_read_and_another_is_refused() {
    let read = |value: &str| {
        let record = described("76516-4", value);
        let row = only(&record).clone();
        row.fault
            .as_ref()
            .map_or(row.value("gestation").to_owned(), |fault| format!("{:?}", fault.kind))
    };
    assert_eq!(read(r#""valueQuantity":{"value":249,"code":"d"}"#), "35+4");
    assert_eq!(read(r#""valueQuantity":{"value":35,"unit":"weeks"}"#), "35");
    assert_eq!(read(r#""valueString":"35+4""#), "35+4");
    for refused in [
        r#"{"value":35.5,"code":"wk"}"#,
        r#"{"value":249}"#,
        r#"{"value":249,"code":"d","comparator":"<"}"#,
    ] {
        assert_eq!(
            read(&format!(r#""valueQuantity":{refused}"#)),
            "UnreadableGestation",
            "{refused}"
        );
    }
}

#[test]
fn a_birth_weight_in_kilograms_is_moved_to_grams_digit_by_digit() {
    let read = |value: &str, unit: &str| {
        let record = described(
            "8339-4",
            &format!(r#""valueQuantity":{{"value":{value},"code":"{unit}"}}"#),
        );
        let row = only(&record).clone();
        row.fault
            .as_ref()
            .map_or(row.value("birth_weight_g").to_owned(), |fault| {
                format!("{:?}", fault.kind)
            })
    };
    for (kilograms, grams) in [
        ("3.25", "3250"),
        ("3", "3000"),
        ("0.85", "850"),
        ("1.0055", "1005.5"),
        ("0", "0"),
    ] {
        assert_eq!(read(kilograms, "kg"), grams);
    }
    assert_eq!(read("3250.0", "g"), "3250");
    assert_eq!(read("7", "[lb_av]"), "UnreadableValue");
}

#[test]
fn an_observation_of_a_birth_in_error_changes_nothing_and_one_without_a_value_empties() {
    let mut line = screen(r#","valueString":"38+1""#).replace("58941-6", "76516-4");
    let empty = screen(r#","dataAbsentReason":{"text":"unknown"}"#).replace("58941-6", "76516-4");
    assert_eq!(said(only(&last_of(&[BABY, &empty]))), "infant_id=N-1 gestation=");
    line = line.replace("final", "entered-in-error");
    let record = last_of(&[BABY, &line]);
    assert!(record.rows.is_empty());
    assert_eq!(
        record.unmapped[0].display,
        "entered-in-error: gestation is left as it was"
    );
}

#[test]
fn words_for_a_missing_result_are_an_attempt() {
    let row = |more: &str| said(only(&last_of(&[BABY, &serum(more)])));
    assert!(row(r#","valueString":"haemolysed""#).contains("value=haemolysed"));
    assert!(row(r#","dataAbsentReason":{"text":"insufficient"}"#).contains("value=insufficient"));
    assert!(row("").contains("value= "));
}

#[test]
fn a_status_is_the_word_of_the_contract_and_an_unknown_one_is_refused() {
    // hl7.org/fhir/R4/valueset-observation-status
    let words = [
        ("registered", "preliminary"),
        ("preliminary", "preliminary"),
        ("final", "final"),
        ("amended", "corrected"),
        ("corrected", "corrected"),
        ("cancelled", "cancelled"),
        ("entered-in-error", "withdrawn"),
    ];
    for (status, word) in words {
        let line = serum("").replace(r#""final""#, &format!("{status:?}"));
        assert_eq!(only(&last_of(&[BABY, &line])).value("status"), word);
    }
    let record = last_of(&[BABY, &serum("").replace(r#""final""#, r#""unknown""#)]);
    assert_eq!(only(&record).fault.as_ref().unwrap().kind, Reason::UnknownWord);
}

#[test]
fn the_specimen_tells_what_it_is_and_when_it_was_taken() {
    let specimen = r#"{"resourceType":"Specimen","id":"s","type":{"coding":[{"code":"119361006","display":"Plasma"}]},"collection":{"collectedDateTime":"2026-03-29T10:00:00Z"}}"#;
    let line = serum(r#","effectiveDateTime":"2026-03-29T11:00:00Z","specimen":{"reference":"Specimen/s"}"#);
    let row = said(only(&last_of(&[BABY, specimen, &line])));
    assert!(
        row.contains("collected_at=2026-03-29T10:00:00Z") && row.contains("specimen=plasma"),
        "{row}"
    );
    let other = specimen.replace("119361006", "").replace("Plasma", "Amniotic Fluid");
    assert!(said(only(&last_of(&[BABY, &other, &line]))).contains("specimen=amniotic fluid"));
}

fn encounter(more: &str) -> String {
    format!(
        r#"{{"resourceType":"Encounter","id":"e","status":"finished","class":{{"code":"IMP"}},"subject":{{"reference":"Patient/b"}},"period":{{"start":"2026-03-28T22:30:00+01:00"}}{more}}}"#
    )
}

#[test]
fn a_visit_is_no_stay_and_a_cancelled_stay_is_withdrawn() {
    for class in ["AMB", "VR", "HH"] {
        let record = last_of(&[BABY, &encounter("").replace("IMP", class)]);
        assert!(record.rows.is_empty());
        assert_eq!(record.unmapped[0].code, class);
    }
    for class in ["IMP", "ACUTE", "NONAC"] {
        assert_eq!(last_of(&[BABY, &encounter("").replace("IMP", class)]).rows.len(), 1);
    }
    let cancelled = encounter("").replace("finished", "cancelled");
    assert_eq!(
        said(only(&last_of(&[BABY, &cancelled]))),
        "stay_id=e infant_id=N-1 record_status=withdrawn"
    );
    assert!(
        last_of(&[BABY, &encounter("").replace("finished", "planned")])
            .rows
            .is_empty()
    );
}

#[test]
fn only_a_stay_that_begins_within_an_hour_after_the_birth_is_the_birth_stay() {
    let source = |start: &str| {
        let line = encounter("").replace("2026-03-28T22:30:00+01:00", start);
        only(&last_of(&[BABY, &line])).value("source").to_owned()
    };
    assert_eq!(source("2026-03-28T21:00:00Z"), "birth");
    assert_eq!(source("2026-03-28T22:00:00Z"), "birth");
    assert_eq!(source("2026-03-28T22:00:01Z"), "");
    assert_eq!(source("2026-03-28T20:59:59Z"), "");
    let told = encounter(r#","hospitalization":{"admitSource":{"coding":[{"code":"hosp-trans"}]}}"#);
    assert_eq!(only(&last_of(&[BABY, &told])).value("source"), "transfer");
}

#[test]
fn an_unknown_disposition_is_refused_with_where_to_name_it() {
    let line = encounter(r#","hospitalization":{"dischargeDisposition":{"text":"elsewhere"}}"#);
    let record = last_of(&[BABY, &line]);
    let fault = only(&record).fault.as_ref().unwrap();
    assert_eq!((fault.kind, fault.cell.as_str()), (Reason::UnknownWord, "elsewhere"));
    assert!(fault.remedy.as_ref().unwrap().contains("[words.disposition]"));
}

#[test]
fn diagnoses_stand_by_rank_then_those_that_name_the_stay() {
    let condition = |id: &str, code: &str, encounter: &str| {
        let coding = r#"{"system":"http://snomed.info/sct","code":"1"}"#;
        let icd = format!(r#"{{"system":"http://hl7.org/fhir/sid/icd-10-cm","code":"{code}"}}"#);
        format!(
            r#"{{"resourceType":"Condition","id":"{id}","code":{{"coding":[{coding},{icd}]}},"subject":{{"reference":"Patient/b"}}{encounter}}}"#
        )
    };
    let back = r#","encounter":{"reference":"Encounter/e"}"#;
    let (first, second, third) = (
        condition("1", "P59.9", ""),
        condition("2", "P55.1", ""),
        condition("3", "Z38.0", back),
    );
    let listed = |id: &str, rank: &str| format!(r#"{{"condition":{{"reference":"Condition/{id}"}}{rank}}}"#);
    let diagnosis = [listed("2", ""), listed("1", r#","rank":1"#)].join(",");
    let stay = encounter(&format!(r#","diagnosis":[{diagnosis}]"#));
    let all = [BABY, &first, &second, &third, &stay];
    assert_eq!(
        last_of(&all).rows.last().unwrap().value("diagnoses"),
        "P59.9;P55.1;Z38.0"
    );
    // A condition that comes later, listed or naming the stay, tells all of them.
    assert_eq!(
        said(only(&last_of(&[BABY, &first, &stay, &third, &second]))),
        "stay_id=e infant_id=N-1 diagnoses=P59.9;P55.1;Z38.0"
    );
    let refuted = third.replace(
        r#""code":{"#,
        r#""verificationStatus":{"coding":[{"code":"refuted"}]},"code":{"#,
    );
    let diagnoses = last_of(&[BABY, &first, &second, &stay, &refuted]);
    assert_eq!(only(&diagnoses).value("diagnoses"), "P59.9;P55.1");
    let deleted = r#"{"resourceType":"Bundle","entry":[{"request":{"method":"DELETE","url":"Condition/1"}}]}"#;
    let left = last_of(&[BABY, &first, &second, &stay, deleted]);
    assert_eq!(said(only(&left)), "stay_id=e infant_id=N-1 diagnoses=P55.1");
}

#[test]
fn a_deleted_patient_and_a_deleted_encounter_are_withdrawn_by_the_ids_of_their_rows() {
    let bundle = r#"{"resourceType":"Bundle","entry":[{"request":{"method":"DELETE","url":"Patient/b"}},{"request":{"method":"DELETE","url":"Encounter/e"}}]}"#;
    let stay = encounter(r#","identifier":[{"value":"V-1"}]"#);
    let record = last_of(&[BABY, &stay, bundle]);
    let rows: Vec<String> = record.rows.iter().map(said).collect();
    assert_eq!(
        rows,
        [
            "infant_id=N-1 record_status=withdrawn",
            "stay_id=V-1 record_status=withdrawn"
        ]
    );
}

#[test]
fn a_patient_that_stands_for_itself_again_withdraws_the_merge() {
    let other = BABY.replace(r#""id":"b""#, r#""id":"o""#).replace("N-1", "N-2");
    let version = |at: &str| {
        BABY.replace(
            r#""birthDate""#,
            &format!(r#""meta":{{"lastUpdated":"{at}"}},"birthDate""#),
        )
    };
    let link = r#""link":[{"type":"replaced-by","other":{"reference":"Patient/o"}}],"birthDate""#;
    let merged = version("2026-04-02T00:00:00Z").replace(r#""birthDate""#, link);
    let merge = last_of(&[&other, &merged]);
    assert!(said(only(&merge)).starts_with("from_infant_id=N-1 into_infant_id=N-2 merged_at=2026-04-02T00:00:00Z"));
    let again = last_of(&[&other, &merged, &version("2026-04-03T00:00:00Z")]);
    assert_eq!(again.rows[0].table.name, "merges");
    assert_eq!(again.rows[0].value("record_status"), "withdrawn");
    assert_eq!(again.rows[1].table.name, "births");
    // An older version that comes after the merge does not undo it.
    let older = last_of(&[&other, &merged, &version("2026-04-01T00:00:00Z")]);
    assert_eq!(only(&older).table.name, "births");
}

#[test]
fn components_and_extensions_say_what_fhir_has_no_place_for() {
    let component = |code: &str, value: &str| {
        format!(r#"{{"code":{{"coding":[{{"system":"urn:siskin","code":"{code}"}}]}},{value}}}"#)
    };
    let components = [
        component("readings", r#""valueInteger":3"#),
        component("id_entry", r#""valueString":"scanned""#),
        component("unit", r#""valueString":"Ward A""#),
    ];
    let extension = r#","extension":[{"url":"urn:siskin:setting","valueCode":"outpatient"}]"#;
    let performer = r#","performer":[{"reference":"Practitioner/p1","display":"Nurse"}]"#;
    let line = screen(&format!(
        r#","component":[{}]{extension}{performer}"#,
        components.join(",")
    ));
    let row = said(only(&last_of(&[BABY, &line])));
    assert!(
        row.ends_with("readings=3 operator_id=p1 id_entry=scanned setting=outpatient unit=Ward A"),
        "{row}"
    );
}

#[test]
fn a_meter_check_is_of_the_device_and_of_no_baby() {
    let line = screen(r#","effectiveDateTime":"2026-03-29T06:00:00Z","valueString":"Passed""#);
    let line = line
        .replace("http://loinc.org", "urn:siskin")
        .replace("58941-6", "meter_check")
        .replace("Patient/b", "Device/d");
    let row = said(only(&last_of(&[METER, &line])));
    assert_eq!(
        row,
        "check_id=t meter_id=SN-1 checked_at=2026-03-29T06:00:00Z outcome=pass"
    );
}

#[test]
fn what_cannot_be_read_says_in_which_column() {
    let fault = |line: &str| last_of(&[line]).fault.unwrap();
    let cut = fault(&BABY[..60]);
    assert_eq!(cut.kind, Reason::UnreadableRecord);
    assert!(cut.remedy.unwrap().starts_with("column 60: EOF"));
    assert!(fault(r#"{"id":"b"}"#).remedy.unwrap().contains("no resourceType"));
    assert!(fault("[1,2]").remedy.is_some());
    assert!(
        fault(r#"{"resourceType":"Observation","status":7}"#)
            .remedy
            .unwrap()
            .starts_with("column 40: invalid type")
    );
}
