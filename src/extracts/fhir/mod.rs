//! FHIR R4 Bulk Data: NDJSON, a resource a line (hl7.org/fhir/R4, hl7.org/fhir/uv/bulkdata).
//!
//! Resources refer to each other, and in any order, so the files are read twice:
//!
//! ```text
//! files ──index──▶ References ┐      who is a newborn, which stay, which specimen, which meter
//! files ──────────────────────┴──▶ Record with rows of the tables
//! ```
//!
//! What the first pass learned is remembered for later loads, as a later file may refer to
//! an earlier one. A row that refers to something that has not come carries a fault and is
//! held. What no table wants is listed with its code.

mod births;
mod deletions;
mod facts;
mod files;
mod index;
mod lines;
mod observations;
mod parts;
mod pointing;
mod procedures;
mod reader;
mod references;
mod resources;
mod rows;
mod screens;
mod serum;
mod settings;
mod stays;

pub(crate) use files::TYPES;
pub use files::{FhirError, files_in, open};
pub use reader::{FhirReader, record_of};
pub use references::References;
pub use settings::FhirSettings;
