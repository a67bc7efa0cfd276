//! Limits of the checks of the records: those that ship, and those of `[records]`.

use std::collections::BTreeMap;
use std::sync::Arc;

use arrow::array::{ArrayRef, Int64Array, RecordBatch};
use arrow::error::ArrowError;

use super::check::Refusal;

/// Each limit by name: the shipped ones, with the site's in their place.
pub(super) fn limits(site: &BTreeMap<String, i64>) -> BTreeMap<String, i64> {
    let mut all = shipped();
    for (name, limit) in site {
        all.insert(name.clone(), *limit);
    }
    all
}

/// Limits that are a share of rows, in percent.
const SHARES: [&str; 2] = ["month_percent", "stop_percent"];

/// Why the site's limits are refused.
pub(super) fn check(site: &BTreeMap<String, i64>) -> Result<(), Refusal> {
    let known = shipped();
    for (name, limit) in site {
        let at = |why: String| Refusal::from(why).at(name, limit);
        let Some(usual) = known.get(name) else {
            let names: Vec<&str> = known.keys().map(String::as_str).collect();
            let to_do = format!("use one of: {}", names.join(", "));
            return Err(at(format!("records.{name} is no limit")).remedy(to_do));
        };
        let to_do = format!("give another number, or leave {name} out: {usual} then holds");
        if *limit < 0 {
            return Err(at(format!("records.{name} is {limit}: a limit cannot be negative")).remedy(to_do));
        }
        if SHARES.contains(&name.as_str()) && *limit > 100 {
            return Err(at(format!(
                "records.{name} is {limit}: a share of the rows is no more than 100 percent"
            ))
            .remedy(to_do));
        }
    }
    Ok(())
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
