//! The shape of `sources.toml`.

use std::collections::BTreeMap;

use serde::Deserialize;

use super::column::{Column, OneOrMore};

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SourcesFile {
    #[serde(default)]
    pub(super) source: Vec<Source>,
    #[serde(default)]
    pub(super) systems: BTreeMap<String, Vec<String>>,
    #[serde(default)]
    pub(super) codes: BTreeMap<String, Vec<String>>,
    #[serde(default)]
    pub(super) words: BTreeMap<String, BTreeMap<String, String>>,
    #[serde(default)]
    pub(super) fhir: Fhir,
    #[serde(default)]
    pub(super) hl7v2: Hl7v2,
}

/// Settings of FHIR files.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Eq)]
#[serde(deny_unknown_fields)]
pub struct Fhir {
    /// Type of the identifier that is the infant id (HL7 table 0203).
    pub identifier_type: Option<String>,
    /// System of that identifier.
    pub identifier_system: Option<String>,
}

/// Settings of HL7 v2 messages.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Eq)]
#[serde(deny_unknown_fields)]
pub struct Hl7v2 {
    /// Type of the identifier in PID-3 that is the infant id (HL7 table 0203).
    pub identifier_type: Option<String>,
    /// Assigning authority of that identifier.
    pub identifier_authority: Option<String>,
    /// Character set, whatever MSH-18 says.
    pub charset: Option<String>,
}

/// How files are written.
#[derive(Clone, Copy, Debug, Default, Deserialize, PartialEq, Eq, clap::ValueEnum)]
#[serde(rename_all = "lowercase")]
pub enum Format {
    /// Text in columns.
    #[default]
    Csv,
    /// FHIR R4 bulk export, NDJSON.
    Fhir,
    /// HL7 v2 messages.
    Hl7v2,
}

/// One `[[source]]`.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::extracts) struct Source {
    pub(in crate::extracts) name: String,
    pub(in crate::extracts) files: Vec<String>,
    #[serde(default)]
    pub(in crate::extracts) format: Format,
    pub(in crate::extracts) delimiter: Option<char>,
    pub(in crate::extracts) encoding: Option<String>,
    pub(in crate::extracts) decimal: Option<char>,
    pub(in crate::extracts) thousands: Option<char>,
    #[serde(default)]
    pub(in crate::extracts) skip_lines: u64,
    #[serde(default)]
    pub(in crate::extracts) total_lines: Vec<String>,
    #[serde(default)]
    pub(in crate::extracts) dates: Vec<String>,
    pub(in crate::extracts) zone: Option<String>,
    #[serde(default)]
    pub(in crate::extracts) ids: BTreeMap<String, IdRule>,
    #[serde(default)]
    pub(in crate::extracts) target: Vec<Target>,
    #[serde(default)]
    pub(in crate::extracts) ignore: Conditions,
}

/// For a header name, the cells that are meant.
pub(in crate::extracts) type Conditions = BTreeMap<String, OneOrMore>;

/// How an id is written in one column, and how it is to be.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::extracts) struct IdRule {
    /// What may stand before the id and is taken off.
    #[serde(default)]
    pub(in crate::extracts) strip: Vec<String>,
    /// Zeros are put before it up to this length.
    pub(in crate::extracts) pad: Option<usize>,
    /// Its letters are made capital.
    #[serde(default)]
    pub(in crate::extracts) upper: bool,
    /// The last character proves the others.
    pub(in crate::extracts) check: Option<CheckDigit>,
    /// What is put before it.
    #[serde(default)]
    pub(in crate::extracts) prefix: String,
}

/// How the last character of an id is computed.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq)]
#[serde(rename_all = "lowercase")]
pub(in crate::extracts) enum CheckDigit {
    /// ISO 7064, MOD 11-2: a digit or `X`.
    Mod11,
    /// ISO/IEC 7812-1, annex B.
    Luhn,
}

/// One table that the rows of a source feed.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(in crate::extracts) struct Target {
    pub(in crate::extracts) table: String,
    #[serde(default, rename = "where")]
    pub(in crate::extracts) when: Conditions,
    #[serde(default, rename = "where_not")]
    pub(in crate::extracts) unless: Conditions,
    #[serde(default)]
    pub(in crate::extracts) part: bool,
    pub(in crate::extracts) columns: BTreeMap<String, Column>,
    /// For a column, words of the source and the word of the contract.
    #[serde(default)]
    pub(in crate::extracts) words: BTreeMap<String, BTreeMap<String, String>>,
}
