//! What the committee was given, read together by somebody who works back from it.
//!
//! The reader has the tables of two consecutive months, knows the cases of every month, and asks what
//! each number may be; `tests/privacy/` holds that answer against linear programs and all tables
//! there are. True numbers are those that `siskin measure` counts.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use serde_json::Value;

use siskin::privacy::series::{Span, possible};

use crate::commands::demo;

use super::markup::Markup;
use super::network::{network, run, with_protocol};
use super::written::{TableRow, report, table_in};

/// The sample's protocol names no other limit.
const HIDE_BELOW: u64 = 5;

/// Numbers told on the page that are of no month: those of a sentence about normal differences.
const CONSTANTS: [(u64, u64); 1] = [(95, 100)];

/// The outcomes of one figure's cases that split each month, and what each told number is of them.
struct Figure {
    /// By outcome, then month.
    counts: Vec<Vec<u64>>,
    /// The outcome that each of the file's figures counts, by the figure's name.
    counted: BTreeMap<String, usize>,
}

/// What `siskin measure` counts in the network, or for twelve units, over 24 months.
struct Truth {
    months: Vec<String>,
    figures: Vec<Figure>,
}

impl Truth {
    fn of(warehouse: &Path) -> Self {
        let printed = run(&[
            "measure",
            "--warehouse",
            warehouse.to_str().unwrap(),
            "--month",
            "2026-09",
            "--months",
            "24",
            "--format",
            "json",
        ]);
        let rows: Vec<Value> = serde_json::from_str(&printed).unwrap();
        let mut by_name: BTreeMap<String, Vec<&Value>> = BTreeMap::new();
        for row in rows.iter().filter(|row| row["split"] == "all") {
            by_name
                .entry(row["measure"].as_str().unwrap().to_owned())
                .or_default()
                .push(row);
        }
        let months: BTreeSet<String> = rows
            .iter()
            .map(|row| row["month"].as_str().unwrap().to_owned())
            .collect();
        let months: Vec<String> = months.into_iter().collect();
        let mut figures = vec![referrals(&by_name["missed_referral"])];
        for (name, rows) in by_name {
            assert_eq!(rows.len(), months.len(), "{name}");
            let n = |row: &Value, field: &str| row[field].as_u64().unwrap_or(0);
            figures.push(Figure {
                counts: vec![
                    rows.iter().map(|row| n(row, "numerator")).collect(),
                    rows.iter()
                        .map(|row| n(row, "denominator").saturating_sub(n(row, "numerator")))
                        .collect(),
                ],
                counted: [(name, 0)].into(),
            });
        }
        Self { months, figures }
    }

    fn place(&self, month: &str) -> usize {
        self.months.iter().position(|one| one == month).unwrap()
    }
}

/// Two figures are told of referrals: their outcomes are attacked together.
fn referrals(rows: &[&Value]) -> Figure {
    let outcome = |name: &str| {
        rows.iter()
            .map(|row| row["outcomes"][name].as_u64().unwrap_or(0))
            .collect()
    };
    Figure {
        counts: ["missed", "in_time", "late"].map(outcome).to_vec(),
        counted: [("missed_referral".to_owned(), 0), ("referral_in_time".to_owned(), 1)].into(),
    }
}

/// A number of a figure that was told: cases of an outcome over months.
struct Told {
    months: (usize, usize),
    outcome: usize,
    n: u64,
    of: Option<u64>,
}

/// What rows of the network tell of a figure.
fn told(rows: &[TableRow], figure: &Figure, truth: &Truth) -> Vec<Told> {
    let own = rows
        .iter()
        .filter(|row| row["split"] == "all" && row["hidden"] == "false");
    own.filter_map(|row| {
        Some(Told {
            months: (truth.place(&row["from_month"]), truth.place(&row["to_month"])),
            outcome: *figure.counted.get(&row["measure"])?,
            n: row["numerator"].parse().unwrap(),
            of: row["denominator"].parse().ok(),
        })
    })
    .collect()
}

