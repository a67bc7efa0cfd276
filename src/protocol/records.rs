//! Limits of the checks of the records: those that ship, and those of `[records]`.

use std::collections::BTreeMap;
use std::sync::Arc;

use arrow::array::{ArrayRef, Int64Array, RecordBatch};
use arrow::error::ArrowError;

/// Each limit by name: the shipped ones, with the site's in their place.
pub(super) fn limits(site: &BTreeMap<String, i64>) -> BTreeMap<String, i64> {
    let mut all = shipped();
    for (name, limit) in site {
        all.insert(name.clone(), *limit);
    }
    all
}

/// Why the site's limits are refused.
pub(super) fn check(site: &BTreeMap<String, i64>) -> Result<(), String> {
    let known = shipped();
    if let Some(name) = site.keys().find(|name| !known.contains_key(*name)) {
        let names: Vec<String> = known.into_keys().collect();
        return Err(format!("records.{name} is no limit; use one of: {}", names.join(", ")));
    }
    match site.iter().find(|(_, limit)| **limit < 0) {
        Some((name, limit)) => Err(format!("records.{name} is {limit}: a limit cannot be negative")),
        None => Ok(()),
    }
}

/// The limits as one row.
///
/// # Errors
/// Never: the columns are of one length.
pub(super) fn row(site: &BTreeMap<String, i64>) -> Result<RecordBatch, ArrowError> {
    let column = |(name, limit): (String, i64)| (name, Arc::new(Int64Array::from(vec![limit])) as ArrayRef);
    RecordBatch::try_from_iter(limits(site).into_iter().map(column))
}

/// The limits that ship; the tests hold that the file can be read.
fn shipped() -> BTreeMap<String, i64> {
    toml::from_str(include_str!("records.toml")).unwrap_or_default()
}
