//! Columns of stored rows, by name.

use arrow::array::{AsArray, Int64Array, RecordBatch, StringArray};
use arrow::datatypes::Int64Type;

/// A column of whole numbers of the schema that all stored rows share.
pub(super) fn ints<'b>(batch: &'b RecordBatch, name: &str) -> &'b Int64Array {
    batch[name].as_primitive::<Int64Type>()
}

/// A column of text, likewise.
pub(super) fn texts<'b>(batch: &'b RecordBatch, name: &str) -> &'b StringArray {
    batch[name].as_string::<i32>()
}
