//! Which id of a baby stands, when ids were merged: each merge followed to its end.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use arrow::array::{RecordBatch, StringArray};
use arrow::datatypes::{DataType, Field, Schema, SchemaRef};

use super::IntakeError;

/// Columns of the table the other tables are settled by.
fn schema() -> SchemaRef {
    let column = |name: &str| Field::new(name, DataType::Utf8, true);
    Arc::new(Schema::new(vec![column("from_infant_id"), column("infant_id")]))
}

/// For each id that was merged, the id that stands in the end.
///
/// # Errors
/// When merges run in a circle: then no id stands.
pub(super) fn resolved(merges: &BTreeMap<String, String>) -> Result<BTreeMap<&str, &str>, IntakeError> {
    let mut stands = BTreeMap::new();
    for from in merges.keys() {
        let mut seen = BTreeSet::from([from.as_str()]);
        let mut id = from.as_str();
        while let Some(into) = merges.get(id) {
            if !seen.insert(into) {
                return Err(IntakeError::CircularMerge {
                    ids: seen.into_iter().collect::<Vec<_>>().join(", "),
                });
            }
            id = into;
        }
        stands.insert(from.as_str(), id);
    }
    Ok(stands)
}

/// The same as rows.
///
/// # Errors
/// As [`resolved`].
pub(super) fn rows(merges: &BTreeMap<String, String>) -> Result<RecordBatch, IntakeError> {
    let stands = resolved(merges)?;
    let from = StringArray::from_iter_values(stands.keys());
    let into = StringArray::from_iter_values(stands.values());
    RecordBatch::try_new(schema(), vec![Arc::new(from), Arc::new(into)]).map_err(|source| IntakeError::Rows {
        table: "merges",
        source,
    })
}

/// No baby was merged.
pub(super) fn none() -> Result<RecordBatch, IntakeError> {
    rows(&BTreeMap::new())
}

/// The ids that stand for another baby than they did, with that baby before and after.
///
/// # Errors
/// As [`resolved`].
pub(super) fn changed(
    old: &BTreeMap<String, String>,
    new: &BTreeMap<String, String>,
) -> Result<Vec<String>, IntakeError> {
    let (old, new) = (resolved(old)?, resolved(new)?);
    let mut ids: BTreeSet<&str> = BTreeSet::new();
    for from in old.keys().chain(new.keys()) {
        let (was, is) = (old.get(from).copied(), new.get(from).copied());
        if was != is {
            ids.extend([Some(*from), was, is].into_iter().flatten());
        }
    }
    Ok(ids.into_iter().map(str::to_owned).collect())
}

/// Ids as rows.
///
/// # Errors
/// Only when Arrow refuses them.
pub(super) fn ids(of: &[String]) -> Result<RecordBatch, IntakeError> {
    let schema = Schema::new(vec![Field::new("infant_id", DataType::Utf8, true)]);
    let column = StringArray::from_iter_values(of);
    RecordBatch::try_new(Arc::new(schema), vec![Arc::new(column)]).map_err(|source| IntakeError::Rows {
        table: "merges",
        source,
    })
}
