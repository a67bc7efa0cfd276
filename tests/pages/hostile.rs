//! Records that hold markup, formulas, marks of direction and very long names change nothing of a
//! page but the words they are told in.
//!
//! The invented extracts, with such values in every column that takes any text, in the network's
//! and the protocol's name, notes, reviews and file names. With `HOSTILE_OUT` the reports stay in
//! that folder, for a browser (`tests/outside/hostile`).

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use crate::commands::{siskin, text};
use crate::harness::PROTOCOL;

use super::markup::Markup;
use super::network::{MONTHS, invented_into, run};
use super::written::{files_below, report, table, table_in};

const SCRIPT: &str = "<script>window.pwned=1</script>";
const IMAGE: &str = "\"><img src=x onerror=window.pwned=1>";
const TEMPLATE: &str = "pw{{ 7*7 }}ned{% for a in b %}";
/// Turns what follows round, and hides.
const TURNED: &str = "\u{202e}denwp\u{2066}\u{200f}zero\u{200b}width\u{feff}";
const CONTROLS: &str = "nul\u{0}esc\u{1b}[31mbell\u{7}\u{85}";

/// What a unit of the invented network is called by babies of even and of odd number.
fn unit(name: &str, id: &str) -> String {
    let is_even = id.ends_with(['0', '2', '4', '6', '8']);
    match (name, is_even) {
        ("", _) => String::new(),
        ("harbour", true) => SCRIPT.to_owned(),
        ("harbour", false) => format!("../../etc/{TURNED}{TEMPLATE}"),
        // A few babies: many such rows need more memory than a load has.
        ("meadow", true) if id.ends_with('4') => format!("-2+3{}{IMAGE}", "W".repeat(10_000)),
        ("meadow", true) => format!("-2+3{IMAGE}"),
        ("meadow", false) => format!("=1+1,\n{IMAGE}"),
        (_, true) => format!("@SUM(A1) {CONTROLS} \"quoted\" 'too'"),
        (_, false) => "+cmd|' /C calc'!A1 javascript:alert(1)".to_owned(),
    }
}

/// What a value of a column becomes, of the row with an id in a line.
fn hostile(column: &str, value: &str, (id, line): (&str, usize)) -> String {
    let is_now_and_then = line % 23 == 5;
    match column {
        _ if value.is_empty() => String::new(),
        "unit" => unit(value, id),
        // Ids stay apart by what they were.
        "infant_id" | "mother_id" => match value.as_bytes()[value.len() - 1] {
            b'0' => format!("{SCRIPT}{value}"),
            b'1' => format!("{value}{IMAGE}"),
            b'2' => format!("={value}"),
            b'3' => format!("{value}{TURNED}"),
            b'4' => format!("../{value}/{TEMPLATE}"),
            b'5' => format!("@{value}\"'\n<!-- {CONTROLS}"),
            b'6' if value.ends_with("66") => format!("+{value}{}", "long ".repeat(2_000)),
            b'6' => format!("-{value}</title></svg>{SCRIPT}"),
            _ => value.to_owned(),
        },
        "skin_tone" => match value {
            "light" => format!("</svg></title>{SCRIPT}"),
            "medium" => format!("={TEMPLATE}{TURNED}"),
            _ => format!("+{}", "skin <b>tone</b> ".repeat(600)),
        },
        "ethnicity" => format!("{value}\" onmouseover=\"window.pwned=1"),
        "meter_id" => format!("@{value}{IMAGE}{TEMPLATE}{TURNED}"),
        "operator_id" => format!("{SCRIPT}{value}"),
        "diagnoses" => format!("{value};{SCRIPT};=2+5"),
        "risk_factors" => format!("{value};{IMAGE}"),
        // Words of a list: a row with another is set aside, so only some.
        "feeding" | "body_site" | "analyte" | "specimen" | "gestation" | "unit_of_measure" | "status" | "outcome"
            if is_now_and_then =>
        {
            format!("={SCRIPT}{IMAGE}{TURNED}")
        }
        _ => value.to_owned(),
    }
}

