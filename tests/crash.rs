//! A load that is killed, that meets another, that is read meanwhile, or that
//! finds no room: there is the old state or the new one, never one between.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use siskin::warehouse::Warehouse;

use crate::commands::{copy_folder, siskin, text};

/// A warehouse with the first of two invented months loaded.
struct Half {
    folder: tempfile::TempDir,
}

const MONTHS: [&str; 2] = ["2026-08", "2026-09"];

impl Half {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let half = Self { folder };
        let out = half.path("extracts");
        let invented = siskin(&[
            "--quiet",
            "invent",
            "--births-per-month",
            "60",
            "--months",
            "2",
            "--seed",
            "9",
            "--out",
            &out,
        ]);
        assert!(invented.status.success(), "{}", text(&invented.stderr));
        fs::create_dir(half.folder.path().join("base")).unwrap();
        let protocol = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-warehouse/protocol.toml");
        fs::copy(protocol, half.folder.path().join("base/protocol.toml")).unwrap();
        let loaded = half.load("base", 0).wait_with_output().unwrap();
        assert!(loaded.status.success(), "{}", text(&loaded.stderr));
        half
    }

    fn path(&self, name: &str) -> String {
        self.folder.path().join(name).to_str().unwrap().to_owned()
    }

    /// A copy of the warehouse to try things on.
    fn copy(&self, name: &str) -> PathBuf {
        let to = self.folder.path().join(name);
        copy_folder(&self.folder.path().join("base"), &to);
        to
    }

    /// Begins to load a month.
    fn load(&self, name: &str, month: usize) -> Child {
        let extracts = self.folder.path().join("extracts").join(MONTHS[month]);
        Command::new(env!("CARGO_BIN_EXE_siskin"))
            .args(["load", "--warehouse", &self.path(name), "--through", "2026-10-01T00:00"])
            .arg(extracts)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap()
    }

    fn measured(&self, name: &str) -> String {
        let out = siskin(&[
            "measure",
            "--warehouse",
            &self.path(name),
            "--month",
            "2026-08",
            "--by",
            "unit",
            "--format",
            "json",
        ]);
        assert!(out.status.success(), "{}", text(&out.stderr));
        text(&out.stdout)
    }
}

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<String> = entries
        .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

/// Nothing but whole snapshots, the link, the lock and the protocol.
fn assert_tidy(warehouse: &Path, loads: i64) {
    assert_eq!(names(warehouse), ["current", "lock", "protocol.toml", "snapshots"]);
    let expected: Vec<String> = (1..=loads).map(|n| format!("{n:06}")).collect();
    assert_eq!(names(&warehouse.join("snapshots")), expected);
}

fn assert_in_order(warehouse: &Path) {
    let out = siskin(&["check", "--warehouse", warehouse.to_str().unwrap()]);
    assert!(out.status.success(), "{}{}", text(&out.stdout), text(&out.stderr));
    assert!(text(&out.stdout).contains("everything is in order"));
}

fn kill_at_random_moments(kills: u32, seed: u64) {
    let half = Half::new();
    let old = half.measured("base");
    half.copy("whole");
    let begun = Instant::now();
    let whole = half.load("whole", 1).wait_with_output().unwrap();
    assert!(whole.status.success(), "{}", text(&whole.stderr));
    let longest = begun.elapsed();
    let new = half.measured("whole");
    assert!(old != new);
    let mut chance = ChaCha8Rng::seed_from_u64(seed);
    let (mut killed, mut published) = (0, 0);
    for kill in 0..kills {
        let name = format!("killed-{kill}");
        let warehouse = half.copy(&name);
        let mut load = half.load(&name, 1);
        // Every other time late, where the snapshot is published.
        let share = f64::from(chance.next_u32()) / f64::from(u32::MAX);
        let share = if kill % 2 == 0 { share } else { 0.85 + 0.3 * share };
        std::thread::sleep(longest.mul_f64(share));
        load.kill().unwrap();
        let ended = load.wait().unwrap();
        killed += u32::from(!ended.success());
        // The next command, whichever it is, sees one of the two and removes what is left.
        let found = if kill % 2 == 0 {
            let found = half.measured(&name);
            assert_in_order(&warehouse);
            found
        } else {
            assert_in_order(&warehouse);
            half.measured(&name)
        };
        let load = Warehouse::at(&warehouse).unwrap().newest().unwrap().manifest().load;
        assert_eq!(found, if load == 2 { new.clone() } else { old.clone() }, "load {load}");
        assert_tidy(&warehouse, load);
        published += u32::from(load == 2);
        // What was interrupted can be done again.
        if kill % 5 == 0 {
            let again = half.load(&name, 1).wait_with_output().unwrap();
            assert!(again.status.success(), "{}", text(&again.stderr));
            assert_eq!(half.measured(&name), new);
            assert_tidy(&warehouse, 2);
        }
        fs::remove_dir_all(warehouse).unwrap();
    }
    println!("{kills} loads, {killed} killed while running, {published} had published");
    assert!(killed >= kills / 3, "only {killed} of {kills} were still running");
}

