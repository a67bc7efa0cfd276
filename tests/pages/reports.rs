//! Reports beside each other, the index over them, a unit's own, and who may read what.

use std::collections::BTreeMap;
use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::Path;

use serde_json::Value;

use crate::commands::{siskin, text};

use super::markup::Markup;
use super::network::{MONTHS, network, run};
use super::written::{files_below, report};

/// The figures of the network in a report, or of its unit, by name.
fn figures(month: &Path) -> BTreeMap<String, Value> {
    let text = fs::read_to_string(month.join("quality/measures.json")).unwrap();
    let rows: Vec<Value> = serde_json::from_str(&text).unwrap();
    let split = match rows.iter().any(|row| row["split"] == "all") {
        true => "all",
        false => "unit",
    };
    let all = rows.into_iter().filter(|row| row["split"] == split);
    all.map(|row| (row["measure"].as_str().unwrap().to_owned(), row))
        .collect()
}

fn compared(older: &Path, newer: &Path) -> Vec<String> {
    let told = run(&["compare", older.to_str().unwrap(), newer.to_str().unwrap()]);
    told.lines()
        .filter(|line| !line.is_empty())
        .map(str::to_owned)
        .collect()
}

#[test]
fn a_month_at_two_loads_is_compared_by_its_counts() {
    let (early, late) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    // Load 2 ends with the month: what its babies came to was not known yet.
    let older = report(network(), "2026-08", early.path(), &["--as-of", "2"]);
    let newer = report(network(), "2026-08", late.path(), &[]);
    let told = compared(&older, &newer);
    let load = figures(&newer)["missed_referral"]["load"].as_i64().unwrap();
    assert_eq!(told[0], format!("August 2026, load {load}, beside August 2026, load 2"));
    let (before, after) = (figures(&older), figures(&newer));
    let differs = |name: &&String| {
        ["numerator", "denominator", "value"]
            .iter()
            .any(|field| before[*name][*field] != after[*name][*field])
    };
    let moved: Vec<&String> = after.keys().filter(differs).collect();
    assert!(!moved.is_empty() && moved.len() < after.len(), "{moved:?}");
    let alike = format!("- {} figures are as they were.", after.len() - moved.len());
    assert_eq!(told.last(), Some(&alike));
    let of_figures: Vec<&String> = told
        .iter()
        .filter(|line| line.contains("; before: ") && line.contains('('))
        .collect();
    assert_eq!(of_figures.len(), moved.len(), "{told:?}");
    // The numbers are those of the two files.
    let name = "jaundice_readmission_28d";
    assert!(moved.iter().any(|one| *one == name), "{moved:?}");
    let count = |row: &Value| format!("({} of {})", row["numerator"], row["denominator"]);
    let line = told
        .iter()
        .find(|line| line.contains("28 days") && line.contains('('))
        .unwrap();
    let (now, then) = (count(&after[name]), count(&before[name]));
    assert!(line.contains(&now) && line.contains(&then), "{line}: {now}, {then}");
    // With itself nothing differs.
    let same = compared(&newer, &newer);
    assert_eq!(same[1..], [format!("- {} figures are as they were.", after.len())]);
}

#[test]
fn two_months_are_compared_by_what_is_beyond_chance() {
    let out = tempfile::tempdir().unwrap();
    let [older, newer] = ["2026-08", "2026-09"].map(|month| report(network(), month, out.path(), &[]));
    let told = compared(&older, &newer);
    assert!(
        told[0].starts_with("September 2026, load ") && told[0].contains(", beside August 2026, load "),
        "{told:?}"
    );
    let alike: usize = told.last().unwrap().split(' ').nth(1).unwrap().parse().unwrap();
    let of_figures = told
        .iter()
        .filter(|line| line.contains("; before: ") && line.contains('('))
        .count();
    assert_eq!(alike + of_figures, figures(&newer).len(), "{told:?}");
    // The other way round the same figures differ.
    let back = compared(&newer, &older);
    assert_eq!(back.last(), told.last());
    assert_ne!(back[0], told[0]);
}