/// A table with hostile values.
fn rewritten(text: &str) -> String {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let header = reader.headers().unwrap().clone();
    let by = header
        .iter()
        .position(|name| name == "infant_id" || name == "meter_id")
        .unwrap();
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(&header).unwrap();
    for (line, row) in reader.records().map(Result::unwrap).enumerate() {
        let cells = header.iter().zip(&row);
        writer
            .write_record(cells.map(|(column, cell)| hostile(column, cell, (&row[by], line))))
            .unwrap();
    }
    String::from_utf8(writer.into_inner().unwrap()).unwrap()
}

struct Hostile {
    folder: tempfile::TempDir,
    /// Where reports are.
    out: PathBuf,
}

impl Hostile {
    fn warehouse(&self) -> PathBuf {
        self.folder.path().join("warehouse")
    }

    fn reports(&self) -> PathBuf {
        self.out.clone()
    }

    /// Every page and table below the reports, and those printed.
    fn files(&self, ending: &str) -> Vec<(String, String)> {
        let files = files_below(&self.out).into_iter();
        files
            .filter(|path| path.extension().is_some_and(|found| found == ending))
            .map(|path| (path.display().to_string(), fs::read_to_string(path).unwrap()))
            .collect()
    }
}

/// The unit with a report of its own.
fn reported_unit() -> String {
    unit("harbour", "1")
}

fn made() -> &'static Hostile {
    static MADE: OnceLock<Hostile> = OnceLock::new();
    MADE.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let extracts = folder.path().join("extracts");
        invented_into(&extracts);
        let loaded = folder.path().join("loaded =1+1 <img src=x>");
        fs::create_dir(&loaded).unwrap();
        let mut files = Vec::new();
        for month in MONTHS {
            for path in files_below(&extracts.join(month)) {
                let stem = path.file_stem().unwrap().to_str().unwrap();
                let to = loaded.join(format!("{stem} {month} \"><img src=x onerror=alert(1)>{TEMPLATE}.csv"));
                fs::write(&to, rewritten(&fs::read_to_string(&path).unwrap())).unwrap();
                files.push(to.to_str().unwrap().to_owned());
            }
        }
        let warehouse = folder.path().join("warehouse");
        fs::create_dir(&warehouse).unwrap();
        let protocol = PROTOCOL
            .replace(
                "Fieldfare network (invented)",
                "</title><script>window.pwned=2</script>pw{{ 7*7 }}ned\\u202Edenwp\\u001B",
            )
            .replace(
                "NICE CG98 manner, 2026",
                "=1+1 \\\"><img src=x onerror=window.pwned=1> \\u202Edenwp",
            );
        assert!(protocol.contains("window.pwned=2") && protocol.contains("=1+1"));
        fs::write(warehouse.join("protocol.toml"), protocol).unwrap();
        let note = format!("month = \"2026-08\"\ntext = \"=1 </svg>{SCRIPT}\\u202Edenwp\"");
        let notes = format!("[[note]]\n{note}\nfigures = [\"missed_referral\"]\nnew_phase = true\n");
        fs::write(warehouse.join("notes.toml"), notes).unwrap();
        let at = warehouse.to_str().unwrap();
        let mut load = vec!["--quiet", "load", "--warehouse", at, "--through", "2026-10-01T00:00"];
        load.extend(files.iter().map(String::as_str));
        run(&load);
        let kept = std::env::var_os("HOSTILE_OUT");
        let out = kept.map_or_else(|| folder.path().join("reports"), PathBuf::from);
        let month = report(&warehouse, "2026-09", &out, &["--cases"]);
        review(&warehouse, &month.join("quality/cases.csv"));
        report(&warehouse, "2026-08", &out, &[]);
        report(&warehouse, "2026-09", &out, &["--cases"]);
        report(&warehouse, "2026-09", &out, &["--cases", "--unit", &reported_unit()]);
        Hostile { folder, out }
    })
}

