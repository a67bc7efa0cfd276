//! How numbers are read.

use siskin::extracts::reason::Reason;
use siskin::extracts::record::Fault;

use super::serum_row;

fn value(settings: &str, result: &str) -> Result<String, Fault> {
    let row = serum_row(settings, &[], ["1", "2", "2026-01-02 03:04", result, "umol/L"]);
    row.fault.clone().map_or_else(|| Ok(row.value("value").to_owned()), Err)
}

#[test]
fn numbers_are_read_with_the_signs_the_source_declares() {
    let comma = "decimal = \",\"\nthousands = \".\"";
    for (cell, said) in [
        ("298", "298"),
        ("5,9", "5.9"),
        ("1.204,5", "1204.5"),
        ("1.204", "1204"),
        ("1.234.567,8", "1234567.8"),
        (">20,0", ">20.0"),
        ("> 20", ">20"),
        ("<0,5", "<0.5"),
        ("-3,0", "-3.0"),
    ] {
        assert_eq!(value(comma, cell).as_deref(), Ok(said), "{cell}");
    }
    assert_eq!(value("thousands = \",\"", "1,204.5").as_deref(), Ok("1204.5"));
    assert_eq!(value("", "204.5").as_deref(), Ok("204.5"));
}

#[test]
fn numbers_written_otherwise_are_set_aside() {
    let comma = "decimal = \",\"";
    let both = "decimal = \",\"\nthousands = \".\"";
    let cells = [
        ("", "5,9"),
        (comma, "1.204,5"),
        (comma, "5.9"),
        (both, "5.9"),
        (both, "12.04"),
        (both, "1.2045"),
        (both, "1204.500.1"),
        (both, ".204"),
        (both, "1,204.5"),
        ("", "1.2.3"),
        ("", ">=20"),
        ("", "20 mg/dL"),
        ("", "20-25"),
        ("", "1e3"),
        ("", ">>20"),
    ];
    for (settings, cell) in cells {
        let fault = value(settings, cell).expect_err(cell);
        assert_eq!((fault.kind, fault.cell.as_str()), (Reason::UnreadableValue, cell));
        assert!(fault.remedy.expect("a remedy").contains("decimal"));
    }
}

#[test]
fn what_was_written_is_kept_beside_what_was_read() {
    let row = serum_row(
        "decimal = \",\"",
        &[],
        ["1", "2", "2026-01-02 03:04", "> 20,0", "umol/L"],
    );
    let cell = row.cells[row.place("value").unwrap()].clone().unwrap();
    assert_eq!((cell.value.as_str(), cell.as_written()), (">20.0", "> 20,0"));
}

#[test]
fn without_declared_words_a_word_in_place_of_a_value_stays() {
    assert_eq!(value("", "clotted").as_deref(), Ok("clotted"));
}