#[test]
fn reports_of_a_unit_are_compared_by_its_figures() {
    let out = tempfile::tempdir().unwrap();
    let of_unit = |month| report(network(), month, out.path(), &["--unit", "hill"]).join("unit-hill");
    let [older, newer] = ["2026-08", "2026-09"].map(of_unit);
    let told = compared(&older, &newer);
    assert!(
        told[0].starts_with("September 2026, unit hill, load ")
            && told[0].contains(", beside August 2026, unit hill, load "),
        "{told:?}"
    );
    let is_of_one =
        |line: &&String| (line.contains("; before: ") && line.contains('(')) || line.ends_with(" was not told before.");
    let of_figures = told.iter().filter(is_of_one);
    let alike: usize = told.last().unwrap().split(' ').nth(1).unwrap().parse().unwrap();
    assert_eq!(of_figures.count() + alike, figures(&newer).len(), "{told:?}");
    // With the network's the unit's is not compared.
    let network = report(network(), "2026-09", out.path(), &[]);
    let done = siskin(&["compare", network.to_str().unwrap(), newer.to_str().unwrap()]);
    assert_eq!(done.status.code(), Some(2));
    assert!(
        text(&done.stderr).contains("not of the same babies"),
        "{}",
        text(&done.stderr)
    );
}

#[test]
fn a_folder_without_a_report_cannot_be_compared() {
    let out = tempfile::tempdir().unwrap();
    let month = report(network(), "2026-09", out.path(), &[]);
    for broken in [out.path().join("2026-01"), month.join("quality")] {
        for pair in [[&broken, &month], [&month, &broken]] {
            let done = siskin(&["compare", pair[0].to_str().unwrap(), pair[1].to_str().unwrap()]);
            assert_eq!(done.status.code(), Some(2));
            let told = text(&done.stderr);
            assert!(
                told.contains(broken.to_str().unwrap()) && told.contains("to do: name the folder of a month"),
                "{told}"
            );
            assert!(done.stdout.is_empty());
        }
    }
    fs::write(month.join("quality/measures.json"), "{}").unwrap();
    let done = siskin(&["compare", month.to_str().unwrap(), month.to_str().unwrap()]);
    assert_eq!(done.status.code(), Some(2));
}

#[test]
fn the_index_lists_months_newest_first_with_the_pages_there_are() {
    let out = tempfile::tempdir().unwrap();
    // Not in their order; the last with cases and a unit's own report.
    for month in [MONTHS[1], MONTHS[2], MONTHS[0]] {
        report(network(), month, out.path(), &[]);
    }
    report(network(), MONTHS[2], out.path(), &["--cases"]);
    report(network(), MONTHS[2], out.path(), &["--unit", "harbour"]);
    let links = |page: &Markup| -> Vec<String> {
        let anchors = page.elements.iter().filter(|element| element.name == "a");
        anchors
            .map(|a| a.attributes.iter().find(|(name, _)| name == "href").unwrap().1.clone())
            .collect()
    };
    let read = || Markup::of(&fs::read_to_string(out.path().join("index.html")).unwrap());
    let index = read();
    assert_eq!(
        links(&index),
        [
            "2026-09/quality/dashboard.html",
            "2026-09/quality/cases.html",
            "2026-09/committee/committee.html",
            "2026-09/unit-harbour/quality/dashboard.html",
            "2026-08/quality/dashboard.html",
            "2026-08/committee/committee.html",
            "2026-07/quality/dashboard.html",
            "2026-07/committee/committee.html",
        ]
    );
    assert!(links(&index).iter().all(|link| out.path().join(link).is_file()));
    let ids = |page: &Markup| -> Vec<String> {
        let titles = page.elements.iter().filter(|element| element.name == "h2");
        titles.map(|h2| h2.attributes[0].1.clone()).collect()
    };
    assert_eq!(ids(&index), ["month-2026-09", "month-2026-08", "month-2026-07"]);
    assert_eq!(
        index.text.matches("Published ").count() + index.text.matches("Unit harbour: published ").count(),
        5
    );
    assert_eq!(index.text.matches("Unit harbour: published ").count(), 1);
    assert!(index.text.contains("Beside August 2026") && index.text.contains("Beside July 2026"));
    // A page that was taken away is not linked any more.
    fs::remove_dir_all(out.path().join("2026-08/committee")).unwrap();
    report(network(), MONTHS[0], out.path(), &[]);
    assert!(
        !links(&read())
            .iter()
            .any(|link| link == "2026-08/committee/committee.html")
    );
    assert_eq!(links(&read()).len(), 7);
}