/// Reviews some cases, in hostile words, and one that is none.
fn review(warehouse: &Path, cases: &Path) {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer
        .write_record(["case_id", "category", "reviewer", "reviewed_on", "note"])
        .unwrap();
    let rows = table_in(cases);
    assert!(rows.len() > 10);
    let none = format!("missed_referral:{IMAGE}{TURNED}");
    for id in rows
        .iter()
        .take(10)
        .map(|row| row["case_id"].trim_start_matches('\''))
        .chain([none.as_str()])
    {
        let words = [
            id,
            "equipment",
            &format!("=HYPERLINK(){SCRIPT}"),
            "2026-10-05",
            &format!("@{TEMPLATE}{IMAGE}{TURNED}"),
        ];
        writer.write_record(words).unwrap();
    }
    fs::write(warehouse.join("reviews.csv"), writer.into_inner().unwrap()).unwrap();
}

/// What pages are made of.
const ELEMENTS: &str = "a body br caption circle code desc details div figure footer h1 h2 h3 head header html li \
    line main meta nav ol p path polygon polyline pre rect script section span strong style summary svg table tbody \
    td text th thead title tr ul";

#[test]
fn pages_of_hostile_records_hold_their_words_and_nothing_else() {
    let allowed: BTreeSet<&str> = ELEMENTS.split_whitespace().collect();
    let own_script = include_str!("../../src/pages/templates/tables.js").trim();
    let pages = made().files("html");
    // Dashboard, cases and committee's page of the month; of another without cases; of a unit; the index.
    assert_eq!(
        pages.len(),
        8,
        "{:?}",
        pages.iter().map(|(name, _)| name).collect::<Vec<_>>()
    );
    for (name, page) in &pages {
        let markup = Markup::of(page);
        let foreign: Vec<&str> = markup
            .names()
            .into_iter()
            .filter(|one| !allowed.contains(one))
            .collect();
        assert!(foreign.is_empty(), "{name}: {foreign:?}");
        for element in &markup.elements {
            for (attribute, value) in &element.attributes {
                assert!(
                    !attribute.starts_with("on") && attribute != "src",
                    "{name}: {attribute}={value}"
                );
                let is_own = value.starts_with('#') || value.ends_with(".html");
                assert!(attribute != "href" || is_own, "{name}: {value}");
                assert!(!value.starts_with("javascript:"), "{name}: {value}");
            }
        }
        let scripts: Vec<&String> = markup
            .raw
            .iter()
            .filter(|(name, _)| name == "script")
            .map(|(_, text)| text)
            .collect();
        assert!(
            scripts.len() <= 1 && scripts.iter().all(|script| *script == own_script),
            "{name}"
        );
        assert!(!page.contains("pw49ned") && !markup.text.contains("pw49ned"), "{name}");
        let unseen = |c: &char| c.is_control() && !matches!(c, '\n' | '\t');
        assert_eq!(page.chars().find(unseen), None, "{name}");
        let turns = ['\u{202e}', '\u{2066}', '\u{200f}'];
        assert!(!page.contains(turns), "{name}");
        assert!(page.len() < 1_500_000, "{name}: {} bytes", page.len());
        if !name.ends_with("index.html") {
            assert!(
                markup.text.contains("window.pwned") && page.contains("&lt;script&gt;"),
                "{name}"
            );
            assert!(markup.text.contains("{{ 7*7 }}"), "{name}");
            assert!(markup.text.contains('\u{fffd}'), "{name}");
        }
    }
}

#[test]
fn a_very_long_name_is_cut_and_stays_apart_from_others() {
    let pages = made().files("html");
    let long = unit("meadow", "4");
    for (name, page) in pages.iter().filter(|(name, _)| !name.contains("unit-")) {
        // Ids of cases are told whole: a review names a case by them.
        assert!(!page.contains(&"W".repeat(200)), "{name}");
    }
    let dashboard = &pages
        .iter()
        .find(|(name, _)| name.ends_with("2026-09/quality/dashboard.html"))
        .unwrap()
        .1;
    let text = Markup::of(dashboard).text;
    let cut = format!("{}\u{2026} ", long.chars().take(60).collect::<String>());
    assert!(text.contains(&cut), "{cut}");
    // Files beside the page tell the name whole.
    let measures = table_in(&made().reports().join("2026-09/quality/measures.csv"));
    assert!(measures.iter().any(|row| row["group"] == format!("'{long}")));
}

