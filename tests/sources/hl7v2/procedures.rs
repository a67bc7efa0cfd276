//! Phototherapy and exchange transfusions from procedure segments.

use siskin::extracts::reason::Reason;
use siskin::extracts::record::SourceRow;

use super::{adt, assert_fault, only_row, read, said};

fn procedure(pr1: &str) -> SourceRow {
    only_row(adt("A31", "1", &["PV1|1|I|U1|R|||||||||||||||V", pr1]))
}

/// The night of 29 March 2026 has no hour from 2 to 3; that of 25 October has it twice.
#[test]
fn minutes_are_elapsed_across_a_change_of_the_clock() {
    let stopped = |start: &str| {
        let row = procedure(&format!("PR1|1||6A600ZZ^^I10P||{start}||120"));
        row.value("stopped_at").to_owned()
    };
    assert_eq!(stopped("202603290100"), "2026-03-29T04:00+02:00");
    assert_eq!(stopped("202610250100"), "2026-10-25T02:00+01:00");
    assert_eq!(stopped("20260301235930+0000"), "2026-03-02T02:59:30+01:00");
}

#[test]
fn the_code_says_how_many_lamps() {
    for (code, kind) in [
        ("6A600ZZ^^I10P", "single"),
        ("6A601ZZ^^I10P", "multiple"),
        ("PHOTO^^L", ""),
    ] {
        let row = procedure(&format!("PR1|1||{code}||202603010800"));
        assert_eq!(
            (row.table.name, row.value("kind"), row.value("stopped_at")),
            ("phototherapy", kind, "")
        );
    }
}

#[test]
fn a_duration_that_is_no_number_is_told() {
    for bad in ["2h", "-5", "1.5"] {
        let row = procedure(&format!("PR1|1||PHOTO^^L||202603010800||{bad}"));
        assert_fault(
            row.fault.as_ref(),
            Reason::UnreadableValue,
            "stopped_at",
            "PR1, field 7",
        );
    }
    let row = procedure("PR1|1||PHOTO^^L||20260301||60");
    assert_fault(row.fault.as_ref(), Reason::UnreadableTime, "stopped_at", "PR1, field 7");
    let row = procedure("PR1|1||PHOTO^^L||202603010800||99999999999999999");
    assert_fault(row.fault.as_ref(), Reason::UnreadableTime, "stopped_at", "PR1, field 7");
}

#[test]
fn a_procedure_has_its_own_id_or_its_place_in_the_visit() {
    assert_eq!(procedure("PR1|4||PHOTO^^L||202603010800").value("episode_id"), "V-P4");
    assert_eq!(
        procedure("PR1|4||PHOTO^^L||202603010800||||||||||||||E-9").value("episode_id"),
        "E-9"
    );
    let row = only_row(adt("A31", "1", &["PR1|1||PHOTO^^L||202603010800"]));
    assert_fault(row.fault.as_ref(), Reason::MissingId, "episode_id", "PR1, field 19");
}

#[test]
fn an_exchange_is_a_row_and_other_procedures_are_counted() {
    let segments = [
        "PV1|1|I|U1|R|||||||||||||||V",
        "PR1|1||36450^^C4||202603010800",
        "PR1|2||99^Other^L||202603010900",
    ];
    let record = read(adt("A31", "1", &segments)).remove(0);
    assert_eq!(record.rows.len(), 1);
    let columns = ["exchange_id", "infant_id", "performed_at", "unit"];
    assert_eq!(
        said(&record.rows[0], &columns),
        ["V-P1", "B-1", "2026-03-01T08:00", "U1"]
    );
    assert_eq!(record.unmapped[0].code, "99");
}
