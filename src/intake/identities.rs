//! Which id of a baby stands, when ids were merged: each merge followed to its end.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;

use arrow::array::{RecordBatch, StringArray};
use arrow::datatypes::{DataType, Field, Schema, SchemaRef};
use arrow::error::ArrowError;

use crate::warehouse::{TableEntry, read_stored};

use super::IntakeError;
use super::columns::texts;

/// The live merges of a stored table: which id was merged into which.
///
/// # Errors
/// When a file cannot be read.
pub(super) fn merges(root: &Path, entry: &TableEntry) -> Result<BTreeMap<String, String>, IntakeError> {
    let mut merges = BTreeMap::new();
    for file in &entry.files {
        let columns = ["from_infant_id", "into_infant_id"];
        for batch in read_stored(&root.join(&file.path), "merges", Some(&columns))? {
            let batch = batch?;
            let pairs = texts(&batch, columns[0]).iter().zip(texts(&batch, columns[1]));
            merges.extend(pairs.filter_map(|(from, into)| Some((from?.to_owned(), into?.to_owned()))));
        }
    }
    Ok(merges)
}

/// For each id that was merged, the id that stands in the end.
///
/// # Errors
/// When merges run in a circle: then no id stands.
pub(super) fn resolved(merges: &BTreeMap<String, String>) -> Result<BTreeMap<String, String>, IntakeError> {
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
        stands.insert(from.clone(), id.to_owned());
    }
    Ok(stands)
}

/// The same as rows.
///
/// # Errors
/// Only when Arrow refuses them.
pub(super) fn batch(stands: &BTreeMap<String, String>) -> Result<RecordBatch, IntakeError> {
    let column = |name: &str| Field::new(name, DataType::Utf8, true);
    let schema = Arc::new(Schema::new(vec![column("from_infant_id"), column("infant_id")]));
    let from = StringArray::from_iter_values(stands.keys());
    let into = StringArray::from_iter_values(stands.values());
    RecordBatch::try_new(schema, vec![Arc::new(from), Arc::new(into)]).map_err(of_merges)
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
        let (was, is) = (old.get(from), new.get(from));
        if was != is {
            ids.insert(from);
            ids.extend([was, is].into_iter().flatten().map(String::as_str));
        }
    }
    Ok(ids.into_iter().map(str::to_owned).collect())
}

/// Ids as rows of one column.
///
/// # Errors
/// Only when Arrow refuses them.
pub(super) fn ids(column: &str, of: &[String]) -> Result<RecordBatch, IntakeError> {
    let schema = Schema::new(vec![Field::new(column, DataType::Utf8, true)]);
    let ids = StringArray::from_iter_values(of);
    RecordBatch::try_new(Arc::new(schema), vec![Arc::new(ids)]).map_err(of_merges)
}

/// What other rows need to know of the birth register.
pub(super) fn births_schema() -> SchemaRef {
    Arc::new(Schema::new(vec![
        Field::new("infant_id", DataType::Utf8, true),
        Field::new("born_s", DataType::Int64, true),
        Field::new("born_day_s", DataType::Int64, true),
    ]))
}

fn of_merges(source: ArrowError) -> IntakeError {
    IntakeError::Rows {
        table: "merges",
        source,
    }
}