/// Small numbers of months and quarters that are given back: those of which fewer whole numbers
/// remain than are to, with the figure, the months, the number.
fn given_back(rows: &[TableRow], truth: &Truth) -> Vec<(String, usize, usize, u64)> {
    let mut found = Vec::new();
    let months = truth.months.len();
    for figure in &truth.figures {
        let told = told(rows, figure, truth);
        if told.is_empty() {
            continue;
        }
        let outcomes = figure.counts.len();
        let total = |month: usize| figure.counts.iter().map(|of| of[month]).sum::<u64>();
        let mut released = Vec::new();
        for one in told {
            let span = one.months.0..=one.months.1;
            let truly: u64 = figure.counts[one.outcome][span.clone()].iter().sum();
            assert_eq!(
                one.n, truly,
                "{:?} tells another number than is counted",
                figure.counted
            );
            let cases: u64 = span.clone().map(total).sum();
            assert!(one.of.is_none_or(|of| of == cases), "{:?}", figure.counted);
            released.push(Span {
                first: one.months.0,
                last: one.months.1,
            });
        }
        let quarters = (0..months - 2).filter(|month| is_first_of_quarter(&truth.months[*month]));
        let runs = (0..months)
            .map(|month| month..month + 1)
            .chain(quarters.map(|first| first..first + 3));
        for run in runs {
            for outcome in 0..outcomes {
                let n: u64 = figure.counts[outcome][run.clone()].iter().sum();
                if !(1..HIDE_BELOW).contains(&n) {
                    continue;
                }
                let of_run = Span {
                    first: run.start,
                    last: run.end - 1,
                };
                let holding = run.clone().filter(|month| figure.counts[outcome][*month] > 0);
                let allowed = holding.map(total).sum::<u64>() + 1;
                let (least, most) = possible(&figure.counts, &released, outcome, of_run).unwrap();
                if most - least + 1 < allowed.min(HIDE_BELOW) {
                    let name = figure.counted.keys().next().unwrap();
                    found.push((name.clone(), run.start, run.end, n));
                }
            }
        }
    }
    found
}

fn is_first_of_quarter(month: &str) -> bool {
    matches!(&month[5..], "01" | "04" | "07" | "10")
}

/// The same rows with every number told.
fn unsuppressed(rows: &[TableRow], truth: &Truth) -> Vec<TableRow> {
    let mut all = rows.to_vec();
    for row in all.iter_mut().filter(|row| row["split"] == "all") {
        let figure = truth
            .figures
            .iter()
            .find(|figure| figure.counted.contains_key(&row["measure"]))
            .unwrap();
        let outcome = figure.counted[&row["measure"]];
        let n: u64 = figure.counts[outcome][truth.place(&row["from_month"])..=truth.place(&row["to_month"])]
            .iter()
            .sum();
        row.insert("hidden".to_owned(), "false".to_owned());
        row.insert("numerator".to_owned(), n.to_string());
        row.insert("denominator".to_owned(), String::new());
    }
    all
}

/// The committee's folders of two months of the sample.
fn two_months() -> (tempfile::TempDir, [PathBuf; 2]) {
    let out = tempfile::tempdir().unwrap();
    let warehouse = demo().warehouse();
    let folders = ["2026-08", "2026-09"].map(|month| report(&warehouse, month, out.path(), &[]).join("committee"));
    (out, folders)
}

#[test]
fn two_months_together_give_no_small_number_back() {
    let (_out, folders) = two_months();
    let rows: Vec<TableRow> = folders
        .iter()
        .flat_map(|folder| table_in(&folder.join("measures.csv")))
        .collect();
    let truth = Truth::of(&demo().warehouse());
    assert!(rows.iter().any(|row| row["hidden"] == "true"), "nothing is hidden");
    assert!(
        rows.iter().filter(|row| row["hidden"] == "false").count() > 100,
        "nearly all is hidden"
    );
    assert_eq!(given_back(&rows, &truth), []);
    assert!(!given_back(&unsuppressed(&rows, &truth), &truth).is_empty());
    for folder in folders {
        let page = fs::read_to_string(folder.join("committee.html")).unwrap();
        let rows = table_in(&folder.join("measures.csv"));
        assert_page_tells_what_the_table_tells(&page, &rows);
    }
}

