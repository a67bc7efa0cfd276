//! Writes one table as Parquet: zstd, statistics and page index on, plain
//! strings, the partition column in the path only.

use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use arrow::array::{ArrayRef, AsArray, RecordBatch};
use arrow::compute::cast;
use arrow::datatypes::{DataType, Field, Schema, SchemaRef};
use parquet::arrow::ArrowWriter;
use parquet::basic::{Compression, ZstdLevel};
use parquet::errors::ParquetError;
use parquet::file::properties::{EnabledStatistics, WriterProperties};
use sha2::{Digest, Sha256};

use super::digest::hex;
use super::manifest::{Column, DataFile, TableEntry, stored_type};
use super::{WarehouseError, io as io_error};

/// Rows of one table on their way to disk. Rows of a partition must come together.
pub struct TableWriter {
    snapshot: PathBuf,
    name: String,
    partition: Option<(String, usize)>,
    schema: SchemaRef,
    entry: TableEntry,
    open: Option<OpenFile>,
    properties: WriterProperties,
}

struct OpenFile {
    partition: Option<String>,
    path: String,
    rows: u64,
    writer: ArrowWriter<Hashing>,
}

impl TableWriter {
    pub(super) fn new(
        snapshot: &Path,
        name: &str,
        schema: &SchemaRef,
        partition: Option<&str>,
        properties: WriterProperties,
    ) -> Result<Self, WarehouseError> {
        let place = partition.and_then(|p| Some((p.to_owned(), schema.index_of(p).ok()?)));
        let fields: Vec<Field> = schema
            .fields()
            .iter()
            .enumerate()
            .filter(|(i, _)| place.as_ref().is_none_or(|(_, p)| i != p))
            .map(|(_, f)| Field::new(f.name(), stored_type(f.data_type()), true))
            .collect();
        let mut writer = Self {
            snapshot: snapshot.to_owned(),
            name: name.to_owned(),
            entry: TableEntry {
                columns: fields.iter().map(Column::of).collect(),
                partition: place.as_ref().map(|(p, _)| p.clone()),
                files: Vec::new(),
            },
            partition: place,
            schema: Arc::new(Schema::new(fields)),
            open: None,
            properties,
        };
        if writer.partition.is_none() {
            writer.open(None)?;
        }
        Ok(writer)
    }

    /// Writes a batch.
    ///
    /// # Errors
    /// When a partition comes a second time, or the file cannot be written.
    pub fn push(&mut self, batch: &RecordBatch) -> Result<(), WarehouseError> {
        let Some((_, place)) = &self.partition else {
            let plain = self.plain(batch, None)?;
            return self.write(&plain);
        };
        let place = *place;
        let names = self.cast(batch.column(place), &DataType::Utf8)?;
        let names = names.as_string::<i32>();
        let mut from = 0;
        while from < batch.num_rows() {
            let name = names.value(from);
            let to = (from..batch.num_rows())
                .find(|i| names.value(*i) != name)
                .unwrap_or(batch.num_rows());
            if self.open.as_ref().and_then(|o| o.partition.as_deref()) != Some(name) {
                self.close()?;
                self.open(Some(name))?;
            }
            let plain = self.plain(&batch.slice(from, to - from), Some(place))?;
            self.write(&plain)?;
            from = to;
        }
        Ok(())
    }

    /// Closes the last file and tells what was written.
    ///
    /// # Errors
    /// When the file cannot be written.
    pub fn finish(mut self) -> Result<TableEntry, WarehouseError> {
        self.close()?;
        Ok(self.entry)
    }

    /// The batch with plain types and without the partition column.
    fn plain(&self, batch: &RecordBatch, without: Option<usize>) -> Result<RecordBatch, WarehouseError> {
        let columns = batch.columns().iter().enumerate().filter(|(i, _)| Some(*i) != without);
        let arrays: Result<Vec<ArrayRef>, _> = columns
            .zip(self.schema.fields())
            .map(|((_, array), field)| self.cast(array, field.data_type()))
            .collect();
        RecordBatch::try_new(self.schema.clone(), arrays?).map_err(|e| self.arrow(e))
    }