#[test]
fn the_report_of_a_unit_tells_its_figures_alone() {
    let out = tempfile::tempdir().unwrap();
    let month = report(network(), "2026-09", out.path(), &["--unit", "harbour", "--cases"]);
    let folder = month.join("unit-harbour");
    let own = figures(&folder);
    let printed = run(&[
        "measure",
        "--warehouse",
        network().to_str().unwrap(),
        "--month",
        "2026-09",
        "--by",
        "unit",
        "--format",
        "json",
    ]);
    let rows: Vec<Value> = serde_json::from_str(&printed).unwrap();
    let of_unit: BTreeMap<&str, &Value> = rows
        .iter()
        .filter(|row| row["split"] == "unit" && row["group"] == "harbour")
        .map(|row| (row["measure"].as_str().unwrap(), row))
        .collect();
    assert!(own.len() > 20, "{}", own.len());
    for (name, figure) in &own {
        for field in [
            "numerator",
            "denominator",
            "value",
            "lower",
            "upper",
            "outcomes",
            "left_out",
            "open",
            "provisional",
        ] {
            assert_eq!(figure[field], of_unit[name.as_str()][field], "{name}: {field}");
        }
    }
    // Its groups are told as `measure --by` names those within a unit.
    let written: Vec<Value> =
        serde_json::from_str(&fs::read_to_string(folder.join("quality/measures.json")).unwrap()).unwrap();
    let is_own = |row: &Value| {
        let (split, group) = (row["split"].as_str().unwrap(), row["group"].as_str().unwrap());
        split == "unit" && group == "harbour" || split.starts_with("unit_and_") && group.starts_with("harbour: ")
    };
    assert!(written.iter().all(is_own));
    assert!(written.iter().any(|row| row["split"] == "unit_and_skin_tone"));
    // How far the unit is from all others would tell the others.
    let of_whole = written.iter().filter(|row| row["split"] == "unit");
    assert!(of_whole.clone().all(|row| row["difference"].is_null()));
    let missing: Vec<&&str> = of_unit.keys().filter(|name| !own.contains_key(**name)).collect();
    assert!(missing.is_empty(), "{missing:?}");
    // Some figure is another than the network's, so that this told something.
    let network = |name: &str| {
        rows.iter()
            .find(|row| row["split"] == "all" && row["measure"] == name)
            .unwrap()
    };
    assert!(
        own.iter()
            .any(|(name, figure)| figure["denominator"] != network(name)["denominator"])
    );
    for other in ["meadow", "hill"] {
        let page = fs::read_to_string(folder.join("quality/dashboard.html")).unwrap();
        let text = Markup::of(&page).text;
        assert!(!text.contains(other), "{other}");
        let measures = fs::read_to_string(folder.join("quality/measures.csv")).unwrap();
        assert!(!measures.contains(other), "{other}");
    }
    assert!(folder.join("quality/cases.html").is_file());
    let committee = |path: &std::path::PathBuf| path.to_str().unwrap().contains("committee");
    assert!(!files_below(out.path()).iter().any(committee));
}

#[test]
fn an_unknown_unit_is_a_usage_error_and_writes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("reports");
    let words = [
        "report",
        "--month",
        "2026-09",
        "--unit",
        "harbor",
        "--warehouse",
        network().to_str().unwrap(),
        "--out",
    ];
    let done = siskin(&[&words[..], &[out.to_str().unwrap()]].concat());
    assert_eq!(done.status.code(), Some(2));
    let told = text(&done.stderr);
    assert!(
        told.contains("'harbor'") && told.contains("name one of: harbour, hill, meadow"),
        "{told}"
    );
    assert!(!out.exists(), "{:?}", files_below(folder.path()));
}

#[test]
fn what_holds_full_counts_is_its_owners_and_the_committees_may_be_read() {
    let out = tempfile::tempdir().unwrap();
    let month = report(network(), "2026-09", out.path(), &["--cases"]);
    report(network(), "2026-09", out.path(), &["--unit", "harbour"]);
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    for quality in [month.join("quality"), month.join("unit-harbour/quality")] {
        assert_eq!(mode(&quality), 0o700);
        let files = files_below(&quality);
        assert!(files.len() >= 6);
        files
            .iter()
            .for_each(|file| assert_eq!(mode(file), 0o600, "{}", file.display()));
    }
    assert_eq!(mode(&out.path().join("index.html")), 0o600);
    assert_eq!(mode(&out.path().join("published.csv")), 0o600);
    // As the system makes folders and files for anybody.
    let made = out.path().join("made");
    fs::create_dir(&made).unwrap();
    fs::write(made.join("file"), "").unwrap();
    assert_eq!(mode(&month.join("committee")), mode(&made));
    for name in ["committee.html", "measures.csv"] {
        assert_eq!(
            mode(&month.join("committee").join(name)),
            mode(&made.join("file")),
            "{name}"
        );
    }
}