fn assert_page_tells_what_the_table_tells(page: &str, rows: &[TableRow]) {
    let in_table: BTreeSet<(u64, u64)> = rows
        .iter()
        .filter_map(|row| Some((row["numerator"].parse().ok()?, row["denominator"].parse().ok()?)))
        .collect();
    let text = Markup::of(page).text;
    let on_page = counts_in(&text);
    assert!(on_page.len() > 20, "{on_page:?}");
    for (n, of) in on_page.iter().filter(|count| !CONSTANTS.contains(count)) {
        assert!(in_table.contains(&(*n, *of)), "{n} of {of} is not in the table");
    }
    assert_no_small(&on_page);
    let charts: Vec<&str> = page
        .split("<svg")
        .skip(1)
        .filter_map(|rest| rest.split("</svg>").next())
        .collect();
    assert!(charts.len() > 2);
    for chart in charts {
        let chart = Markup::of(&format!("<!DOCTYPE html><svg{chart}</svg>"));
        let told = chart
            .elements
            .iter()
            .flat_map(|element| &element.attributes)
            .map(|(_, value)| value);
        let told: Vec<&str> = told.map(String::as_str).chain([chart.text.as_str()]).collect();
        let counts = counts_in(&told.join("\n"));
        assert!(counts.iter().all(|count| in_table.contains(count)), "{counts:?}");
        assert_no_small(&counts);
    }
}

fn assert_no_small(counts: &BTreeSet<(u64, u64)>) {
    for (n, of) in counts {
        let is_small = |n: u64| (1..HIDE_BELOW).contains(&n);
        assert!(!is_small(*n) && !is_small(of.saturating_sub(*n)), "{n} of {of} is told");
    }
}

/// All `N of M` of a text.
fn counts_in(text: &str) -> BTreeSet<(u64, u64)> {
    let grouped = text.replace(['\u{202f}', '\u{2009}', '\u{a0}'], "");
    let words: Vec<&str> = grouped
        .split(|c: char| c.is_whitespace() || matches!(c, '(' | ')' | ',' | '.' | ';'))
        .collect();
    let number = |word: &str| word.parse::<u64>().ok();
    let counts = words.windows(3).filter(|three| three[1] == "of");
    counts
        .filter_map(|three| Some((number(three[0])?, number(three[2])?)))
        .collect()
}

#[test]
fn counts_are_found_in_sentences() {
    let text = "Missed: 8 % (9 of 112), before 1\u{202f}204 of 13\u{202f}000. Of 14 figures 3 of all; 7 of\n8.";
    assert_eq!(
        counts_in(text).into_iter().collect::<Vec<_>>(),
        [(7, 8), (9, 112), (1204, 13000)]
    );
}

#[test]
fn a_table_of_groups_gives_no_small_group_back() {
    let (_out, folders) = two_months();
    let printed = |split: &str| -> Vec<Value> {
        let warehouse = demo().warehouse();
        let words = ["--month", "2026-06", "--months", "6", "--by", split, "--format", "json"];
        let first = ["measure", "--warehouse", warehouse.to_str().unwrap()];
        serde_json::from_str(&run(&[&first[..], &words].concat())).unwrap()
    };
    let rows: Vec<TableRow> = folders
        .iter()
        .flat_map(|folder| table_in(&folder.join("measures.csv")))
        .collect();
    let mut hidden = 0;
    for split in ["unit", "skin_tone"] {
        let counted = printed(split);
        let measures: BTreeSet<&String> = rows
            .iter()
            .filter(|row| row["split"] == split)
            .map(|row| &row["measure"])
            .collect();
        assert!(!measures.is_empty(), "{split}");
        for measure in measures {
            let own: Vec<&TableRow> = rows
                .iter()
                .filter(|row| row["split"] == split && row["measure"] == *measure)
                .collect();
            assert!(
                own.iter()
                    .all(|row| row["from_month"] == "2026-01" && row["to_month"] == "2026-06")
            );
            let groups: BTreeSet<&String> = own.iter().map(|row| &row["group"]).collect();
            let groups: Vec<&String> = groups.into_iter().collect();
            let sum = |split: &str, group: &str| {
                let is_own =
                    |row: &&Value| row["measure"] == **measure && row["split"] == split && row["group"] == group;
                counted.iter().filter(is_own).fold((0, 0), |sum, row| {
                    let n = |field: &str| row[field].as_u64().unwrap_or(0);
                    (sum.0 + n("numerator"), sum.1 + n("denominator") - n("numerator"))
                })
            };
            let network = sum("all", "all");
            let of_groups: Vec<(u64, u64)> = groups.iter().map(|group| sum(split, group)).collect();
            // What the hidden groups have together, and how many they are.
            let (mut left, mut unseen) = (network, groups.len());
            let mut is_hidden = vec![true; groups.len()];
            for row in own {
                let group = groups.iter().position(|group| **group == row["group"]).unwrap();
                let (n, rest) = of_groups[group];
                match row["hidden"].as_str() {
                    "true" => hidden += 1,
                    _ => {
                        assert_eq!(
                            (row["numerator"].as_str(), row["denominator"].as_str()),
                            (n.to_string().as_str(), (n + rest).to_string().as_str())
                        );
                        // Both reports tell the same half-year.
                        if std::mem::replace(&mut is_hidden[group], false) {
                            left = (left.0 - n, left.1 - rest);
                            unseen -= 1;
                        }
                    }
                }
            }
            // A hidden sum is known: it may not be small itself.
            for sum in [left.0, left.1, left.0 + left.1] {
                assert!(
                    unseen == 0 || !(1..HIDE_BELOW).contains(&sum),
                    "{measure} by {split}: {sum} hidden in all"
                );
            }
            for (group, (n, rest)) in of_groups.iter().enumerate() {
                for (left, n) in [(left.0, n), (left.1, rest)] {
                    let is_small = (1..HIDE_BELOW).contains(n);
                    // One of several hidden groups may have any part of what they have together.
                    let is_open = is_hidden[group] && unseen >= 2 && left >= HIDE_BELOW - 1;
                    assert!(!is_small || is_open, "{measure} by {split}: {} {n}", groups[group]);
                }
            }
        }
    }
    assert!(hidden > 0, "no group is hidden");
}

