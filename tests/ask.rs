//! `siskin ask` and `siskin describe`: what is answered, in which form, and what is refused.

use std::collections::BTreeSet;
use std::process::Output;

use serde_json::Value;

use siskin::queries::dictionary::dictionary;
use siskin::queries::figure_tables;
use siskin::warehouse::Warehouse;

use crate::commands::{demo, measure, siskin, text};

fn ask_with(sql: &str, more: &[&str]) -> Output {
    let warehouse = demo().warehouse();
    let mut arguments = vec!["ask", "--warehouse", warehouse.to_str().unwrap(), sql];
    arguments.extend(more);
    siskin(&arguments)
}

fn ask(sql: &str) -> Vec<Value> {
    let out = ask_with(sql, &["--format", "json"]);
    assert!(out.status.success(), "{sql}: {}", text(&out.stderr));
    serde_json::from_slice::<Vec<Value>>(&out.stdout).unwrap()
}

fn refused(sql: &str, why: &str) {
    let out = ask_with(sql, &[]);
    assert_eq!(out.status.code(), Some(3), "{sql}: {}", text(&out.stdout));
    let told = text(&out.stderr);
    assert!(told.contains(why) && told.contains("to do:"), "{sql}: {told}");
    assert!(out.stdout.is_empty());
}

#[test]
fn tables_derived_tables_and_measures_can_be_asked_for() {
    let births = ask("select count(*) as n, count(distinct infant_id) as babies from births");
    assert_eq!(births[0]["n"], births[0]["babies"]);
    let missed = ask(
        "select count(*) as n from referral_episodes where month = '2026-09' and kind = 'due' and outcome = 'missed'",
    );
    let told = ask(
        "select numerator, lower < value and value < upper as inside from measures
         where measure = 'missed_referral' and month = '2026-09' and split = 'all'",
    );
    assert_eq!(missed[0]["n"], told[0]["numerator"]);
    assert_eq!(told[0]["inside"], true);
    let counted = ask(
        "select n from measure_outcomes where measure = 'missed_referral' and month = '2026-09'
         and \"group\" = 'all' and kind = 'outcome' and name = 'missed'",
    );
    assert_eq!(missed[0]["n"], counted[0]["n"]);
}

/// The table is the results, to the last digit.
#[test]
fn the_table_of_measures_is_what_measure_prints() {
    let asked = ask("select * from measures where month = '2026-09'");
    let printed: Vec<Value> = serde_json::from_slice(&measure("2026-09", "json").stdout).unwrap();
    assert_eq!(asked.len(), printed.len());
    for (asked, printed) in asked.iter().zip(&printed) {
        for (column, value) in asked.as_object().unwrap() {
            let same = match (value.as_f64(), printed[column].as_f64()) {
                (Some(a), Some(b)) => a == b,
                _ => *value == printed[column],
            };
            assert!(same, "{column}:\n{asked}\n{printed}");
        }
    }
}

#[test]
fn an_answer_is_printed_as_table_csv_or_json() {
    let sql = "select 'a,b' as \"x,y\", cast(null as int) as n, 1.5 as v";
    let table = text(&ask_with(sql, &[]).stdout);
    assert!(table.contains("| x,y | n | v   |"), "{table}");
    let csv = text(&ask_with(sql, &["--format", "csv"]).stdout);
    assert_eq!(csv, "\"x,y\",n,v\n\"a,b\",,1.5\n");
    assert_eq!(ask(sql), [serde_json::json!({"x,y": "a,b", "n": null, "v": 1.5})]);
    let nested = ask_with("select array_agg(unit) as units from births", &["--format", "csv"]);
    assert_eq!(nested.status.code(), Some(3));
    assert!(
        text(&nested.stderr).contains("--format json"),
        "{}",
        text(&nested.stderr)
    );
    let none = "select infant_id from births where unit = 'nowhere'";
    assert_eq!(text(&ask_with(none, &["--format", "csv"]).stdout), "infant_id\n");
    assert_eq!(text(&ask_with(none, &["--format", "json"]).stdout), "[]\n");
}

#[test]
fn a_long_answer_is_cut_for_reading_and_whole_as_csv() {
    let sql = "select screen_id from screens order by screen_id";
    let table = ask_with(sql, &[]);
    assert_eq!(text(&table.stdout).lines().count(), 1000 + 4);
    assert!(text(&table.stderr).contains("more rows: --format csv"));
    let rows = ask("select count(*) as n from screens")[0]["n"].as_u64().unwrap();
    let csv = ask_with(sql, &["--format", "csv"]);
    assert_eq!(text(&csv.stdout).lines().count() as u64, rows + 1);
}

