//! No identifier of the sample stands in what bears none: not in a sentence, a chart, a title, a
//! table beside a page or the name of a file.
//!
//! Looked for, wherever they may stand in a text: every id of a baby, mother, operator, screen,
//! specimen, phototherapy, stay, exchange and meter check of all months; and every instant of
//! birth, as the extract wrote it, as UTC, as pages write it, and as seconds.

use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::fs;
use std::path::Path;
use std::sync::OnceLock;

use jiff::civil::DateTime;
use jiff::tz::TimeZone;

use crate::commands::demo;

use super::written::{files_below, table_in};

/// Columns whose values tell who somebody is, by table.
const IDS: [(&str, &[&str]); 7] = [
    ("births", &["infant_id", "mother_id"]),
    ("screens", &["screen_id", "infant_id", "operator_id"]),
    ("serum", &["specimen_id", "infant_id"]),
    ("phototherapy", &["episode_id", "infant_id"]),
    ("stays", &["stay_id", "infant_id"]),
    ("exchanges", &["exchange_id", "infant_id"]),
    ("meter_checks", &["check_id"]),
];

/// Texts to be looked for at every place of a text, by their length in bytes.
#[derive(Default)]
struct Needles {
    by_length: BTreeMap<usize, HashSet<String>>,
}

impl Needles {
    fn add(&mut self, text: String) {
        // Less would be found in anything.
        assert!(text.len() >= 4, "{text}");
        self.by_length.entry(text.len()).or_default().insert(text);
    }

    fn len(&self) -> usize {
        self.by_length.values().map(HashSet::len).sum()
    }

    /// Those that stand in a text.
    fn found_in<'a>(&self, text: &'a str) -> BTreeSet<&'a str> {
        let mut found = BTreeSet::new();
        for (length, needles) in &self.by_length {
            for from in 0..(text.len() + 1).saturating_sub(*length) {
                if let Some(piece) = text.get(from..from + length).filter(|piece| needles.contains(*piece)) {
                    found.insert(piece);
                }
            }
        }
        found
    }
}

/// Ids, and instants of birth, of all extracts of the sample.
struct Identifiers {
    ids: Needles,
    births: Needles,
}

fn identifiers() -> &'static Identifiers {
    static FOUND: OnceLock<Identifiers> = OnceLock::new();
    FOUND.get_or_init(|| {
        let (mut ids, mut births) = (Needles::default(), Needles::default());
        for month in fs::read_dir(demo().warehouse().join("extracts")).unwrap() {
            let month = month.unwrap().path();
            for (table, columns) in IDS.iter().filter(|_| month.is_dir()) {
                for row in table_in(&month.join(format!("{table}.csv"))) {
                    let told = columns.iter().map(|column| row[*column].clone());
                    told.filter(|id| !id.is_empty()).for_each(|id| ids.add(id));
                    if *table == "births" {
                        instants(&row["born_at"]).into_iter().for_each(|text| births.add(text));
                    }
                }
            }
        }
        Identifiers { ids, births }
    })
}

/// The ways in which an instant of birth may be written; none for a birth known by its day.
fn instants(born_at: &str) -> Vec<String> {
    let Ok(local) = born_at.parse::<DateTime>() else {
        return Vec::new();
    };
    if !born_at.contains('T') {
        return Vec::new();
    }
    let zone = TimeZone::get("Europe/London").unwrap();
    let at = zone.to_ambiguous_timestamp(local).compatible().unwrap();
    let utc = TimeZone::UTC.to_datetime(at);
    let mut all = vec![at.as_second().to_string()];
    for moment in [local, utc] {
        // To the minute: seconds and an offset may follow.
        let forms = [
            "%Y-%m-%dT%H:%M",
            "%Y-%m-%d %H:%M",
            "%Y%m%d%H%M",
            "%Y%m%dT%H%M",
            "%-d %b, %H:%M",
            "%-d %b %Y, %H:%M",
            "%-d %B %Y, %H:%M",
        ];
        all.extend(forms.map(|form| moment.strftime(form).to_string()));
    }
    all
}

/// All that bears no identifier, by its path below the reports.
fn without_identifiers() -> Vec<(String, String)> {
    let reports = demo().report().parent().unwrap().parent().unwrap().to_owned();
    let bears_some = |name: &str| name.ends_with("quality/cases.html") || name.ends_with("quality/cases.csv");
    let files = files_below(&reports).into_iter();
    let named = files.map(|path| (below(&reports, &path), path));
    named
        .filter(|(name, _)| !bears_some(name))
        .map(|(name, path)| (name, fs::read_to_string(path).unwrap()))
        .collect()
}

fn below(folder: &Path, path: &Path) -> String {
    path.strip_prefix(folder).unwrap().to_str().unwrap().to_owned()
}

#[test]
fn no_identifier_of_the_sample_is_in_what_bears_none() {
    let known = identifiers();
    // 24 months of about 600 births: a baby and a mother each, and seven instants at the least.
    assert!(known.ids.len() > 25_000, "{}", known.ids.len());
    assert!(known.births.len() > 7 * 14_000, "{}", known.births.len());
    let files = without_identifiers();
    for name in [
        "2026-09/quality/dashboard.html",
        "2026-09/quality/measures.json",
        "2026-09/quality/measures.csv",
        "2026-09/quality/signals.json",
        "2026-09/quality/pairs.csv",
        "2026-09/quality/set_aside.csv",
        "2026-09/committee/committee.html",
        "2026-09/committee/measures.csv",
        "index.html",
        "published.csv",
    ] {
        assert!(files.iter().any(|(file, _)| file == name), "{name}");
    }
    for (name, text) in &files {
        for told in [name, text] {
            let found: Vec<&str> = known.ids.found_in(told).into_iter().take(5).collect();
            assert!(found.is_empty(), "{name} tells {found:?}");
            let found: Vec<&str> = known.births.found_in(told).into_iter().take(5).collect();
            assert!(found.is_empty(), "{name} tells {found:?}");
        }
    }
}

#[test]
fn the_search_finds_what_is_there() {
    let known = identifiers();
    let cases = fs::read_to_string(demo().report().join("cases.html")).unwrap();
    let (ids, births) = (known.ids.found_in(&cases), known.births.found_in(&cases));
    let shown = cases.matches("<section class=\"baby\"").count();
    assert!(
        shown > 0 && ids.len() >= shown && births.len() >= shown,
        "{shown}: {} and {}",
        ids.len(),
        births.len()
    );
    let page = fs::read_to_string(demo().report().join("dashboard.html")).unwrap();
    let extracts = demo().warehouse().join("extracts/2025-03");
    for (table, columns) in IDS {
        let row = table_in(&extracts.join(format!("{table}.csv"))).into_iter().next();
        for column in columns.iter().filter(|_| row.is_some()) {
            let id = &row.as_ref().unwrap()[*column];
            // In the title of a chart, within a word.
            let planted = page.replacen("</title>\n<desc", &format!("x{id}y</title>\n<desc"), 1);
            assert_ne!(planted, page);
            assert_eq!(
                known.ids.found_in(&planted).into_iter().collect::<Vec<_>>(),
                [id],
                "{table}"
            );
        }
    }
    let births = table_in(&extracts.join("births.csv"));
    let born_at = &births.iter().find(|row| row["born_at"].contains('T')).unwrap()["born_at"];
    for written in instants(born_at) {
        let planted = page.replacen("</p>", &format!(" {written}:00+01:00</p>"), 1);
        assert!(known.births.found_in(&planted).contains(written.as_str()), "{written}");
    }
}
