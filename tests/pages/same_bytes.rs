//! A report is the same bytes however its queries are cut into pieces, and wherever it is made.
//!
//! But for the log and the index made of it, which say when each report was written.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Command;

use siskin::commands::output::Say;
use siskin::commands::report::{Order, write};
use siskin::engine::Limits;
use siskin::warehouse::Warehouse;

use super::network::network;
use super::written::{files_below, report};

/// Every file of a folder of reports that tells no time of its own, by its path.
fn files(out: &Path) -> BTreeMap<String, Vec<u8>> {
    let named = files_below(out).into_iter().map(|path| {
        let name = path.strip_prefix(out).unwrap().to_str().unwrap().to_owned();
        (name, fs::read(path).unwrap())
    });
    named
        .filter(|(name, _)| name != "index.html" && name != "published.csv")
        .collect()
}

fn assert_same(one: &BTreeMap<String, Vec<u8>>, other: &BTreeMap<String, Vec<u8>>, by: &str) {
    assert_eq!(one.keys().collect::<Vec<_>>(), other.keys().collect::<Vec<_>>(), "{by}");
    for (name, bytes) in one {
        assert!(other[name] == *bytes, "{name} is other bytes by {by}");
    }
}

fn by_partitions(partitions: usize, unit: Option<&str>) -> BTreeMap<String, Vec<u8>> {
    let out = tempfile::tempdir().unwrap();
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .unwrap();
    let warehouse = Warehouse::at(network()).unwrap();
    let snapshot = warehouse.newest().unwrap();
    let order = Order {
        month: "2026-09".parse().unwrap(),
        unit,
        has_cases: true,
        out: out.path(),
        reviews: &warehouse.reviews_path(),
        limits: Limits {
            partitions,
            ..Limits::default()
        },
    };
    runtime
        .block_on(write(&snapshot, &order, &Say::new(true).work()))
        .unwrap();
    files(out.path())
}

#[test]
fn a_report_is_the_same_bytes_by_any_number_of_partitions() {
    let one = by_partitions(1, None);
    let names: Vec<&str> = one.keys().map(String::as_str).collect();
    assert_eq!(
        names,
        [
            "2026-09/committee/committee.html",
            "2026-09/committee/measures.csv",
            "2026-09/quality/cases.csv",
            "2026-09/quality/cases.html",
            "2026-09/quality/dashboard.html",
            "2026-09/quality/measures.csv",
            "2026-09/quality/measures.json",
            "2026-09/quality/pairs.csv",
            "2026-09/quality/set_aside.csv",
            "2026-09/quality/signals.json",
        ]
    );
    // There is something to be in another order: cases, pairs, and rows of figures.
    for (name, lines) in [("cases.csv", 5), ("pairs.csv", 5), ("measures.csv", 100)] {
        let text = String::from_utf8(one[&format!("2026-09/quality/{name}")].clone()).unwrap();
        assert!(text.lines().count() > lines, "{name}");
    }
    for partitions in [2, 3, 7] {
        assert_same(
            &one,
            &by_partitions(partitions, None),
            &format!("{partitions} partitions"),
        );
    }
    let unit = Some("harbour");
    assert_same(
        &by_partitions(1, unit),
        &by_partitions(7, unit),
        "7 partitions of a unit",
    );
}

#[test]
fn a_report_is_the_same_bytes_in_any_zone_and_language() {
    let expected = by_partitions(2, None);
    let plain = tempfile::tempdir().unwrap();
    report(network(), "2026-09", plain.path(), &["--cases"]);
    assert_same(&expected, &files(plain.path()), "the binary");
    for (name, value) in [
        ("TZ", "UTC"),
        ("TZ", "Pacific/Kiritimati"),
        ("TZ", "America/St_Johns"),
        ("LANG", "C"),
        ("LC_ALL", "tr_TR.UTF-8"),
    ] {
        let out = tempfile::tempdir().unwrap();
        let done = Command::new(env!("CARGO_BIN_EXE_siskin"))
            .args(["--quiet", "report", "--month", "2026-09", "--cases", "--warehouse"])
            .arg(network())
            .arg("--out")
            .arg(out.path())
            .env(name, value)
            .env("LANG", if name == "LANG" { value } else { "tr_TR.UTF-8" })
            .output()
            .unwrap();
        assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
        assert_same(&expected, &files(out.path()), &format!("{name}={value}"));
    }
}
