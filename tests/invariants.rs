//! What `DEVELOPERS.md` promises about the code, kept by reading it.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use siskin::queries::catalogue;
use siskin::queries::header::{Counts, Header};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn files(folder: &Path, ending: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(files(&path, ending));
        } else if path.extension().is_some_and(|e| e == ending) {
            found.push(path);
        }
    }
    found.sort();
    found
}

/// Source files outside `folders` that hold any of `words`.
fn strays(folders: &[&str], words: &[&str]) -> Vec<String> {
    let src = root().join("src");
    let mut found = Vec::new();
    for path in files(&src, "rs") {
        let name = path.strip_prefix(&src).unwrap().display().to_string();
        if folders.iter().any(|folder| name.starts_with(folder)) {
            continue;
        }
        let text = fs::read_to_string(&path).unwrap();
        found.extend(
            words
                .iter()
                .filter(|w| text.contains(**w))
                .map(|w| format!("{name}: {w}")),
        );
    }
    found
}

const NONE: Vec<String> = Vec::new();

#[test]
fn only_the_engine_builds_a_session() {
    assert_eq!(
        strays(&["engine"], &["SessionContext", "SessionConfig", "RuntimeEnvBuilder"]),
        NONE
    );
}

#[test]
fn only_the_warehouse_writes_parquet() {
    assert_eq!(strays(&["warehouse"], &["ArrowWriter", "WriterProperties"]), NONE);
}

#[test]
fn only_pages_know_html_and_only_charts_svg() {
    assert_eq!(strays(&["pages"], &["<html", "<td", "<div", "minijinja"]), NONE);
    assert_eq!(strays(&["charts"], &["<svg", "plotters::"]), NONE);
}

#[test]
fn only_commands_and_main_print() {
    let printing = ["println!", "print!(", "eprint", "io::stdout", "io::stderr"];
    assert_eq!(strays(&["commands", "main.rs"], &printing), NONE);
}

#[test]
fn no_clock_below_commands() {
    assert_eq!(
        strays(&["commands"], &["Timestamp::now", "SystemTime::now", "Instant::now"]),
        NONE
    );
}

#[test]
fn statistics_and_charts_know_nothing_of_the_rest() {
    for folder in ["statistics", "charts", "privacy"] {
        for path in files(&root().join("src").join(folder), "rs") {
            let text = fs::read_to_string(&path).unwrap().to_lowercase();
            for word in [
                "arrow::",
                "datafusion",
                "bilirubin",
                "serum",
                "std::fs",
                "crate::queries",
            ] {
                assert!(!text.contains(word), "{}: {word}", path.display());
            }
        }
    }
}

#[test]
fn dependencies_point_one_way() {
    // Left may not use right.
    let rules = [
        (
            "warehouse",
            &[
                "engine", "queries", "intake", "extracts", "protocol", "pages", "commands",
            ][..],
        ),
        (
            "engine",
            &["queries", "intake", "extracts", "protocol", "pages", "commands"],
        ),
        (
            "protocol",
            &[
                "engine",
                "queries",
                "intake",
                "extracts",
                "warehouse",
                "pages",
                "commands",
            ],
        ),
        (
            "extracts",
            // Of the warehouse it knows the columns of the tables, and nothing else.
            &[
                "engine",
                "queries",
                "intake",
                "warehouse::{",
                "warehouse::digest",
                "pages",
                "commands",
            ],
        ),
        ("queries", &["intake", "extracts", "signals", "pages", "commands"]),
        ("signals", &["intake", "extracts", "charts", "pages", "commands"]),
        ("intake", &["pages", "commands", "invent"]),
    ];
    for (folder, forbidden) in rules {
        for path in files(&root().join("src").join(folder), "rs") {
            let text = fs::read_to_string(&path).unwrap();
            for other in forbidden {
                assert!(
                    !text.contains(&format!("crate::{other}")),
                    "{}: uses {other}",
                    path.display()
                );
            }
        }
    }
}

#[test]
fn every_query_file_is_embedded_and_has_a_sound_header() {
    let embedded = catalogue::files();
    for path in files(&root().join("queries"), "sql") {
        let name = path.strip_prefix(root().join("queries")).unwrap().display().to_string();
        let (_, sql) = embedded
            .iter()
            .find(|(n, _)| *n == name)
            .unwrap_or_else(|| panic!("{name} is not embedded"));
        Header::parse(&name, sql).unwrap();
    }
    assert_eq!(embedded.len(), files(&root().join("queries"), "sql").len());
}

