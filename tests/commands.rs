//! The real binary: the demo on the sample, what it prints, exit codes, manners.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::OnceLock;

use serde_json::Value;

pub fn siskin(arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_siskin"));
    command
        .env_remove("SISKIN_WAREHOUSE")
        .current_dir(env!("CARGO_MANIFEST_DIR"));
    command.args(arguments).output().unwrap()
}

pub fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// A copy of the sample warehouse after `siskin demo`, made once.
pub struct Demo {
    folder: tempfile::TempDir,
    pub output: String,
}

impl Demo {
    pub fn warehouse(&self) -> PathBuf {
        self.folder.path().join("sample-warehouse")
    }

    pub fn report(&self) -> PathBuf {
        self.folder.path().join("reports/2026-09/quality")
    }
}

pub fn demo() -> &'static Demo {
    static DEMO: OnceLock<Demo> = OnceLock::new();
    DEMO.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-warehouse");
        let copy = folder.path().join("sample-warehouse");
        copy_folder(&sample.join("extracts"), &copy.join("extracts"));
        for file in ["protocol.toml", "notes.toml"] {
            fs::copy(sample.join(file), copy.join(file)).unwrap();
        }
        let out = folder.path().join("reports");
        let done = siskin(&[
            "demo",
            "--warehouse",
            copy.to_str().unwrap(),
            "--out",
            out.to_str().unwrap(),
        ]);
        assert!(done.status.success(), "{}", text(&done.stderr));
        Demo {
            output: text(&done.stdout),
            folder,
        }
    })
}

/// Copies a folder; its links stay links.
pub fn copy_folder(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let target = to.join(path.file_name().unwrap());
        if let Ok(link) = fs::read_link(&path) {
            std::os::unix::fs::symlink(link, target).unwrap();
        } else if path.is_dir() {
            copy_folder(&path, &target);
        } else {
            fs::copy(&path, &target).unwrap();
        }
    }
}

pub fn measure(month: &str, format: &str) -> Output {
    let warehouse = demo().warehouse();
    siskin(&[
        "measure",
        "--warehouse",
        warehouse.to_str().unwrap(),
        "--month",
        month,
        "--by",
        "unit",
        "--format",
        format,
    ])
}

#[test]
fn the_demo_says_what_to_open_and_that_file_is_there() {
    let told = &demo().output;
    assert!(told.contains("Open ") && told.contains("dashboard.html"), "{told}");
    for name in ["dashboard.html", "measures.json", "measures.csv", "set_aside.csv"] {
        assert!(demo().report().join(name).is_file(), "{name}");
    }
}

#[cfg(unix)]
#[test]
fn a_report_can_be_read_by_its_owner_only() {
    use std::os::unix::fs::PermissionsExt;
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!(mode(&demo().report()), 0o700);
    assert_eq!(mode(&demo().report().join("measures.json")), 0o600);
}

/// Renew it with `tests/renew-example`.
#[test]
fn the_example_report_is_what_the_demo_renders() {
    let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("reports/example/2026-09");
    let month = demo().report().join("..");
    for name in [
        "quality/dashboard.html",
        "quality/cases.html",
        "quality/cases.csv",
        "quality/measures.json",
        "quality/measures.csv",
        "quality/signals.json",
        "quality/pairs.csv",
        "committee/committee.html",
        "committee/measures.csv",
    ] {
        let (kept, made) = (
            fs::read(example.join(name)).unwrap(),
            fs::read(month.join(name)).unwrap(),
        );
        assert!(kept == made, "reports/example/2026-09/{name} is out of date");
    }
}

#[test]
fn the_page_names_no_baby_and_asks_the_network_for_nothing() {
    let page = fs::read_to_string(demo().report().join("dashboard.html")).unwrap();
    let births = fs::read_to_string(demo().warehouse().join("extracts/2026-09/births.csv")).unwrap();
    for row in births.lines().skip(1).take(100) {
        let id = row.split(',').next().unwrap();
        assert!(!page.contains(id), "{id}");
    }
    for word in ["http://", "https://", "src=", "@import", "url("] {
        let elsewhere = page.replace("http://www.w3.org/2000/svg", "");
        assert!(!elsewhere.contains(word), "{word}");
    }
    assert_eq!(
        page.matches("<script").count(),
        1,
        "the page's own, to sort and filter tables"
    );
    assert!(page.matches("not for decisions about a baby").count() >= 2);
}

