//! How ids and lists of codes are made.

use siskin::extracts::reason::Reason;
use siskin::extracts::record::Fault;

use super::{records, serum_row};

fn id(rule: &str, cell: &str) -> Result<String, Fault> {
    let rule = format!("[source.ids]\nbaby = {rule}\n");
    let row = serum_row(&rule, &[], ["1", cell, "2026-01-02 03:04", "200", "umol/L"]);
    row.fault
        .clone()
        .map_or_else(|| Ok(row.value("infant_id").to_owned()), Err)
}

#[test]
fn ids_are_made_the_same_by_their_rule() {
    let rule = "{ strip = [\"N-\", \"#\"], pad = 6, upper = true, prefix = \"H\" }";
    for (cell, said) in [
        ("N-451", "H000451"),
        ("n-451", "H000451"),
        ("#0451", "H000451"),
        ("000451", "H000451"),
        ("45x", "H00045X"),
        ("1234567", "H1234567"),
        ("", ""),
    ] {
        assert_eq!(id(rule, cell).as_deref(), Ok(said), "{cell}");
    }
    let fault = id(rule, "N-").unwrap_err();
    assert_eq!(
        (fault.kind, fault.column.as_str(), fault.cell.as_str()),
        (Reason::UnreadableId, "infant_id", "N-")
    );
}

#[test]
fn a_check_digit_of_iso_7064_mod_11_2_is_held_against_the_id() {
    // ISO 7064 gives 0794 the check digit 0; ISNI (ISO 27729) uses the same: 0000 0002 1694 233X.
    let rule = "{ check = \"mod11\" }";
    assert_eq!(id(rule, "07940").as_deref(), Ok("07940"));
    assert_eq!(id(rule, "0000 0002 1694 233X").as_deref(), Ok("0000 0002 1694 233X"));
    for cell in ["07941", "07490", "0000 0002 1694 2330", "X7940", "0", "0794Y"] {
        assert_eq!(id(rule, cell).expect_err(cell).kind, Reason::UnreadableId);
    }
}

#[test]
fn a_luhn_digit_is_held_against_the_id() {
    // ISO/IEC 7812-1, annex B; 79927398713 is the number its explanations use.
    let rule = "{ check = \"luhn\" }";
    assert_eq!(id(rule, "79927398713").as_deref(), Ok("79927398713"));
    for cell in ["79927398710", "79927398731", "7992739871X", "3"] {
        let fault = id(rule, cell).expect_err(cell);
        assert!(fault.remedy.unwrap().contains("ids.baby"));
    }
}

#[test]
fn an_id_made_of_cells_needs_all_of_them() {
    let row = serum_row(
        "[source.ids]\nbaby = { pad = 3 }",
        &[("specimen_id", "{ from = [\"baby\", \"id\"] }")],
        ["7", "2", "2026-01-02 03:04", "200", "umol/L"],
    );
    assert_eq!(row.value("specimen_id"), "002-7");
    let row = serum_row(
        "",
        &[("specimen_id", "{ from = [\"baby\", \"id\"] }")],
        ["", "2", "2026-01-02 03:04", "200", "umol/L"],
    );
    assert_eq!(row.fault.map(|fault| fault.kind), Some(Reason::MissingId));
}

#[test]
fn codes_of_several_columns_are_joined_in_their_order() {
    let mapping = "[[source]]\nname = \"a\"\nfiles = [\"*\"]\n[[source.target]]\ntable = \"stays\"\npart = true\n[source.target.columns]\nstay_id = \"visit\"\ndiagnoses = { join = [\"first\", \"second\", \"third\"] }\n";
    let all = records(
        mapping,
        b"visit,first,second,third\n1,P59.9,,P07.3\n2,P59.9,,\n3,,P07.3,\n4,,,\n",
    );
    let said: Vec<&str> = all.iter().map(|record| record.rows[0].value("diagnoses")).collect();
    assert_eq!(said, ["P59.9;;P07.3", "P59.9", ";P07.3", ""]);
}
