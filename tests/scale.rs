//! Loads of millions of rows at once: how long they take, and that memory stays bounded.

use std::fs::{self, File};
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use crate::commands::{siskin, text};

/// Most memory a load of any size may take, bytes.
const MOST_MEMORY: u64 = 1 << 30;

fn files_below(folder: &Path, ending: &str) -> Vec<PathBuf> {
    let mut all = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            all.extend(files_below(&path, ending));
        } else if path.to_str().unwrap().ends_with(ending) {
            all.push(path);
        }
    }
    all.sort();
    all
}

/// The most memory a running program has taken so far, bytes.
fn peak(pid: u32) -> Option<u64> {
    let status = fs::read_to_string(format!("/proc/{pid}/status")).ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    let kib: u64 = line.trim().strip_suffix("kB")?.trim().parse().ok()?;
    Some(kib * 1024)
}

/// Invents two years in a format and loads them at once.
fn load_at_once(format: &str, (ending, end_of_record): (&str, u8), births_per_month: &str) {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let out = path("extracts");
    let size = ["--births-per-month", births_per_month, "--months", "24", "--seed", "5"];
    let what = ["--quiet", "invent", "--as", format, "--out", &out];
    let invented = siskin(&[&what[..], &size[..]].concat());
    assert!(invented.status.success(), "{}", text(&invented.stderr));
    let files = files_below(Path::new(&out), ending);
    let lines = |path: &PathBuf| BufReader::new(File::open(path).unwrap()).split(end_of_record).count();
    let records: usize = files.iter().map(lines).sum();
    assert!(records >= 2_000_000, "only {records} records were invented");

    let warehouse = path("warehouse");
    fs::create_dir(&warehouse).unwrap();
    let protocol = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-warehouse/protocol.toml");
    fs::copy(protocol, Path::new(&warehouse).join("protocol.toml")).unwrap();
    let begun = Instant::now();
    let mut load = Command::new(env!("CARGO_BIN_EXE_siskin"))
        .args([
            "--quiet",
            "load",
            "--warehouse",
            &warehouse,
            "--through",
            "2026-10-01T00:00",
        ])
        .args(&files)
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    let mut most = 0;
    let ended = loop {
        most = most.max(peak(load.id()).unwrap_or(0));
        match load.try_wait().unwrap() {
            Some(ended) => break ended,
            None => sleep(Duration::from_millis(50)),
        }
    };
    let seconds = begun.elapsed().as_secs();
    eprintln!(
        "{format}: {records} records in one load: {seconds} s, {} a second, at most {} MB of memory",
        records as u64 / seconds.max(1),
        most / 1_000_000
    );
    assert!(ended.success(), "{ended}");
    assert!(most > 0 && most < MOST_MEMORY, "{most} bytes of memory");
}

#[test]
#[ignore = "takes long; see tests/README.md"]
fn two_million_rows_of_csv_load_within_a_gibibyte() {
    load_at_once("csv", (".csv", b'\n'), "13000");
}

#[test]
#[ignore = "takes long; see tests/README.md"]
fn two_million_lines_of_fhir_load_within_a_gibibyte() {
    load_at_once("fhir", (".ndjson", b'\n'), "5300");
}

#[test]
#[ignore = "takes long; see tests/README.md"]
fn two_million_segments_of_hl7v2_load_within_a_gibibyte() {
    load_at_once("hl7v2", (".hl7", b'\r'), "2000");
}