#[test]
fn a_killed_load_leaves_the_old_state_or_the_new() {
    kill_at_random_moments(6, 1);
}

/// `cargo test -- --ignored thirty`
#[test]
#[ignore = "takes long; see tests/README.md"]
fn a_load_killed_at_thirty_moments_leaves_the_old_state_or_the_new() {
    kill_at_random_moments(30, 2);
}

#[test]
fn of_two_loads_at_once_the_second_is_told_who_holds_the_lock() {
    let half = Half::new();
    let warehouse = half.copy("two");
    let first = half.load("two", 1);
    let building = warehouse.join("snapshots/.building");
    let begun = Instant::now();
    while !building.exists() && begun.elapsed() < Duration::from_secs(60) {
        std::thread::sleep(Duration::from_millis(2));
    }
    let holder = first.id();
    let second = half.load("two", 1).wait_with_output().unwrap();
    let first = first.wait_with_output().unwrap();
    assert!(first.status.success(), "{}", text(&first.stderr));
    assert_eq!(second.status.code(), Some(3), "{}", text(&second.stderr));
    let told = text(&second.stderr);
    assert!(
        told.contains(&format!("process {holder}")) && told.contains("to do:"),
        "{told}"
    );
    assert_tidy(&warehouse, 2);
    assert_in_order(&warehouse);
}

#[test]
fn who_reads_during_a_load_sees_the_old_state_or_the_new() {
    let half = Half::new();
    let old = half.measured("base");
    half.copy("read");
    let mut load = half.load("read", 1);
    let mut seen = Vec::new();
    while load.try_wait().unwrap().is_none() {
        seen.push(half.measured("read"));
    }
    let new = half.measured("read");
    assert!(load.wait().unwrap().success());
    assert!(!seen.is_empty() && seen.iter().all(|found| *found == old || *found == new));
    assert_tidy(&half.folder.path().join("read"), 2);
}

/// Files may not grow beyond a limit: what a disk without room does to a writer.
#[test]
fn a_load_without_room_is_refused_and_changes_nothing() {
    let half = Half::new();
    let old = half.measured("base");
    let warehouse = half.copy("full");
    let out = limited(&half, "full", "16");
    assert_eq!(out.status.code(), Some(3), "{}", text(&out.stderr));
    assert!(
        text(&out.stderr).contains("there is no room left"),
        "{}",
        text(&out.stderr)
    );
    assert_eq!(half.measured("full"), old);
    assert_tidy(&warehouse, 1);
    // With room for it the same command does it.
    assert!(limited(&half, "full", "1000000").status.success());
    assert_tidy(&warehouse, 2);
}

/// Loads the second month with files of at most so many blocks of 512 bytes.
fn limited(half: &Half, name: &str, blocks: &str) -> Output {
    let script = format!(
        "trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" load --warehouse \"$1\" --through 2026-10-01T00:00 \"$2\""
    );
    let extracts = half.folder.path().join("extracts").join(MONTHS[1]);
    Command::new("sh")
        .args(["-c", &script, env!("CARGO_BIN_EXE_siskin"), &half.path(name)])
        .arg(extracts)
        .output()
        .unwrap()
}

