//! Coverage-guided fuzzing of the HL7 v2 reader with libFuzzer: see `run` beside this file.
#![no_main]
#![allow(missing_docs, unreachable_pub)]

mod hl7v2_path;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    hl7v2_path::run(bytes);
});
