//! Coverage-guided fuzzing of the CSV path with libFuzzer: see `run` beside this file.
#![no_main]
#![allow(missing_docs, unreachable_pub)]

mod csv_path;

use std::path::PathBuf;
use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use siskin::protocol::Protocol;

static PROTOCOL: LazyLock<Protocol> =
    LazyLock::new(|| Protocol::parse(include_str!("../../sample-warehouse/protocol.toml")).unwrap());

static SCRATCH: LazyLock<PathBuf> =
    LazyLock::new(|| std::env::temp_dir().join(format!("siskin-fuzz-{}.csv", std::process::id())));

fuzz_target!(|bytes: &[u8]| {
    csv_path::run(bytes, &PROTOCOL, &SCRATCH);
});