#[test]
fn whatever_is_no_question_is_refused() {
    refused("insert into births select * from births", "INSERT is refused");
    refused("delete from births", "DELETE is refused");
    refused("update births set unit = 'x'", "UPDATE is refused");
    refused("drop table births", "DROP is refused");
    refused("create table t as select 1", "CREATE is refused");
    refused("create view v as select 1", "CREATE is refused");
    refused(
        "create external table t stored as parquet location '/tmp'",
        "CREATE is refused",
    );
    refused("copy births to '/tmp/births.parquet'", "COPY is refused");
    refused("copy (select 1) to 'x.csv'", "COPY is refused");
    refused("explain copy births to 'x.csv'", "COPY is refused");
    refused("set datafusion.execution.batch_size = 1", "SET is refused");
    refused("show tables", "SHOW is refused");
    refused("prepare p as select 1", "PREPARE is refused");
    refused("select * into t from births", "is refused");
    refused(
        "with x as (select 1) insert into births select * from x",
        "not understood",
    );
    refused("select 1; select 2", "2 statements at once are refused");
    refused("select 1; drop table births", "2 statements at once are refused");
    refused("", "there is no question");
    refused("   /* nothing */ ", "there is no question");
}

#[test]
fn files_and_unknown_names_are_no_tables() {
    refused("select * from '/etc/passwd'", "there is no table '/etc/passwd'");
    let file = demo().warehouse().join("extracts/2026-09/births.csv");
    refused(&format!("select * from '{}'", file.display()), "there is no table");
    refused("select * from \"screens.parquet\"", "there is no table");
    refused("select * from read_csv('x.csv')", "");
    refused("select * from information_schema.tables", "there is no table");
    refused(
        "select count(*) from births where unit in (select unit from elsewhere)",
        "there is no table 'elsewhere'",
    );
    refused("select nothing from births", "nothing");
    refused("selec 1", "the question is not understood");
}

#[test]
fn a_question_too_large_for_its_memory_is_refused() {
    let out = ask_with("select * from screens order by value_text, line", &["--memory", "1"]);
    assert_eq!(out.status.code(), Some(3), "{}", text(&out.stderr));
    assert!(
        text(&out.stderr).contains("more than its 1 MiB of memory"),
        "{}",
        text(&out.stderr)
    );
}

#[test]
fn explain_and_table_functions_only_read() {
    assert!(!ask("explain select count(*) from births").is_empty());
    assert_eq!(ask("select count(*) as n from generate_series(1, 10)")[0]["n"], 10);
}

#[test]
fn describe_lists_every_table_and_each_of_its_columns() {
    let warehouse = demo().warehouse();
    let path = warehouse.to_str().unwrap();
    let all = siskin(&["describe", "--warehouse", path]);
    assert!(all.status.success(), "{}", text(&all.stderr));
    let all = text(&all.stdout);
    let snapshot = Warehouse::at(&warehouse).unwrap().newest().unwrap();
    for (name, entry) in &snapshot.manifest().tables {
        assert!(all.contains(&format!("  {name} ")), "{name}");
        let one = text(&siskin(&["describe", "--warehouse", path, name]).stdout);
        for column in &entry.columns {
            assert!(one.contains(&format!("  {} ", column.name)), "{name}.{}", column.name);
        }
    }
    let unknown = siskin(&["describe", "--warehouse", path, "nothing"]);
    assert_eq!(unknown.status.code(), Some(3));
}

#[test]
fn the_dictionary_says_something_of_every_column_and_of_no_other() {
    let snapshot = Warehouse::at(&demo().warehouse()).unwrap().newest().unwrap();
    let mut columns: BTreeSet<(String, String)> = BTreeSet::new();
    for (table, entry) in &snapshot.manifest().tables {
        let names = entry.columns.iter().map(|c| &c.name).chain(&entry.partition);
        columns.extend(names.map(|name| (table.clone(), name.clone())));
    }
    for table in figure_tables::NAMES {
        let names = figure_tables::columns(table).into_iter();
        columns.extend(names.map(|(name, _)| (table.to_owned(), name)));
    }
    for (table, column) in &columns {
        assert!(
            !dictionary().unwrap().meaning(table, column).is_empty(),
            "{table}.{column} is not explained"
        );
        assert!(
            !dictionary().unwrap().about(table).is_empty(),
            "{table} is not explained"
        );
    }
    for (table, column) in dictionary().unwrap().entries() {
        let is_there = columns
            .iter()
            .any(|(t, c)| c == column && (table.is_empty() || t == table));
        assert!(is_there, "{table}.{column} is not there");
    }
}