#[test]
fn a_derived_table_comes_after_those_it_reads() {
    let order: Vec<&str> = catalogue::derived().iter().map(|q| q.name).collect();
    for (i, query) in catalogue::derived().iter().enumerate() {
        for read in query.header.list("reads") {
            let place = order.iter().position(|name| *name == read);
            assert!(
                place.is_none_or(|place| place < i),
                "{} reads {read} before it is built",
                query.name
            );
        }
    }
}

/// The writer puts rows in this order, so their SQL need not.
#[test]
fn a_derived_table_is_made_whole_or_has_an_order() {
    for query in catalogue::derived() {
        let is_ordered = query.sql.lines().any(|line| line.starts_with("order by "));
        let said = query.header.list("order");
        match query.name {
            "table_months" | "last_births" | "first_loads" | "corrected_serum" => assert!(
                said.is_empty() && is_ordered,
                "it is of no baby, so it is always derived whole"
            ),
            "known_until" => assert!(said.is_empty() && !is_ordered, "it is one row"),
            name => assert!(said.first() == Some(&"month") && !is_ordered, "{name}"),
        }
    }
}

#[test]
fn a_query_reads_what_its_header_says() {
    for (name, sql) in catalogue::files() {
        let header = Header::parse(&name, sql).unwrap();
        let body: String = sql
            .lines()
            .filter(|l| !l.starts_with("--"))
            .collect::<Vec<_>>()
            .join("\n");
        let words: Vec<&str> = body.split(|c: char| !(c.is_alphanumeric() || c == '_')).collect();
        for read in header.list("reads") {
            assert!(words.contains(&read), "{name}: says it reads {read}");
        }
        for pair in words.windows(2).filter(|pair| ["from", "join"].contains(&pair[0])) {
            let own = body.contains(&format!("{} as (", pair[1]));
            let said = header.list("reads").contains(&pair[1]);
            assert!(
                own || said || pair[1].is_empty() || pair[1] == "select",
                "{name}: reads {} unsaid",
                pair[1]
            );
        }
    }
}

/// Hours, limits and margins come from the protocol's tables.
#[test]
fn no_number_of_the_protocol_stands_in_a_query() {
    // Counting, halves for rounding, seconds of an hour, and the place of a row among those of a load.
    let allowed = ["0", "1", "2", "3", "4", "5", "3600", "1000000000"];
    // The trade's bands of gestation, Saturday, and seconds of a day.
    let of_groups = ["35", "40", "6", "86400"];
    let group_files = ["listings/grouped.sql", "listings/pairs_compared.sql"];
    // Seconds of a day, by which a moment becomes a local month.
    let day_files = [
        "derive/courses.sql",
        "derive/home_at_risk.sql",
        "derive/review_list.sql",
    ];
    // Percent, minutes of an hour, seconds of a day, digits, and places in the text of a month.
    let of_records = ["100", "12", "60", "59", "86400", "6", "7", "8", "9", "10", "01"];
    for (name, sql) in catalogue::files() {
        let is_of_records = name.starts_with("quality/") || name.starts_with("measures/record");
        for line in sql.lines().filter(|l| !l.starts_with("--")) {
            for word in line.split(|c: char| !(c.is_alphanumeric() || c == '_')) {
                let is_number = !word.is_empty() && word.bytes().all(|b| b.is_ascii_digit());
                let is_allowed = allowed.contains(&word)
                    || (is_of_records && of_records.contains(&word))
                    || (day_files.contains(&name.as_str()) && word == "86400")
                    || (group_files.contains(&name.as_str()) && of_groups.contains(&word));
                assert!(!is_number || is_allowed, "{name}: {line}");
            }
        }
    }
}

