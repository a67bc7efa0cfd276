//! The measures, by SQL, equal the oracle's, by loops over raw rows.

use std::collections::BTreeMap;
use std::env;
use std::fs;
use std::path::Path;

use jiff::tz::TimeZone;
use oracle::{LinkRow, Load, Network, PairRow, RiseRow, Rules, UnknownRisk};

use siskin::intake::settle::Through;
use siskin::intake::time;
use siskin::month::Month;
use siskin::queries::figures::Figure;
use siskin::queries::split::Split;

use siskin::warehouse::{Snapshot, Warehouse};

use crate::commands::demo;
use crate::harness::{INVENTED_LINES, PROTOCOL, TestWarehouse, aap_protocol, figures_of};
use crate::random;

/// What is compared of one row.
#[derive(Debug, PartialEq)]
struct Told {
    numerator: Option<u64>,
    denominator: Option<u64>,
    value: Option<f64>,
    outcomes: BTreeMap<String, u64>,
    left_out: BTreeMap<String, u64>,
    open: u64,
    provisional: bool,
}

type Key = (String, String, String, String);

/// Differences between the two, in words.
pub fn differences(ours: &[Figure], theirs: &[oracle::Figure]) -> Vec<String> {
    // Completeness is counted by hand in `tests/cases/record_quality`, not by the oracle.
    let is_of_care = |figure: &&Figure| !figure.measure.starts_with("record_quality_");
    let ours: BTreeMap<Key, Told> = ours
        .iter()
        .filter(is_of_care)
        .map(ours_told)
        .filter(|(key, told)| is_told(key, told))
        .collect();
    let theirs: BTreeMap<Key, Told> = theirs
        .iter()
        .map(theirs_told)
        .filter(|(key, told)| is_told(key, told))
        .collect();
    let mut found = Vec::new();
    for (key, told) in &ours {
        match theirs.get(key) {
            None => found.push(format!("{key:?}: SQL {told:?}, the oracle has no such row")),
            Some(other) if !same(told, other) => found.push(format!("{key:?}:\n  SQL    {told:?}\n  oracle {other:?}")),
            Some(_) => {}
        }
    }
    for (key, told) in theirs.iter().filter(|(key, _)| !ours.contains_key(*key)) {
        found.push(format!("{key:?}: oracle {told:?}, SQL has no such row"));
    }
    found
}

/// A unit in which nothing is counted may have a row or none.
fn is_told(key: &Key, told: &Told) -> bool {
    let counted = told.outcomes.values().sum::<u64>() + told.left_out.values().sum::<u64>();
    key.2 == "all" || counted + told.denominator.unwrap_or(0) > 0
}

fn same(a: &Told, b: &Told) -> bool {
    let close = match (a.value, b.value) {
        (Some(a), Some(b)) => (a - b).abs() < 1e-9,
        (a, b) => a == b,
    };
    let rest = |told: &Told| {
        (
            told.numerator,
            told.denominator,
            told.outcomes.clone(),
            told.left_out.clone(),
            told.open,
            told.provisional,
        )
    };
    close && rest(a) == rest(b)
}

fn key(measure: &str, month: &str, split: &str, group: &str) -> Key {
    (measure.to_owned(), month.to_owned(), split.to_owned(), group.to_owned())
}

/// Failed attempts are counted beside the referrals: only their counts and values are compared.
fn trimmed(measure: &str, mut told: Told) -> Told {
    if measure == "referral_failed_attempts" {
        told.outcomes.clear();
        told.left_out.clear();
        told.open = 0;
    }
    told
}

fn ours_told(f: &Figure) -> (Key, Told) {
    let told = Told {
        numerator: f.numerator,
        denominator: f.denominator,
        value: f.value,
        outcomes: f.outcomes.clone(),
        left_out: f.left_out.clone(),
        open: f.open,
        provisional: f.provisional,
    };
    (key(&f.measure, &f.month, &f.split, &f.group), trimmed(&f.measure, told))
}

fn theirs_told(f: &oracle::Figure) -> (Key, Told) {
    let told = Told {
        numerator: f.numerator,
        denominator: f.denominator,
        value: f.value,
        outcomes: f.outcomes.clone(),
        left_out: f.left_out.clone(),
        open: f.open,
        provisional: f.provisional,
    };
    (key(&f.measure, &f.month, &f.split, &f.group), trimmed(&f.measure, told))
}

/// Puts a protocol that may name the invented table into a warehouse; the next measure derives
/// everything anew.
fn set_protocol(warehouse: &TestWarehouse, text: &str) {
    warehouse.set_lines(INVENTED_LINES);
    warehouse.set_protocol(text);
}