#[test]
fn json_rows_hold_what_the_results_promise() {
    let rows: Value = serde_json::from_slice(&measure("2026-09", "json").stdout).unwrap();
    let rows = rows.as_array().unwrap();
    let names = [
        "measure",
        "month",
        "split",
        "group",
        "numerator",
        "denominator",
        "value",
        "lower",
        "upper",
        "difference",
        "difference_lower",
        "difference_upper",
        "outcomes",
        "left_out",
        "open",
        "provisional",
        "protocol",
        "load",
    ];
    for row in rows {
        let keys: Vec<&String> = row.as_object().unwrap().keys().collect();
        assert_eq!(keys.len(), names.len());
        assert!(names.iter().all(|name| keys.iter().any(|key| key == name)), "{row}");
    }
    let all = |measure: &str| {
        rows.iter()
            .filter(|r| r["measure"] == measure && r["split"] == "all")
            .count()
    };
    for measure in [
        "missed_referral",
        "referral_in_time",
        "time_to_serum_6h",
        "time_to_serum_median",
        "time_to_result_median",
        "recheck_adherence_near_line",
        "recheck_adherence_rebound",
        "jaundice_readmission_7d",
        "jaundice_readmission_28d",
    ] {
        assert_eq!(all(measure), 1, "{measure}");
    }
    // The report has the groups of all splits besides.
    let saved = fs::read(demo().report().join("measures.json")).unwrap();
    let mut saved: Vec<serde_json::Value> = serde_json::from_slice(&saved).unwrap();
    assert!(saved.iter().any(|r| r["split"] == "night"));
    saved.retain(|r| r["split"] == "all" || r["split"] == "unit");
    let printed: Vec<serde_json::Value> = serde_json::from_slice(&measure("2026-09", "json").stdout).unwrap();
    assert!(saved == printed);
}

#[test]
fn a_series_is_the_months_one_after_another() {
    let warehouse = demo().warehouse();
    let warehouse = warehouse.to_str().unwrap();
    let series = |months: &str, more: &[&str]| {
        let mut arguments = vec![
            "measure",
            "--warehouse",
            warehouse,
            "--month",
            "2026-09",
            "--months",
            months,
        ];
        arguments.extend(["--format", "json"].iter().chain(more));
        let out = siskin(&arguments);
        assert!(out.status.success(), "{}", text(&out.stderr));
        (
            serde_json::from_slice::<Vec<Value>>(&out.stdout).unwrap(),
            text(&out.stderr),
        )
    };
    let (two, _) = series("2", &["--by", "unit"]);
    let one = |month: &str| serde_json::from_slice::<Vec<Value>>(&measure(month, "json").stdout).unwrap();
    let mut apart = one("2026-08");
    apart.extend(one("2026-09"));
    let sorted = |mut rows: Vec<Value>| {
        rows.sort_by_key(|r| ["measure", "month", "split", "group"].map(|key| r[key].as_str().unwrap().to_owned()));
        rows
    };
    assert_eq!(sorted(two), sorted(apart));
    let (all, told) = series("30", &[]);
    let missed: Vec<&Value> = all.iter().filter(|r| r["measure"] == "missed_referral").collect();
    assert_eq!(missed.len(), 24);
    assert!(all.iter().all(|r| r["split"] == "all"));
    assert!(told.contains("the warehouse begins with 2024-10"), "{told}");
}

#[test]
fn csv_has_a_column_for_each_outcome_and_reason() {
    let out = measure("2026-09", "csv");
    let mut reader = csv::Reader::from_reader(&out.stdout[..]);
    let header = reader.headers().unwrap().clone();
    assert!(header.iter().any(|name| name == "outcome_missed"));
    assert!(header.iter().any(|name| name.starts_with("left_out_")));
    assert!(reader.records().all(|record| record.unwrap().len() == header.len()));
}

#[test]
fn a_month_outside_the_data_is_refused() {
    let warehouse = demo().warehouse();
    let out = siskin(&[
        "measure",
        "--warehouse",
        warehouse.to_str().unwrap(),
        "--month",
        "2031-01",
    ]);
    assert_eq!(out.status.code(), Some(3));
    assert!(
        text(&out.stderr).contains("the warehouse holds 2024-10 to 2026-09"),
        "{}",
        text(&out.stderr)
    );
}

#[test]
fn wrong_words_are_a_usage_error() {
    for arguments in [&["measure", "--month", "September"][..], &["publish"], &["measure"]] {
        assert_eq!(siskin(arguments).status.code(), Some(2), "{arguments:?}");
    }
    let through = siskin(&["load", "--through", "2026-10-01", "sample-warehouse/extracts/2026-04"]);
    assert_eq!(through.status.code(), Some(2));
    assert!(text(&through.stderr).contains("write it as 2026-10-01T00:00"));
    let future = siskin(&[
        "load",
        "--through",
        "2999-10-01T00:00",
        "sample-warehouse/extracts/2026-04",
    ]);
    assert_eq!(future.status.code(), Some(2));
    assert!(text(&future.stderr).contains("lies in the future"));
}

#[test]
fn an_empty_or_absent_warehouse_is_refused_with_what_to_do() {
    let empty = tempfile::tempdir().unwrap();
    let folder = empty.path().to_str().unwrap();
    let out = siskin(&["measure", "--warehouse", folder, "--month", "2026-09"]);
    assert_eq!(out.status.code(), Some(3));
    assert!(text(&out.stderr).contains("siskin demo"), "{}", text(&out.stderr));
    let out = siskin(&["load", "--warehouse", folder, "sample-warehouse/extracts/2026-04"]);
    assert_eq!(out.status.code(), Some(3));
    assert!(
        text(&out.stderr).contains("put a protocol.toml there"),
        "{}",
        text(&out.stderr)
    );
    let absent = empty.path().join("nothing");
    let out = siskin(&["measure", "--warehouse", absent.to_str().unwrap(), "--month", "2026-09"]);
    assert_eq!(out.status.code(), Some(3));
}

