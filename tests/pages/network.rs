//! A small invented network of three months, 300 births each, loaded month by month.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use crate::commands::{copy_folder, siskin, text};
use crate::harness::PROTOCOL;

/// Its months, in order; each is a load.
pub const MONTHS: [&str; 3] = ["2026-07", "2026-08", "2026-09"];

/// Invents its extracts into a folder.
pub fn invented_into(folder: &Path) {
    run(&[
        "--quiet",
        "invent",
        "--births-per-month",
        "300",
        "--months",
        "3",
        "--ending",
        "2026-09",
        "--seed",
        "11",
        "--out",
        folder.to_str().unwrap(),
    ]);
}

/// The warehouse, made once; to be read only.
pub fn network() -> &'static Path {
    static FOLDER: OnceLock<tempfile::TempDir> = OnceLock::new();
    let folder = FOLDER.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let extracts = folder.path().join("extracts");
        invented_into(&extracts);
        let warehouse = folder.path().join("warehouse");
        fs::create_dir(&warehouse).unwrap();
        fs::write(warehouse.join("protocol.toml"), PROTOCOL).unwrap();
        for (month, end) in MONTHS.iter().zip(["2026-08-01", "2026-09-01", "2026-10-01"]) {
            let through = format!("{end}T00:00");
            let from = extracts.join(month);
            run(&[
                "--quiet",
                "load",
                "--warehouse",
                warehouse.to_str().unwrap(),
                "--through",
                &through,
                from.to_str().unwrap(),
            ]);
        }
        folder
    });
    static WAREHOUSE: OnceLock<PathBuf> = OnceLock::new();
    WAREHOUSE.get_or_init(|| folder.path().join("warehouse"))
}

/// A copy of it whose protocol ends with some more lines.
pub fn with_protocol(more: &str) -> tempfile::TempDir {
    let copy = tempfile::tempdir().unwrap();
    copy_folder(network(), copy.path());
    // Tables without a version stand above the first version.
    let at = PROTOCOL.find("[plausible]").unwrap();
    let protocol = format!("{}{more}\n\n{}", &PROTOCOL[..at], &PROTOCOL[at..]);
    fs::write(copy.path().join("protocol.toml"), protocol).unwrap();
    copy
}

/// Runs the binary, which must succeed.
pub fn run(arguments: &[&str]) -> String {
    let done = siskin(arguments);
    assert!(done.status.success(), "{arguments:?}: {}", text(&done.stderr));
    text(&done.stdout)
}
