//! Rows that wait for others, as they are stored until then.

use std::sync::Arc;

use arrow::array::{ArrayRef, RecordBatch, StringArray, UInt32Array};
use arrow::compute::take;
use arrow::error::ArrowError;

use crate::warehouse::tables::held_schema;

use super::fates::Fate;

/// The rows of a batch that wait, each with its reason and what to do.
///
/// # Errors
/// When a column is missing, which would be a fault of the schema.
pub(super) fn rows(batch: &RecordBatch, table: &str, waiting: &[(u32, Fate)]) -> Result<RecordBatch, ArrowError> {
    let places = UInt32Array::from_iter_values(waiting.iter().map(|(place, _)| *place));
    let of_fates = |text: fn(Fate) -> &'static str| -> ArrayRef {
        Arc::new(StringArray::from_iter_values(
            waiting.iter().map(|(_, fate)| text(*fate)),
        ))
    };
    let column = |name: &str| -> Result<ArrayRef, ArrowError> {
        Ok(match name {
            "table_name" => Arc::new(StringArray::from(vec![table; waiting.len()])),
            "reason" => of_fates(reason),
            "remedy" => of_fates(remedy),
            "infant_id" => take(&batch["of_infant_id"], &places, None)?,
            other => take(&batch[other], &places, None)?,
        })
    };
    let schema = held_schema();
    let columns = schema.fields().iter().map(|field| column(field.name()));
    RecordBatch::try_new(schema.clone(), columns.collect::<Result<_, _>>()?)
}

fn reason(fate: Fate) -> &'static str {
    match fate {
        Fate::UnknownBaby => "unknown_baby",
        Fate::Incomplete => "incomplete",
        Fate::WhichResult => "which_result",
        _ => "before_birth",
    }
}

fn remedy(fate: Fate) -> &'static str {
    match fate {
        Fate::UnknownBaby => "load the birth of this baby; the row is then taken in by itself",
        Fate::Incomplete => "load the record that says when; the row is then taken in by itself",
        Fate::WhichResult => {
            "this specimen has several results, and none was withdrawn: load the row again with its analyte"
        }
        _ => "check the time of the test and of the birth at the source",
    }
}