#[test]
fn a_dry_run_publishes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("protocol.toml"), crate::harness::PROTOCOL).unwrap();
    let warehouse = folder.path().to_str().unwrap();
    let out = siskin(&[
        "load",
        "--warehouse",
        warehouse,
        "--dry-run",
        "sample-warehouse/extracts/2026-04/births.csv",
    ]);
    assert!(out.status.success(), "{}", text(&out.stderr));
    assert!(text(&out.stdout).contains("nothing published"), "{}", text(&out.stdout));
    let left: Vec<_> = fs::read_dir(folder.path().join("snapshots")).unwrap().collect();
    assert!(left.is_empty());
}

/// An export leaves out a table of which there is nothing to tell.
#[test]
fn a_table_that_a_load_does_not_bring_is_told_to_stay_behind() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (births, phototherapy, warehouse) = (path("births.csv"), path("phototherapy.csv"), path("w"));
    let header = "infant_id,mother_id,born_at,gestation,birth_weight_g,sex,plurality,birth_order,unit,feeding,risk_factors,skin_tone,ethnicity\n";
    let born = |id: &str, day: &str| format!("{header}{id},,{day}T08:00,39+0,,,,,u1,,,,\n");
    let lamps = "episode_id,infant_id,started_at,stopped_at,kind,setting,unit\np1,b1,2026-01-05T08:00,2026-01-05T20:00,single,,u1\n";
    fs::create_dir(&warehouse).unwrap();
    let protocol = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-warehouse/protocol.toml");
    fs::copy(protocol, Path::new(&warehouse).join("protocol.toml")).unwrap();
    let load = |through: &[&str], files: &[&str]| {
        let through: Vec<&str> = through.iter().flat_map(|at| ["--through", at]).collect();
        let done = siskin(&[&["load", "--warehouse", &warehouse], &through[..], files].concat());
        assert!(done.status.success(), "{}", text(&done.stderr));
        text(&done.stderr)
    };
    fs::write(&births, born("b1", "2026-01-04")).unwrap();
    fs::write(&phototherapy, lamps).unwrap();
    let told = load(&["2026-02-01T00:00"], &[&births, &phototherapy]);
    assert!(!told.contains("nothing in this load"), "{told}");
    fs::write(&births, born("b2", "2026-02-04")).unwrap();
    let told = load(&["2026-03-01T00:00"], &[&births]);
    assert!(
        told.contains("phototherapy: nothing in this load; it stays complete through 2026-02-01 00:00 only"),
        "{told}"
    );
    let said = "phototherapy=2026-03-01T00:00";
    assert!(told.contains(&format!("--through {said}")), "{told}");
    fs::write(&births, born("b3", "2026-02-05")).unwrap();
    let told = load(&["2026-03-01T00:00", said], &[&births]);
    assert!(!told.contains("nothing in this load"), "{told}");
}

#[test]
fn a_reader_that_goes_away_is_no_failure() {
    let warehouse = demo().warehouse();
    let mut child = Command::new(env!("CARGO_BIN_EXE_siskin"))
        .args([
            "measure",
            "--warehouse",
            warehouse.to_str().unwrap(),
            "--month",
            "2026-09",
            "--format",
            "json",
        ])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let out = child.wait_with_output().unwrap();
    assert!(out.status.success(), "{}", text(&out.stderr));
}

#[test]
fn invented_extracts_are_the_same_bytes_for_the_same_seed() {
    let folder = tempfile::tempdir().unwrap();
    let invent = |name: &str, seed: &str| {
        let out = folder.path().join(name);
        let done = siskin(&[
            "--quiet",
            "invent",
            "--births-per-month",
            "60",
            "--months",
            "3",
            "--ending",
            "2026-10",
            "--seed",
            seed,
            "--out",
            out.to_str().unwrap(),
        ]);
        assert!(done.status.success(), "{}", text(&done.stderr));
        let mut files = Vec::new();
        for month in ["2026-08", "2026-09", "2026-10"] {
            for table in [
                "births",
                "screens",
                "serum",
                "phototherapy",
                "stays",
                "exchanges",
                "meter_checks",
            ] {
                files.push(fs::read(out.join(month).join(format!("{table}.csv"))).unwrap());
            }
        }
        files.push(fs::read(out.join("planted.json")).unwrap());
        files
    };
    let first = invent("first", "5");
    assert!(first == invent("again", "5"));
    assert!(first != invent("other", "6"));
    let taken = folder.path().join("first");
    let refused = siskin(&[
        "invent",
        "--births-per-month",
        "1",
        "--months",
        "1",
        "--seed",
        "1",
        "--out",
        taken.to_str().unwrap(),
    ]);
    assert_eq!(refused.status.code(), Some(3));
}
