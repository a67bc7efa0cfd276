//! Stored rows read again, batch by batch, without the engine.

use std::fs::{self, File};
use std::path::Path;

use arrow::array::RecordBatch;
use bytes::Bytes;
use parquet::arrow::ProjectionMask;
use parquet::arrow::arrow_reader::{ParquetRecordBatchReader, ParquetRecordBatchReaderBuilder};
use parquet::errors::ParquetError;
use parquet::file::reader::ChunkReader;

use super::error::{WarehouseError, io};

/// Rows read at a time.
const BATCH_ROWS: usize = 8192;

/// Files of at most this size are read at once, bytes: page by page takes four calls of the system each.
const MOST_BYTES_AT_ONCE: u64 = 4 << 20;

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
    let bytes = file.metadata().map_err(io("cannot read", path))?.len();
    let reader = match bytes > MOST_BYTES_AT_ONCE {
        true => reader(file, columns),
        false => reader(Bytes::from(fs::read(path).map_err(io("cannot read", path))?), columns),
    };
    let reader = reader.map_err(unreadable)?;
    Ok(reader.map(move |batch| {
        batch.map_err(|source| WarehouseError::Arrow {
            table: table.to_owned(),
            source,
        })
    }))
}

fn reader(
    file: impl ChunkReader + 'static,
    columns: Option<&[&str]>,
) -> Result<ParquetRecordBatchReader, ParquetError> {
    let mut builder = ParquetRecordBatchReaderBuilder::try_new(file)?;
    if let Some(columns) = columns {
        let mask = ProjectionMask::columns(builder.parquet_schema(), columns.iter().copied());
        builder = builder.with_projection(mask);
    }
    builder.with_batch_size(BATCH_ROWS).build()
}
