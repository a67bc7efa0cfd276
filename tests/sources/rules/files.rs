//! Which files are refused, and how headers are found.

use siskin::extracts::reason::Reason;

use super::{records, refusal, serum};

#[test]
fn lines_before_the_header_are_left_out_and_lines_still_counted() {
    let all = records(
        &serum("skip_lines = 2", &[]),
        b"Report; \"x\n\nid;baby;taken;result;units\n1;2;2026-01-02 03:04;200;umol/L\n",
    );
    assert_eq!((all.len(), all[0].line), (1, 4));
}

#[test]
fn headers_are_found_without_case_and_by_their_other_names() {
    let mapping = serum("", &[("infant_id", "[\"mrn\", \"baby no\"]")]);
    let all = records(
        &mapping,
        b" ID ,Baby No,TAKEN,Result,Units\n1,2,2026-01-02 03:04,200,umol/L\n",
    );
    assert_eq!(all[0].rows[0].value("infant_id"), "2");
}

#[test]
fn a_file_without_a_named_column_is_refused_with_what_it_has() {
    let mapping = serum("", &[("infant_id", "[\"mrn\", \"baby no\"]")]);
    let error = refusal(&mapping, b"id,baby,taken,units\n");
    for part in [
        "mrn or baby no (infant_id of serum)",
        "result (value of serum)",
        "found: id,baby,taken,units",
        "optional = true",
        "source 's'",
    ] {
        assert!(error.contains(part), "{part}\n{error}");
    }
    let mapping = serum("", &[("unit", "{ column = \"ward\", optional = true }")]);
    let all = records(
        &mapping,
        b"id,baby,taken,result,units\n1,2,2026-01-02 03:04,200,umol/L\n",
    );
    let place = all[0].rows[0].place("unit").unwrap();
    assert_eq!(all[0].rows[0].cells[place], None);
}

#[test]
fn a_used_column_that_stands_twice_is_refused() {
    let error = refusal(&serum("", &[]), b"id,baby,taken,result,units,BABY\n");
    assert!(error.contains("column baby stands twice"), "{error}");
}

#[test]
fn a_row_of_another_length_is_set_aside_with_both_lengths() {
    let all = records(
        &serum("", &[]),
        b"id,baby,taken,result,units\n1,2,2026-01-02 03:04,20,5,umol/L\n1,2\n",
    );
    let remedies: Vec<String> = all
        .into_iter()
        .map(|record| {
            let fault = record.fault.expect("a fault");
            assert_eq!((fault.kind, record.rows.len()), (Reason::WrongNumberOfCells, 0));
            fault.remedy.expect("a remedy")
        })
        .collect();
    assert!(remedies[0].contains("6 cells and the header 5"), "{remedies:?}");
    assert!(remedies[1].contains("2 cells"), "{remedies:?}");
}

#[test]
fn a_newline_in_quotes_is_part_of_its_cell() {
    let all = records(
        &serum("", &[("unit", "\"ward\"")]),
        b"id,baby,taken,result,units,ward\n1,2,2026-01-02 03:04,200,umol/L,\"W\n1\"\n",
    );
    assert_eq!((all.len(), all[0].rows[0].value("unit")), (1, "W\n1"));
}

#[test]
fn an_empty_file_is_refused() {
    assert!(refusal(&serum("", &[]), b"").contains("no header"));
    assert!(refusal(&serum("skip_lines = 5", &[]), b"a,b\n").contains("line 6"));
}