/// All files of several loads in one: what the last load says of completeness holds.
fn at_once(loads: &[Load]) -> Load {
    let last = loads.last().unwrap();
    Load {
        at: last.at,
        files: loads.iter().flat_map(|load| load.files.clone()).collect(),
        through: last.through.clone(),
    }
}

/// Loads one random network and compares all its months, by the rules of both manners.
fn compare(seed: u64, babies: usize) -> Vec<String> {
    let mut loads = random::extracts(seed, babies);
    // Every second extract, and of five of the many four, is loaded at once, which costs a third;
    // that loads may come in parts is what `incremental.rs` is for.
    let in_parts = if seed < MANY_FROM { 2 } else { 5 };
    if !seed.is_multiple_of(in_parts) {
        loads = vec![at_once(&loads)];
    }
    let warehouse = TestWarehouse::new();
    load_all(&warehouse, &loads);
    let mut found = compare_by(&warehouse, &loads, seed, &Rules::nice(), "NICE manner");
    set_protocol(&warehouse, &aap_protocol());
    found.extend(compare_by(&warehouse, &loads, seed, &Rules::aap(), "AAP manner"));
    found
}

/// Differences in all figures of all months, and in the tables that are compared whole.
fn compare_by(warehouse: &TestWarehouse, loads: &[Load], seed: u64, rules: &Rules, manner: &str) -> Vec<String> {
    let network = Network::new(loads, rules);
    let mut found = Vec::new();
    let months = random::months(seed);
    // Two of the splits for each seed, one of the many: all of them within six seeds.
    let split = |later: usize| Split::ALL[(seed as usize + later) % Split::ALL.len()];
    let splits = match seed < MANY_FROM {
        true => vec![split(0), split(3)],
        false => vec![split(0)],
    };
    let ours = warehouse.measure_by(&months[0], &months[2], &splits);
    let is_asked_for = |figure: &oracle::Figure| {
        let split = figure.split.trim_start_matches("unit_and_");
        ["all", "unit"].contains(&split) || splits.iter().any(|s| s.word() == split)
    };
    let mut theirs: Vec<oracle::Figure> = months.iter().flat_map(|month| network.figures(month)).collect();
    theirs.retain(is_asked_for);
    found.extend(differences(&ours, &theirs));
    found.extend(differing_rows("pairs", pairs_told(warehouse), network.pairs()));
    found.extend(differing_rows("rises", rises_told(warehouse), network.rises()));
    found.extend(differing_rows(
        "linked_back",
        links_told(warehouse),
        network.linked_back(),
    ));
    found.iter().map(|one| format!("{manner}: {one}")).collect()
}

/// Rows that only one of the two has; a row that comes twice counts twice.
fn differing_rows<T: Ord + std::fmt::Debug>(table: &str, mut ours: Vec<T>, theirs: Vec<T>) -> Vec<String> {
    let mut found = Vec::new();
    for row in theirs {
        match ours.iter().position(|other| *other == row) {
            Some(place) => {
                ours.swap_remove(place);
            }
            None => found.push(format!("{table}: only the oracle has {row:?}")),
        }
    }
    ours.sort();
    found.extend(ours.iter().map(|row| format!("{table}: only SQL has {row:?}")));
    found
}

fn pairs_told(warehouse: &TestWarehouse) -> Vec<PairRow> {
    let sql = "SELECT infant_id, screen_id, specimen_id, difference_micro, is_first_of_baby FROM pairs";
    let rows = warehouse.rows(sql);
    rows.iter()
        .map(|row| PairRow {
            infant_id: row["infant_id"].clone(),
            screen_id: row["screen_id"].clone(),
            specimen_id: row["specimen_id"].clone(),
            difference_micro: row["difference_micro"].parse().unwrap(),
            is_first_of_baby: row["is_first_of_baby"].parse().unwrap(),
        })
        .collect()
}

fn rises_told(warehouse: &TestWarehouse) -> Vec<RiseRow> {
    let rows = warehouse.rows("SELECT infant_id, test_table, first_id, second_id FROM rises WHERE left_out IS NULL");
    rows.iter()
        .map(|row| RiseRow {
            infant_id: row["infant_id"].clone(),
            test_table: row["test_table"].clone(),
            first_id: row["first_id"].clone(),
            second_id: row["second_id"].clone(),
        })
        .collect()
}