#[test]
fn a_unit_of_a_hostile_name_has_a_folder_of_a_harmless_one() {
    let hostile = made();
    let folders: Vec<String> = fs::read_dir(hostile.reports().join("2026-09"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.starts_with("unit-"))
        .collect();
    let [folder] = &folders[..] else { panic!("{folders:?}") };
    assert!(
        folder
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_')),
        "{folder}"
    );
    assert!(
        hostile
            .reports()
            .join("2026-09")
            .join(folder)
            .join("quality/cases.html")
            .is_file()
    );
    let beside: Vec<_> = fs::read_dir(hostile.folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name())
        .collect();
    assert!(
        beside.iter().all(|name| {
            let name = name.to_str().unwrap();
            ["extracts", "warehouse", "reports"].contains(&name) || name.starts_with("loaded")
        }),
        "{beside:?}"
    );
    // Units that look alike in letters and digits have folders of their own.
    let out = tempfile::tempdir().unwrap();
    for name in [unit("meadow", "1"), unit("hill", "1"), unit("harbour", "0")] {
        report(&hostile.warehouse(), "2026-09", out.path(), &["--unit", &name]);
    }
    assert_eq!(fs::read_dir(out.path().join("2026-09")).unwrap().count(), 3);
}

#[test]
fn no_cell_of_a_table_is_a_formula() {
    let hostile = made();
    let printed = siskin(&[
        "measure",
        "--warehouse",
        hostile.warehouse().to_str().unwrap(),
        "--month",
        "2026-09",
        "--by",
        "unit,skin_tone",
        "--format",
        "csv",
    ]);
    let mut tables = hostile.files("csv");
    tables.push(("measure --format csv".to_owned(), text(&printed.stdout)));
    let names: Vec<&str> = tables
        .iter()
        .map(|(name, _)| name.rsplit('/').next().unwrap())
        .collect();
    for name in [
        "measures.csv",
        "cases.csv",
        "set_aside.csv",
        "pairs.csv",
        "published.csv",
    ] {
        assert!(names.contains(&name), "{name}");
    }
    let mut neutralised = BTreeSet::new();
    for (name, text) in &tables {
        for row in table(text) {
            for (column, cell) in row {
                let is_number = cell.parse::<f64>().is_ok();
                assert!(
                    !cell.starts_with(['=', '+', '-', '@', '\t', '\r']) || is_number,
                    "{name}, {column}: {cell}"
                );
                if cell.starts_with("'=") || cell.starts_with("'+") || cell.starts_with("'-") || cell.starts_with("'@")
                {
                    neutralised.insert((name.rsplit('/').next().unwrap().to_owned(), column));
                }
            }
        }
    }
    let found = |name: &str, column: &str| neutralised.contains(&(name.to_owned(), column.to_owned()));
    for (name, column) in [
        ("measures.csv", "group"),
        ("measures.csv", "protocol"),
        ("cases.csv", "unit"),
        ("cases.csv", "infant_id"),
        ("cases.csv", "reviewer"),
        ("cases.csv", "note"),
        ("measure --format csv", "group"),
    ] {
        assert!(found(name, column), "{name}, {column}: {neutralised:?}");
    }
    // What was quoted is read as it was, with its quotes and new lines.
    let groups: BTreeSet<String> = table(&text(&printed.stdout))
        .into_iter()
        .map(|row| row["group"].clone())
        .collect();
    for unit in [unit("meadow", "1"), unit("harbour", "0")] {
        let cell = if unit.starts_with('=') {
            format!("'{unit}")
        } else {
            unit
        };
        assert!(groups.iter().any(|group| group.starts_with(&cell)), "{cell}");
    }
}