#[test]
fn a_damaged_file_is_found_and_named() {
    let half = Half::new();
    let warehouse = half.copy("damaged");
    assert_in_order(&warehouse);
    let file = warehouse.join("current/screens/month=2026-08/rows.parquet");
    let mut bytes = fs::read(&file).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    fs::write(&file, bytes).unwrap();
    fs::write(warehouse.join("current/screens/extra.parquet"), "").unwrap();
    let out = siskin(&["check", "--warehouse", warehouse.to_str().unwrap()]);
    assert_eq!(out.status.code(), Some(1));
    let told = text(&out.stdout);
    assert!(
        told.contains("screens/month=2026-08/rows.parquet: not the bytes that were written"),
        "{told}"
    );
    fs::remove_file(&file).unwrap();
    let gone = siskin(&["check", "--warehouse", warehouse.to_str().unwrap()]);
    assert_eq!(gone.status.code(), Some(1));
    assert!(
        text(&gone.stdout).contains("rows.parquet: missing"),
        "{}",
        text(&gone.stdout)
    );
    assert!(told.contains("extra.parquet: was not written by siskin"), "{told}");
}

#[test]
fn a_ledger_that_does_not_balance_is_found() {
    use arrow::array::{Int64Array, RecordBatch};
    use parquet::arrow::ArrowWriter;
    use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
    let half = Half::new();
    let warehouse = half.copy("unbalanced");
    let path = warehouse.join("current/ledger/load=1/rows.parquet");
    let file = fs::File::open(&path).unwrap();
    let batch = ParquetRecordBatchReaderBuilder::try_new(file).unwrap().build().unwrap();
    let batch = batch.into_iter().next().unwrap().unwrap();
    let place = batch.schema().index_of("kept").unwrap();
    let mut columns = batch.columns().to_vec();
    columns[place] = std::sync::Arc::new(Int64Array::from(vec![1; batch.num_rows()]));
    let batch = RecordBatch::try_new(batch.schema(), columns).unwrap();
    let mut writer = ArrowWriter::try_new(fs::File::create(&path).unwrap(), batch.schema(), None).unwrap();
    writer.write(&batch).unwrap();
    writer.close().unwrap();
    let manifest = warehouse.join("current/manifest.json");
    let told = fs::read_to_string(&manifest).unwrap();
    let mut told: serde_json::Value = serde_json::from_str(&told).unwrap();
    told["tables"]["ledger"]["files"][0]["bytes"] = fs::metadata(&path).unwrap().len().into();
    fs::write(&manifest, told.to_string()).unwrap();
    let out = siskin(&["check", "--warehouse", warehouse.to_str().unwrap()]);
    assert_eq!(out.status.code(), Some(1));
    assert!(
        text(&out.stdout).contains("FAULT      Rows in are the sum of their fates"),
        "{}",
        text(&out.stdout)
    );
}

#[test]
fn tidy_removes_old_loads_and_keeps_those_that_are_read() {
    let half = Half::new();
    let warehouse = half.copy("tidied");
    let path = warehouse.to_str().unwrap();
    assert!(half.load("tidied", 1).wait_with_output().unwrap().status.success());
    let newest = half.measured("tidied");
    let tidy = |keep: &str| {
        let out = siskin(&["tidy", "--warehouse", path, "--keep", keep]);
        assert!(out.status.success(), "{}", text(&out.stderr));
        text(&out.stdout)
    };
    assert!(tidy("2").contains("nothing to remove"));
    {
        let _reading = Warehouse::at(&warehouse).unwrap().as_of(1).unwrap();
        assert!(tidy("1").contains("load 1 is being read: kept"));
        assert_tidy(&warehouse, 2);
    }
    assert!(tidy("1").contains("removed load 1"));
    assert_eq!(names(&warehouse.join("snapshots")), ["000002"]);
    assert_eq!(half.measured("tidied"), newest);
    assert_in_order(&warehouse);
    let gone = siskin(&["measure", "--warehouse", path, "--month", "2026-08", "--as-of", "1"]);
    assert_eq!(gone.status.code(), Some(3));
    assert!(
        text(&gone.stderr).contains("it holds loads 2"),
        "{}",
        text(&gone.stderr)
    );
    // An interrupted tidy is finished by the next command.
    fs::create_dir(warehouse.join("snapshots/.removing-000001")).unwrap();
    assert_eq!(half.measured("tidied"), newest);
    assert_eq!(names(&warehouse.join("snapshots")), ["000002"]);
}