    fn cast(&self, array: &ArrayRef, to: &DataType) -> Result<ArrayRef, WarehouseError> {
        cast(array, to).map_err(|e| self.arrow(e))
    }

    fn arrow(&self, source: arrow::error::ArrowError) -> WarehouseError {
        WarehouseError::Arrow {
            table: self.name.clone(),
            source,
        }
    }

    fn parquet(&self, source: ParquetError) -> WarehouseError {
        let not_of_the_system = |source| WarehouseError::Parquet {
            table: self.name.clone(),
            source,
        };
        match source {
            // A full disk is told as such, with its folder.
            ParquetError::External(inner) => match inner.downcast::<io::Error>() {
                Ok(refused) => io_error("cannot write", &self.snapshot.join(&self.name))(*refused),
                Err(other) => not_of_the_system(ParquetError::External(other)),
            },
            other => not_of_the_system(other),
        }
    }

    fn write(&mut self, batch: &RecordBatch) -> Result<(), WarehouseError> {
        let Some(open) = &mut self.open else {
            return Ok(());
        };
        open.rows += batch.num_rows() as u64;
        let written = open.writer.write(batch);
        written.map_err(|e| self.parquet(e))
    }

    fn open(&mut self, partition: Option<&str>) -> Result<(), WarehouseError> {
        let folder = match (&self.partition, partition) {
            (Some((column, _)), Some(value)) => format!("{}/{column}={value}", self.name),
            _ => self.name.clone(),
        };
        let path = format!("{folder}/rows.parquet");
        if self.entry.files.iter().any(|f| f.path == path) {
            return Err(WarehouseError::Unsorted {
                table: self.name.clone(),
                partition: partition.unwrap_or_default().to_owned(),
            });
        }
        let folder = self.snapshot.join(folder);
        fs::create_dir_all(&folder).map_err(io_error("cannot make", &folder))?;
        let whole = self.snapshot.join(&path);
        let file = File::create(&whole).map_err(io_error("cannot write", &whole))?;
        let to = Hashing {
            to: BufWriter::new(file),
            hash: Sha256::new(),
            bytes: 0,
        };
        let writer = ArrowWriter::try_new(to, self.schema.clone(), Some(self.properties.clone()))
            .map_err(|e| self.parquet(e))?;
        self.open = Some(OpenFile {
            partition: partition.map(str::to_owned),
            path,
            rows: 0,
            writer,
        });
        Ok(())
    }

    fn close(&mut self) -> Result<(), WarehouseError> {
        let Some(mut open) = self.open.take() else {
            return Ok(());
        };
        open.writer.finish().map_err(|e| self.parquet(e))?;
        let whole = self.snapshot.join(&open.path);
        open.writer.sync().map_err(io_error("cannot write", &whole))?;
        let to = open.writer.inner_mut();
        self.entry.files.push(DataFile {
            path: open.path,
            rows: open.rows,
            bytes: to.bytes,
            sha256: hex(&to.hash.clone().finalize()),
        });
        Ok(())
    }
}

/// How tables of a snapshot are written. Row groups are small enough that one in the
/// making takes little memory, and large enough to read well.
pub(super) fn lasting() -> WriterProperties {
    WriterProperties::builder()
        .set_compression(Compression::ZSTD(ZstdLevel::default()))
        .set_statistics_enabled(EnabledStatistics::Page)
        .set_max_row_group_row_count(Some(131_072))
        .set_created_by(concat!("siskin ", env!("CARGO_PKG_VERSION")).to_owned())
        .build()
}

/// How tables are written that are read once or twice: many at a time, each with little memory.
pub(super) fn passing() -> WriterProperties {
    WriterProperties::builder()
        .set_compression(Compression::ZSTD(ZstdLevel::default()))
        .set_statistics_enabled(EnabledStatistics::None)
        .set_dictionary_enabled(false)
        .set_max_row_group_row_count(Some(8192))
        .build()
}

/// Hashes and counts what passes through.
struct Hashing {
    to: BufWriter<File>,
    hash: Sha256,
    bytes: u64,
}

impl Write for Hashing {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.to.write(bytes)?;
        self.hash.update(&bytes[..written]);
        self.bytes += written as u64;
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.to.flush()
    }
}