/// Measures and hidden rows of the committee's table of the small network.
fn committee_of(warehouse: &Path) -> (BTreeSet<String>, usize, String) {
    let out = tempfile::tempdir().unwrap();
    let folder = report(warehouse, "2026-09", out.path(), &[]).join("committee");
    let rows = table_in(&folder.join("measures.csv"));
    let hidden = rows.iter().filter(|row| row["hidden"] == "true").count();
    let page = fs::read_to_string(folder.join("committee.html")).unwrap();
    (
        rows.into_iter().map(|row| row["measure"].clone()).collect(),
        hidden,
        page,
    )
}

#[test]
fn the_protocol_says_how_much_is_hidden() {
    let (measures, by_default, page) = committee_of(network());
    assert!(by_default > 0 && page.contains("fewer than 5"));
    let all = with_protocol("[suppression]\nhide_below = 1");
    let (all_measures, hidden, page) = committee_of(all.path());
    assert_eq!((hidden, all_measures), (0, measures.clone()));
    assert!(page.contains("No number is hidden.") && !page.contains("<td>hidden</td>"));
    let more = with_protocol("[suppression]\nhide_below = 10");
    let (more_measures, hidden, page) = committee_of(more.path());
    assert!(hidden > by_default, "{hidden} {by_default}");
    assert_eq!(more_measures, measures);
    assert!(page.contains("fewer than 10"));
}

#[test]
fn the_protocol_says_what_the_committee_sees() {
    let (measures, ..) = committee_of(network());
    assert!(measures.len() > 8, "{measures:?}");
    // A site's own rule whose name only begins like one of the page's is not taken for it.
    assert!(measures.contains("recheck_adherence_near_line"));
    let own = with_protocol("");
    let path = own.path().join("protocol.toml");
    let at_risk = "rule = \"near_line\"\ntrigger = \"near_line\"\nrisk = \"present\"";
    let protocol = fs::read_to_string(&path).unwrap();
    assert!(protocol.contains(at_risk));
    let renamed = at_risk.replacen("near_line", "near_line_at_risk", 1);
    fs::write(path, protocol.replacen(at_risk, &renamed, 1)).unwrap();
    let (of_both, ..) = committee_of(own.path());
    assert_eq!(of_both, measures);
    let few = with_protocol("[audiences]\ncommittee = [\"missed_referral\", \"meter_checks\"]");
    let (seen, _, page) = committee_of(few.path());
    assert_eq!(
        seen.into_iter().collect::<Vec<_>>(),
        ["meter_checks", "missed_referral", "referral_in_time"]
    );
    let text = Markup::of(&page).text;
    assert!(text.contains("Missed referral"));
    for hidden in [
        "Screening coverage",
        "Readmitted for jaundice",
        "Dangerous miss",
        "Time to serum",
    ] {
        assert!(!text.contains(hidden), "{hidden}");
    }
}