fn links_told(warehouse: &TestWarehouse) -> Vec<LinkRow> {
    let sql = "SELECT case_kind, infant_id, case_s, missed_referrals, late_referrals, missed_rechecks, untreated, \
               screens_outside_limits, home_unanswered, home_near_line, has_birth_stay FROM linked_back";
    let rows = warehouse.rows(sql);
    rows.iter()
        .map(|row| {
            let count = |column: &str| row[column].parse().unwrap();
            LinkRow {
                case_kind: row["case_kind"].clone(),
                infant_id: row["infant_id"].clone(),
                case_s: row["case_s"].parse().unwrap(),
                missed_referrals: count("missed_referrals"),
                late_referrals: count("late_referrals"),
                missed_rechecks: count("missed_rechecks"),
                untreated: count("untreated"),
                screens_outside_limits: count("screens_outside_limits"),
                home_unanswered: row["home_unanswered"] == "true",
                home_near_line: row["home_near_line"] == "true",
                has_birth_stay: row["has_birth_stay"] == "true",
            }
        })
        .collect()
}

pub fn load_all(warehouse: &TestWarehouse, loads: &[Load]) {
    for load in loads {
        load_from(warehouse, tempfile::tempdir().unwrap().path(), load);
    }
}

/// Writes the files of a load into a folder and loads them.
pub fn load_from(warehouse: &TestWarehouse, folder: &Path, load: &Load) {
    let mut paths = Vec::new();
    for (i, (table, text)) in (1..).zip(&load.files) {
        let path = folder.join(format!("{table}_{i}.csv"));
        fs::write(&path, text).unwrap();
        paths.push(path);
    }
    let mut through = Through::default();
    for (table, at) in &load.through {
        match table {
            Some(table) => {
                through.tables.insert(table.clone(), *at);
            }
            None => through.all = Some(*at),
        }
    }
    warehouse.load(&paths, &through, load.at).unwrap();
}

/// Seeds from this on are many.
const MANY_FROM: u64 = 1000;

