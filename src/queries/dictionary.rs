//! What tables and columns mean: `queries/dictionary.toml`, and the headers of the queries.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde::Deserialize;

use super::catalogue;

const TEXT: &str = include_str!("../../queries/dictionary.toml");

/// What is said of tables and columns.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Dictionary {
    columns: BTreeMap<String, String>,
    tables: BTreeMap<String, BTreeMap<String, String>>,
}

static DICTIONARY: LazyLock<Result<Dictionary, toml::de::Error>> = LazyLock::new(|| Dictionary::parse(TEXT));

/// The embedded dictionary.
///
/// # Errors
/// When it cannot be read: a fault of siskin.
pub fn dictionary() -> Result<&'static Dictionary, Error> {
    DICTIONARY.as_ref().map_err(|error| Error(error.to_string()))
}

/// The dictionary cannot be read.
#[derive(Debug, thiserror::Error)]
#[error("queries/dictionary.toml cannot be read: {0}")]
pub struct Error(String);

/// Key of a table's own sentence among its columns.
const ABOUT: &str = "about";

/// How the name of a table of versions begins.
const VERSIONS: &str = "versions_";

impl Dictionary {
    /// Reads a dictionary.
    ///
    /// # Errors
    /// When it is no TOML, or not of this shape.
    pub fn parse(text: &str) -> Result<Self, toml::de::Error> {
        toml::from_str(text)
    }

    /// What a table is, in a sentence; empty when nothing is known of it.
    pub fn about(&self, table: &str) -> String {
        let derived = catalogue::derived().iter().find(|query| query.name == table);
        if let Some(query) = derived {
            return format!("{}: {}", query.header.get("title"), query.header.get("grain"));
        }
        if let Some(of) = table.strip_prefix(VERSIONS) {
            return format!("Every row of {of} ever accepted, also those that no longer stand");
        }
        let own = self.tables.get(table).and_then(|columns| columns.get(ABOUT));
        own.cloned().unwrap_or_default()
    }

    /// What a column is, in a few words; empty when nothing is known of it.
    pub fn meaning(&self, table: &str, column: &str) -> &str {
        let own = |table: &str| self.tables.get(table).and_then(|columns| columns.get(column));
        let found = own(table).or_else(|| own(table.strip_prefix(VERSIONS)?));
        found.or_else(|| self.columns.get(column)).map_or("", String::as_str)
    }

    /// Every table and column something is said of; the table is empty for what is said of all.
    pub fn entries(&self) -> Vec<(&str, &str)> {
        let common = self.columns.keys().map(|column| ("", column.as_str()));
        let own = self.tables.iter().flat_map(|(table, columns)| {
            let named = columns.keys().filter(|column| *column != ABOUT);
            named.map(move |column| (table.as_str(), column.as_str()))
        });
        common.chain(own).collect()
    }
}