/// Figures that share their cases each count a case by the one of its names that they mean.
#[test]
fn a_case_counts_for_each_figure_by_the_name_it_means() {
    let header = Header::parse(
        "worked",
        "-- title: t\n-- grain: g\n-- reads: r\n-- figures: late = missed / in_time + missed;\n\
         --   failed = with / with + without besides left from late;\n\
         --   rare = flagged / flagged + not_flagged from all when few;\n\
         --   severe = cases / births of serum from * + births\n",
    )
    .unwrap();
    let figures = header.figures();
    let [late, failed, rare, severe] = [0, 1, 2, 3].map(|i| &figures[i]);
    assert_eq!(late.sets("late"), ["late"]);
    assert_eq!(failed.sets("failed"), ["late"]);
    assert_eq!(severe.sets("severe"), ["severe", "births"]);
    assert_eq!(late.counts("missed", "with"), Some(Counts::As("missed")));
    assert_eq!(failed.counts("missed", "with"), Some(Counts::As("with")));
    assert_eq!(failed.counts("left", ""), Some(Counts::As("left")));
    assert_eq!(rare.counts("flagged", "many few"), Some(Counts::As("flagged")));
    assert_eq!(rare.counts("flagged", "many"), Some(Counts::As("not_flagged")));
    let unknown = Some(Counts::LeftOut("not_recorded"));
    assert_eq!(rare.counts("flagged", "many few:not_recorded"), unknown);
    assert_eq!(
        rare.counts("flagged", "many:not_recorded"),
        Some(Counts::As("not_flagged"))
    );
    assert_eq!(rare.counts("not_flagged", ""), Some(Counts::As("not_flagged")));
    assert_eq!(severe.counts("births", "serum stays"), Some(Counts::As("births")));
    assert_eq!(severe.counts("births", "stays"), None);
    assert_eq!(severe.counts("cases", ""), Some(Counts::As("cases")));
}

#[test]
fn every_measure_says_which_way_its_figures_are_better() {
    for query in catalogue::measures() {
        let better = query.header.get("better");
        let figures: Vec<&str> = query.header.figures().iter().map(|f| f.name).collect();
        for (place, part) in better.split(';').map(str::trim).enumerate() {
            let (name, word) = part.rsplit_once(' ').unwrap_or(("", part));
            assert!(["higher", "lower", "neither"].contains(&word), "{}: {part}", query.name);
            let is_known = if place == 0 {
                name.is_empty()
            } else {
                figures.contains(&name)
            };
            assert!(is_known, "{}: {part}", query.name);
        }
    }
}

#[test]
fn one_arrow_is_in_the_tree() {
    let lock = fs::read_to_string(root().join("Cargo.lock")).unwrap();
    for name in ["arrow", "parquet", "arrow-schema"] {
        let entries = lock.matches(&format!("name = \"{name}\"\n")).count();
        assert_eq!(entries, 1, "{name}");
    }
}

#[test]
fn main_is_short() {
    let main = fs::read_to_string(root().join("src/main.rs")).unwrap();
    assert!(main.lines().count() <= 60);
}

/// The tables that a query needs stand in its header; the data end by which it cuts is theirs.
#[test]
fn a_query_cuts_at_the_data_end_of_the_tables_it_needs() {
    let queries = catalogue::derived().iter().chain(catalogue::measures());
    let ends: BTreeMap<String, BTreeSet<String>> = catalogue::derive::known_until
        .text
        .lines()
        .filter_map(|line| line.trim().strip_prefix("min(case when table_name in ("))
        .map(|line| {
            let (tables, rest) = line.split_once(") then through_s end) as ").unwrap();
            let tables = tables.split(", ").map(|table| table.trim_matches('\'').to_owned());
            (rest.trim_end_matches(',').to_owned(), tables.collect())
        })
        .collect();
    assert_eq!(ends.len(), 10);
    let mut cut = 0;
    for query in queries.filter(|query| !query.header.list("needs").is_empty()) {
        let needed: BTreeSet<String> = query.header.list("needs").into_iter().map(str::to_owned).collect();
        let body = query.sql.lines().filter(|line| !line.starts_with("--"));
        let words: BTreeSet<&str> = body
            .flat_map(|line| line.split(|c: char| !(c.is_alphanumeric() || c == '_' || c == '.')))
            .collect();
        for (column, tables) in ends
            .iter()
            .filter(|(column, _)| words.contains(format!("u.{column}").as_str()))
        {
            // Figures of severe jaundice each need one table more, as their formulas say.
            let more: BTreeSet<String> = match query.name {
                "severe_jaundice" => {
                    let of = query.header.figures();
                    of.iter()
                        .flat_map(|figure| &figure.of)
                        .map(|table| (*table).to_owned())
                        .collect()
                }
                _ => BTreeSet::new(),
            };
            let beyond: BTreeSet<String> = tables.difference(&needed).cloned().collect();
            assert!(
                needed.is_subset(tables) && beyond.is_subset(&more),
                "{}: u.{column}",
                query.name
            );
            cut += 1;
        }
    }
    assert!(cut > 15, "{cut}");
}

/// So that a clinician reads one thing at a time.
#[test]
fn a_query_is_not_long() {
    for (name, sql) in catalogue::files() {
        let lines = sql.lines().count();
        assert!(lines <= 120, "{name} has {lines} lines");
    }
}