fn compare_seeds(seeds: std::ops::Range<u64>, babies: usize) {
    let mut wrong = Vec::new();
    for seed in seeds {
        let found = compare(seed, babies);
        if !found.is_empty() {
            wrong.push(format!(
                "seed {seed}: {} differences, the first:\n{}",
                found.len(),
                found[..found.len().min(4)].join("\n")
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

/// The months of extracts below a folder, each as the demo loads it: complete through its last
/// midnight.
pub fn monthly_loads(extracts: &Path, months: &[String]) -> Vec<Load> {
    let zone = TimeZone::get("Europe/London").unwrap();
    let load = |month: &String| {
        let next = month.parse::<Month>().unwrap().plus(1);
        let end_s = time::day_begins_s(next.first_day(), &zone).unwrap();
        let tables = [
            "births",
            "screens",
            "serum",
            "phototherapy",
            "stays",
            "exchanges",
            "meter_checks",
        ];
        let read = |table: &str| fs::read_to_string(extracts.join(month).join(format!("{table}.csv"))).unwrap();
        Load {
            at: end_s,
            files: tables.map(|table| (table.to_owned(), read(table))).to_vec(),
            through: vec![(None, end_s)],
        }
    };
    months.iter().map(load).collect()
}

/// The sample's months.
pub fn sample_months() -> Vec<String> {
    let (first, last): (Month, Month) = ("2024-10".parse().unwrap(), "2026-09".parse().unwrap());
    Month::range(first, last).iter().map(Month::to_string).collect()
}

/// Every month of the sample, as known at the end.
#[test]
fn measures_equal_the_oracle_on_the_sample() {
    let months = sample_months();
    let loads = monthly_loads(&demo().warehouse().join("extracts"), &months);
    let rules = Rules::nice();
    let network = Network::new(&loads, &rules);
    let snapshot = Warehouse::at(&demo().warehouse()).unwrap().newest().unwrap();
    let ours = months_of(&snapshot, &months);
    for month in &months {
        let counted = ours.iter().any(|f| f.month == *month && f.denominator > Some(0));
        assert!(counted, "{month}");
    }
    let found = differences(&ours, &network.figures_of(&months));
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// The demo makes a load a month: as of its own load a month has the figures known then, and some
/// of them were restated since.
#[test]
fn measures_as_of_an_earlier_load_equal_the_oracle_on_the_loads_until_then() {
    let months = sample_months();
    let loads = monthly_loads(&demo().warehouse().join("extracts"), &months);
    let rules = Rules::nice();
    let warehouse = Warehouse::at(&demo().warehouse()).unwrap();
    let now: BTreeMap<Key, Told> = months_of(&warehouse.newest().unwrap(), &months)
        .iter()
        .map(ours_told)
        .collect();
    let mut found = Vec::new();
    let mut restated = 0;
    for load in [1, 2, 5, 9, 12, 13, 17, 20, 23] {
        let month = &months[load - 1..load];
        let then = months_of(&warehouse.as_of(load as i64).unwrap(), month);
        found.extend(differences(
            &then,
            &Network::new(&loads[..load], &rules).figures(&month[0]),
        ));
        let was_restated = |(key, told): &(Key, Told)| now.get(key) != Some(told);
        restated += then.iter().map(ours_told).filter(was_restated).count();
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
    assert!(restated > 20, "only {restated} figures were restated");
}

fn months_of(snapshot: &Snapshot, months: &[String]) -> Vec<Figure> {
    let runtime = tokio::runtime::Runtime::new().unwrap();
    let span = (months[0].parse().unwrap(), months[months.len() - 1].parse().unwrap());
    runtime.block_on(figures_of(snapshot, 2, span, &Split::ALL))
}

#[test]
fn measures_equal_the_oracle_on_random_extracts() {
    compare_seeds(0..3, 200);
}

#[test]
fn measures_equal_the_oracle_on_more_random_extracts() {
    compare_seeds(3..6, 200);
}

/// A protocol that changes at a local midnight: on the day the clock goes back, and in summer.
#[test]
fn measures_equal_the_oracle_when_the_protocol_changes() {
    let zone = TimeZone::get("Europe/London").unwrap();
    let mut wrong = Vec::new();
    for (seed, day) in [(1, "2026-10-25"), (2, "2026-07-20")] {
        let loads = random::extracts(seed, 200);
        let warehouse = TestWarehouse::new();
        let aap = aap_protocol().replace("\"2026-01-01\"", &format!("\"{day}\""));
        let later = aap.find("[[version]]").unwrap();
        set_protocol(&warehouse, &format!("{PROTOCOL}\n{}", &aap[later..]));
        load_all(&warehouse, &loads);
        let from = time::day_begins_s(day.parse().unwrap(), &zone).unwrap();
        let rules = Rules::nice().changing(from, &Rules::aap());
        wrong.extend(compare_by(&warehouse, &loads, seed, &rules, day));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A protocol without what may be left out: it tests only visible jaundice, and a check of a meter
/// holds for its local day.
#[test]
fn measures_equal_the_oracle_where_the_protocol_leaves_out_what_it_may() {
    let loads = random::extracts(3, 200);
    let from = PROTOCOL.find("[version.coverage]").unwrap();
    let length = PROTOCOL[from + 1..].find("\n[").unwrap() + 1;
    let without = format!("{}{}", &PROTOCOL[..from], &PROTOCOL[from + length..]);
    let warehouse = TestWarehouse::with_protocol(&without.replace("check_holds_h = 24\n", ""));
    load_all(&warehouse, &loads);
    let rules = Rules::nice_without_options();
    let found = compare_by(&warehouse, &loads, 3, &rules, "without options");
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// However the protocol judges a baby whose risk factors are not recorded, by the line (AAP manner)
/// and in the rechecks (NICE manner).
#[test]
fn measures_equal_the_oracle_however_unknown_risk_is_judged() {
    let mut wrong = Vec::new();
    for (seed, word, judged) in [
        (4, "present", UnknownRisk::Present),
        (5, "left_out", UnknownRisk::LeftOut),
    ] {
        let loads = vec![at_once(&random::extracts(seed, 200))];
        let said = |protocol: &str| {
            let said = protocol.replace("unknown_risk = \"absent\"", &format!("unknown_risk = \"{word}\""));
            assert_ne!(said, protocol);
            said
        };
        let warehouse = TestWarehouse::with_protocol(&said(PROTOCOL));
        load_all(&warehouse, &loads);
        let nice = Rules::nice().with_unknown_risk(judged);
        wrong.extend(compare_by(
            &warehouse,
            &loads,
            seed,
            &nice,
            &format!("NICE manner, {word}"),
        ));
        set_protocol(&warehouse, &said(&aap_protocol()));
        let aap = Rules::aap().with_unknown_risk(judged);
        wrong.extend(compare_by(
            &warehouse,
            &loads,
            seed,
            &aap,
            &format!("AAP manner, {word}"),
        ));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// 500 extracts, or those of `SEEDS_FROM` to before `SEEDS_TO`:
/// `cargo test -- --ignored many_random_extracts`
#[test]
#[ignore = "takes long; see tests/README.md"]
fn measures_equal_the_oracle_on_many_random_extracts() {
    let seed = |name: &str, usual: u64| env::var(name).map_or(usual, |text| text.parse().unwrap());
    compare_seeds(seed("SEEDS_FROM", 1000)..seed("SEEDS_TO", 1500), 200);
}
