//! What a query gives becomes values by name and type; what a header says is read whole. Whatever
//! does not fit is an error that names query and column.

use std::sync::Arc;

use arrow::array::{ArrayRef, Float64Array, Int32Array, Int64Array, RecordBatch, StringArray};
use serde::Deserialize;

use siskin::engine::rows::{or_none, typed};
use siskin::queries::catalogue::Query;
use siskin::queries::dictionary::Dictionary;
use siskin::queries::figure_kinds::{kind_of, kinds};
use siskin::queries::figures::Quantity;
use siskin::queries::header::Header;

#[derive(Debug, Deserialize, PartialEq)]
struct Read {
    name: String,
    n: u64,
    at_s: Option<i64>,
    #[serde(deserialize_with = "or_none")]
    note: String,
}

fn columns() -> Vec<(&'static str, ArrayRef)> {
    vec![
        ("name", Arc::new(StringArray::from(vec!["a", "b"]))),
        ("n", Arc::new(Int32Array::from(vec![1, 2]))),
        ("at_s", Arc::new(Int64Array::from(vec![Some(5), None]))),
        ("note", Arc::new(StringArray::from(vec![None, Some("late")]))),
    ]
}

fn rows(columns: Vec<(&str, ArrayRef)>) -> Result<Vec<Read>, String> {
    let batch = RecordBatch::try_from_iter_with_nullable(columns.into_iter().map(|(name, c)| (name, c, true)));
    typed("the query", &batch.unwrap()).map_err(|error| error.to_string())
}

fn refused(place: usize, name: &'static str, column: ArrayRef) -> String {
    let mut all = columns();
    all[place] = (name, column);
    rows(all).unwrap_err()
}

#[test]
fn rows_become_values_by_the_names_of_their_columns() {
    let row = |name: &str, n, at_s, note: &str| Read {
        name: name.to_owned(),
        n,
        at_s,
        note: note.to_owned(),
    };
    assert_eq!(
        rows(columns()),
        Ok(vec![row("a", 1, Some(5), ""), row("b", 2, None, "late")])
    );
}

#[test]
fn a_renamed_column_is_an_error_also_where_it_may_be_null() {
    for (place, name) in [(0, "name"), (1, "n"), (2, "at_s"), (3, "note")] {
        let error = refused(place, "renamed", columns()[place].1.clone());
        assert!(
            error.contains("the query") && error.contains(&format!("no column '{name}'")),
            "{error}"
        );
    }
}

#[test]
fn a_null_where_none_may_be_is_an_error_with_its_column() {
    let error = refused(1, "n", Arc::new(Int64Array::from(vec![Some(1), None])));
    assert!(error.contains("the query") && error.contains("$.n"), "{error}");
    let error = refused(0, "name", Arc::new(StringArray::from(vec![Some("a"), None])));
    assert!(error.contains("$.name"), "{error}");
}

#[test]
fn a_value_of_another_type_is_an_error_with_its_column() {
    let error = refused(1, "n", Arc::new(StringArray::from(vec!["1", "2"])));
    assert!(error.contains("$.n"), "{error}");
    let error = refused(1, "n", Arc::new(Int64Array::from(vec![1, -1])));
    assert!(error.contains("$.n"), "{error}");
    let error = refused(2, "at_s", Arc::new(Float64Array::from(vec![0.5, 1.0])));
    assert!(error.contains("$.at_s"), "{error}");
}

fn measure(header: &str) -> Result<Query, String> {
    let sql = format!("-- title: t\n-- grain: g\n-- reads: r\n{header}select 1\n").leak();
    Ok(Query {
        name: "worked",
        header: Header::parse("worked", sql).map_err(|error| error.to_string())?,
        sql,
    })
}

fn of_header(header: &str) -> Result<usize, String> {
    let found = kinds(&measure(header)?).map_err(|error| error.to_string())?;
    Ok(found.len())
}

const SOUND: &str = "-- figures: late = missed / in_time + missed\n-- labels: late = Late\n-- quantity: share\n-- cases: referrals\n-- chart: proportion by month\n";

#[test]
fn a_bad_header_is_an_error_that_names_the_query() {
    assert_eq!(of_header(SOUND), Ok(1));
    for (from, to, why) in [
        ("missed / in_time", "missed, in_time", "late = missed, in_time + missed"),
        ("late = Late", "later = Late", "late has no label"),
        ("quantity: share", "quantity: part", "late has an unknown quantity"),
        ("cases: referrals", "cases:", "late does not say what its cases are"),
        (
            "-- chart:",
            "-- kind: proportion\n-- clusters: wards\n-- chart:",
            "late has unknown clusters",
        ),
        (
            "-- chart:",
            "-- kind: median\n-- clusters: babies\n-- chart:",
            "late has clusters, which only proportions and times have",
        ),
        ("-- labels:", "-- kept: always\n-- labels:", "'kept: always' is not"),
        ("labels:", "label:", "unknown key 'label'"),
        ("-- labels: late", "-- labels late", "'key: value'"),
    ] {
        assert!(SOUND.contains(from));
        let error = of_header(&SOUND.replace(from, to)).unwrap_err();
        assert!(error.contains("worked") && error.contains(why), "{error}");
    }
}

#[test]
fn a_figure_is_what_its_header_says() {
    let kind = |name: &str| kind_of(name).unwrap();
    assert_eq!(kind("missed_referral").label_of("missed_referral"), "Missed referral");
    assert_eq!(
        kind("time_to_serum_4h").label_of("time_to_serum_4h"),
        "Serum drawn by 4 hours"
    );
    assert_eq!(kind("time_to_serum_4h").hour_of("time_to_serum_4h"), Some(4));
    assert!(kind("time_to_serum_4h").is_by_hour && !kind("time_to_serum_4h").has_chart);
    assert_eq!(kind("time_to_serum_median").quantity, Quantity::Hours);
    assert_eq!(kind("time_to_serum_median").hour_of("time_to_serum_median"), None);
    assert_eq!(
        kind("severe_jaundice_above_340").label_of("severe_jaundice_above_340"),
        "Serum above 340 umol/L"
    );
    assert_eq!(
        kind("severe_jaundice_kernicterus_code").label_of("severe_jaundice_kernicterus_code"),
        "Kernicterus code"
    );
    assert_eq!(
        kind("recheck_adherence_own_rule_2").label_of("recheck_adherence_own_rule_2"),
        "own rule 2"
    );
    assert_eq!(kind("jaundice_readmission_28d").measure, "jaundice_readmission");
    assert_eq!(kind("unverified_readings").cases, "readings");
    assert!(kind_of("no_such_figure").is_none());
}

/// As is one of the dictionary: `describe` does not do without.
#[test]
fn a_dictionary_that_cannot_be_read_is_an_error() {
    let sound = "[columns]\nmonth = \"local month\"\n\n[tables.screens]\nabout = \"screens\"\n";
    assert_eq!(
        Dictionary::parse(sound).unwrap().meaning("screens", "month"),
        "local month"
    );
    for (from, to) in [("[columns]", "[column]"), ("\"screens\"", "screens")] {
        assert!(Dictionary::parse(&sound.replace(from, to)).is_err(), "{to}");
    }
}
