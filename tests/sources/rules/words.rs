//! What words mean, and what happens to those that no list names.

use siskin::extracts::reason::Reason;

use super::{births, records, serum, serum_row};

#[test]
fn a_word_in_place_of_a_value_says_the_status() {
    let words = [(
        "value",
        "{ column = \"result\", status_words = { insufficient = \"cancelled\", \"see comment 2\" = \"cancelled\" } }",
    )];
    for word in ["insufficient", "INSUFFICIENT", "see comment 2"] {
        let row = serum_row("", &words, ["1", "2", "2026-01-02 03:04", word, ""]);
        assert_eq!(
            (row.value("value"), row.value("status"), &row.fault),
            (word, "cancelled", &None)
        );
    }
    let row = serum_row("", &words, ["1", "2", "2026-01-02 03:04", "200", "umol/L"]);
    assert_eq!((row.value("value"), row.value("status")), ("200", "final"));
    let row = serum_row("", &words, ["1", "2", "2026-01-02 03:04", "clotted", ""]);
    let fault = row.fault.expect("a word that is not named");
    assert_eq!((fault.kind, fault.column.as_str()), (Reason::UnknownWord, "value"));
    assert!(
        fault
            .remedy
            .unwrap()
            .contains("columns.value.status_words of target serum of source 's'")
    );
}

#[test]
fn a_word_in_place_of_a_value_leaves_a_withdrawn_or_pending_result_alone() {
    let columns = [
        (
            "value",
            "{ column = \"result\", status_words = { insufficient = \"cancelled\" } }",
        ),
        ("status", "{ constant = \"preliminary\" }"),
    ];
    let row = serum_row("", &columns, ["1", "2", "2026-01-02 03:04", "insufficient", ""]);
    assert_eq!(row.value("status"), "preliminary");
}

#[test]
fn a_unit_is_what_the_words_say_or_the_row_is_set_aside() {
    let words = [(
        "unit_of_measure",
        "{ column = \"units\", words = { \"µmol/l\" = \"umol/L\" } }",
    )];
    let unit = |cell| serum_row("", &words, ["1", "2", "2026-01-02 03:04", "200", cell]);
    for cell in ["\u{b5}mol/l", "\u{3bc}mol/l", "µMOL/L", "umol/L", "UMOL/L"] {
        assert_eq!(unit(cell).value("unit_of_measure"), "umol/L", "{cell}");
    }
    assert_eq!(
        (unit("").value("unit_of_measure"), unit("").fault),
        ("", None),
        "none is left to the judge"
    );
    let fault = unit("mg%").fault.expect("not named");
    assert_eq!((fault.kind, fault.cell.as_str()), (Reason::UnknownWord, "mg%"));
    assert!(
        fault
            .remedy
            .unwrap()
            .contains("columns.unit_of_measure.words of target serum of source 's'")
    );
}

#[test]
fn an_unknown_unit_of_a_source_without_words_stays_as_it_is() {
    let row = serum_row("", &[], ["1", "2", "2026-01-02 03:04", "200", "mg%"]);
    assert_eq!((row.value("unit_of_measure"), row.unit_assumed), ("mg%", false));
}

#[test]
fn a_unit_is_assumed_only_for_a_file_without_the_column() {
    let mapping = serum(
        "",
        &[("unit_of_measure", "{ column = \"units\", assumed = \"mg/dL\" }")],
    );
    let with = records(&mapping, b"id,baby,taken,result,units\n1,2,2026-01-02 03:04,12,\n");
    assert_eq!(
        (with[0].rows[0].value("unit_of_measure"), with[0].rows[0].unit_assumed),
        ("", false)
    );
    let without = records(&mapping, b"id,baby,taken,result\n1,2,2026-01-02 03:04,12\n");
    assert_eq!(
        (
            without[0].rows[0].value("unit_of_measure"),
            without[0].rows[0].unit_assumed
        ),
        ("mg/dL", true)
    );
    let alone = serum("", &[("unit_of_measure", "{ assumed = \"umol/L\" }")]);
    let alone = records(&alone, b"id,baby,taken,result\n1,2,2026-01-02 03:04,12\n");
    assert_eq!(
        (alone[0].rows[0].value("unit_of_measure"), alone[0].rows[0].unit_assumed),
        ("umol/L", true)
    );
}

#[test]
fn words_of_a_list_are_changed_one_by_one() {
    let mapping = births(
        "risk_factors = { column = \"risks\", words = { Sib = \"sibling_phototherapy\", Sepsis = \"sepsis\" } }",
    );
    let all = records(&mapping, b"baby|risks\n1|Sib; sepsis\n2|Sib;x\n");
    assert_eq!(all[0].rows[0].value("risk_factors"), "sibling_phototherapy;sepsis");
    assert_eq!(all[1].rows[0].fault.as_ref().unwrap().cell, "x");
}

#[test]
fn words_by_themselves_count_like_words_beside_the_column() {
    let mapping = serum("", &[("status", "\"state\"")]) + "[source.target.words.status]\nOK = \"final\"\n";
    let all = records(
        &mapping,
        b"id,baby,taken,result,units,state\n1,2,2026-01-02 03:04,12,mg/dL,ok\n1,2,2026-01-02 03:04,12,mg/dL,F\n",
    );
    assert_eq!(all[0].rows[0].value("status"), "final");
    let fault = all[1].rows[0]
        .fault
        .as_ref()
        .expect("the lists that ship do not add to those of the source");
    assert!(
        fault
            .remedy
            .as_ref()
            .unwrap()
            .contains("words.status of target serum of source 's'")
    );
}

#[test]
fn the_lists_that_ship_serve_a_column_without_words() {
    let mapping = serum("", &[("status", "\"state\"")]);
    let all = records(
        &mapping,
        b"id,baby,taken,result,units,state\n1,2,2026-01-02 03:04,12,mg/dL,X\n",
    );
    assert_eq!(all[0].rows[0].value("status"), "cancelled");
}
