//! Merges of two identifiers, and their undoing.

use siskin::extracts::reason::Reason;

use super::{adt, assert_fault, only_row, read, said};

const COLUMNS: [&str; 4] = ["from_infant_id", "into_infant_id", "merged_at", "record_status"];

#[test]
fn each_pair_of_a_message_is_a_merge() {
    for event in ["A18", "A34", "A40"] {
        let message = adt(
            event,
            "1",
            &["MRG|B-7^^^H^MR", "PID|2||B-2^^^H^MR", "MRG|X^^^W^PI~B-8^^^H^MR"],
        );
        let rows = read(message).remove(0).rows;
        let merges: Vec<_> = rows.iter().map(|row| said(row, &COLUMNS)).collect();
        let at = "2026-03-01T08:00:00";
        assert_eq!(merges, [["B-7", "B-1", at, ""], ["B-8", "B-2", at, ""]]);
    }
}

#[test]
fn the_moment_of_a_merge_is_when_it_happened() {
    let message =
        adt("A40", "1", &["MRG|B-7^^^H^MR"]).replace("EVN|A40|20260301080000", "EVN|A40|202603010900||||202603010830");
    assert_eq!(only_row(message).value("merged_at"), "2026-03-01T08:30");
}

#[test]
fn identifiers_that_are_unlinked_are_no_longer_merged() {
    let row = only_row(adt("A37", "1", &["PID|2||B-7^^^H^MR"]));
    assert_eq!(said(&row, &COLUMNS), ["B-7", "B-1", "2026-03-01T08:00:00", "withdrawn"]);
}

#[test]
fn a_merge_names_what_no_longer_stands() {
    for segments in [&["MRG|"][..], &[]] {
        let row = only_row(adt("A40", "1", segments));
        assert_fault(row.fault.as_ref(), Reason::MissingId, "from_infant_id", "field");
    }
}
