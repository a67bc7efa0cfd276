//! Stored rows read again, batch by batch, without the engine.

use std::fs::File;
use std::path::Path;

use arrow::array::RecordBatch;
use parquet::arrow::ProjectionMask;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;

use super::{WarehouseError, io};

/// Rows read at a time.
const BATCH_ROWS: usize = 8192;

/// The rows of a file, or some of its columns in the file's order.
///
/// # Errors
/// When the file cannot be read, or has no such column.
pub fn read_stored<'a>(
    path: &Path,
    table: &'a str,
    columns: Option<&[&str]>,
) -> Result<impl Iterator<Item = Result<RecordBatch, WarehouseError>> + use<'a>, WarehouseError> {
    let unreadable = move |source| WarehouseError::Parquet {
        table: table.to_owned(),
        source,
    };
    let file = File::open(path).map_err(io("cannot read", path))?;
    let mut builder = ParquetRecordBatchReaderBuilder::try_new(file).map_err(unreadable)?;
    if let Some(columns) = columns {
        let mask = ProjectionMask::columns(builder.parquet_schema(), columns.iter().copied());
        builder = builder.with_projection(mask);
    }
    let reader = builder.with_batch_size(BATCH_ROWS).build().map_err(unreadable)?;
    Ok(reader.map(move |batch| {
        batch.map_err(|source| WarehouseError::Arrow {
            table: table.to_owned(),
            source,
        })
    }))
}
