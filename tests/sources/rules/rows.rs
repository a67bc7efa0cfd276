//! Which rows feed which tables, and what is shown of them.

use siskin::extracts::Reader;
use siskin::extracts::mapped::preview;
use siskin::extracts::mapped::record_of;
use siskin::extracts::reason::Reason;
use siskin::extracts::record::Record;

use super::{berlin, open, parse, records, refusal, serum};

const TWO_TESTS: &str = r#"
[[source]]
name = "s"
files = ["*.csv"]
total_lines = ["Sum", "Total"]
[source.ignore]
test = ["CRP", "Hb"]
[[source.target]]
table = "births"
part = true
[source.target.columns]
infant_id = "baby"
[[source.target]]
table = "serum"
where = { test = ["TSB", "Bili"], material = ["", "serum"] }
where_not = { ward = "TEST" }
[source.target.columns]
specimen_id = "id"
infant_id = "baby"
collected_at = "taken"
value = "result"
unit_of_measure = "units"
status = { constant = "final" }
"#;

#[test]
fn rows_feed_the_tables_whose_conditions_hold() {
    let file = "id,baby,taken,result,units,test,material,ward,note
1,b,2026-01-02 03:04,200,umol/L,TSB,,W1,
2,b,2026-01-02 03:04,200,umol/L,bili,Serum,W1,
3,b,2026-01-02 03:04,200,umol/L,TSB,urine,W1,
4,b,2026-01-02 03:04,200,umol/L,TSB,serum,test,
5,b,2026-01-02 03:04,2,mg/L,CRP,serum,W1,
6,b,2026-01-02 03:04,2,mg/L,Lactate,serum,W1,
Total: 6,,,
";
    let sources = parse(TWO_TESTS);
    let mut reader = open(&sources, file.as_bytes()).unwrap();
    let all: Vec<Record> = std::iter::from_fn(|| reader.next_record().unwrap()).collect();
    let tables = |record: &Record| {
        record
            .rows
            .iter()
            .map(|row| row.table.name)
            .collect::<Vec<_>>()
            .join(" ")
    };
    let found: Vec<String> = all.iter().map(tables).collect();
    assert_eq!(
        found,
        [
            "births serum",
            "births serum",
            "births",
            "births",
            "births",
            "births",
            ""
        ]
    );
    let unmapped = |record: &Record| {
        record
            .unmapped
            .iter()
            .map(|c| format!("{}: {}", c.system, c.code))
            .collect::<String>()
    };
    let codes: Vec<String> = all.iter().map(unmapped).collect();
    let names = "material, test, ward";
    let expected = [
        String::new(),
        String::new(),
        format!("{names}: urine, TSB, W1"),
        format!("{names}: serum, TSB, test"),
        String::new(),
        format!("{names}: serum, Lactate, W1"),
        "total_lines: total".to_owned(),
    ];
    assert_eq!(codes, expected);
    let remarks = reader.remarks();
    assert!(
        remarks.iter().any(|said| said.contains(": 1 rows of other tests")),
        "the CRP: {remarks:?}"
    );
    assert_eq!(reader.unread_columns(), ["note"]);
    assert!(all.iter().all(|record| record.fault.is_none()));
}

#[test]
fn a_preview_shows_each_cell_as_it_was_read_or_why_not() {
    let all = records(
        &serum("decimal = \",\"", &[]),
        b"id;baby;taken;result;units\n1;2;02.01.2026;12,5;mg/dl\n",
    );
    let shown = preview(&all[0]);
    let find = |column: &str| shown.iter().find(|cell| cell.column == column).expect("it is shown");
    assert_eq!(
        (find("value").raw.as_str(), find("value").read.as_deref()),
        ("12,5", Ok("12.5"))
    );
    assert_eq!(find("collected_at").raw, "02.01.2026");
    assert_eq!(
        find("collected_at").read.as_ref().unwrap_err().kind,
        Reason::UnreadableTime
    );
    assert!(
        shown
            .iter()
            .all(|cell| cell.table == "serum" && cell.column != "resulted_at")
    );
    let broken = records(&serum("", &[]), b"id;baby;taken;result;units\n1;2\n");
    assert_eq!(
        preview(&broken[0])[0].read.as_ref().unwrap_err().kind,
        Reason::WrongNumberOfCells
    );
}

#[test]
fn a_kept_row_whose_mapping_has_changed_says_what_does_not_fit() {
    let sources = parse(&serum("", &[]));
    let record = record_of("1,2", "id,baby", 7, &sources.all()[0], &sources, &berlin());
    let fault = record.fault.expect("a fault");
    assert_eq!(
        (fault.kind, record.line, record.text.as_str()),
        (Reason::UnreadableRecord, 7, "1,2")
    );
    assert!(fault.remedy.unwrap().contains("missing: taken (collected_at of serum)"));
}

#[test]
fn a_file_without_the_column_of_a_condition_is_refused() {
    let error = refusal(TWO_TESTS, b"id,baby,taken,result,units,ward,material\n");
    assert!(error.contains("missing: test (where)"), "{error}");
}
