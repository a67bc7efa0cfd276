//! Coverage-guided fuzzing of the FHIR path with libFuzzer: see `run` beside this file.
#![no_main]
#![allow(missing_docs, unreachable_pub)]

mod fhir_path;

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use siskin::extracts::fhir::FhirSettings;

static SETTINGS: LazyLock<FhirSettings> = LazyLock::new(FhirSettings::default);

fuzz_target!(|bytes: &[u8]| {
    fhir_path::run(bytes, &SETTINGS);
});
