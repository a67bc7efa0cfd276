//! Writes one table as Parquet: zstd, statistics and page index on, plain
//! strings, the partition column in the path only.

use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use arrow::array::{ArrayRef, AsArray, RecordBatch};
use arrow::compute::cast;
use arrow::datatypes::{DataType, Field, Schema, SchemaRef};
use arrow::error::ArrowError;
use parquet::arrow::ArrowWriter;
use parquet::arrow::arrow_writer::ArrowWriterOptions;
use parquet::basic::{Compression, ZstdLevel};
use parquet::errors::ParquetError;
use parquet::file::properties::{EnabledStatistics, WriterProperties};
use sha2::{Digest, Sha256};

use super::digest::hex;
use super::error::{WarehouseError, io as io_error};
use super::manifest::{Column, DataFile, TableEntry, stored_type};

/// How rows of one table are stored: plain types, the partition column in the path only.
pub(super) struct Plain {
    name: String,
    partition: Option<(String, usize)>,
    schema: SchemaRef,
}

impl Plain {
    /// Of rows of a schema, `partition` being the column that goes into the path.
    pub(super) fn without(name: &str, schema: &SchemaRef, partition: Option<&str>) -> Self {
        let place = partition.and_then(|p| Some((p.to_owned(), schema.index_of(p).ok()?)));
        let fields: Vec<Field> = schema
            .fields()
            .iter()
            .enumerate()
            .filter(|(i, _)| place.as_ref().is_none_or(|(_, p)| i != p))
            .map(|(_, f)| Field::new(f.name(), stored_type(f.data_type()), true))
            .collect();
        Self {
            name: name.to_owned(),
            partition: place,
            schema: Arc::new(Schema::new(fields)),
        }
    }

    /// The schema inside the files.
    pub(super) fn schema(&self) -> &SchemaRef {
        &self.schema
    }

    /// The columns as a manifest lists them.
    pub(super) fn columns(&self) -> Vec<Column> {
        self.schema.fields().iter().map(|field| Column::of(field)).collect()
    }

    /// The batch as it is stored.
    pub(super) fn of(&self, batch: &RecordBatch) -> Result<RecordBatch, WarehouseError> {
        let without = self.partition.as_ref().map(|(_, place)| *place);
        let columns = batch.columns().iter().enumerate().filter(|(i, _)| Some(*i) != without);
        let arrays: Result<Vec<ArrayRef>, _> = columns
            .zip(self.schema.fields())
            .map(|((_, array), field)| self.cast(array, field.data_type()))
            .collect();
        RecordBatch::try_new(self.schema.clone(), arrays?).map_err(|e| self.arrow(e))
    }

    /// The column that says where each row of a batch belongs, as text.
    pub(super) fn partition_of(&self, batch: &RecordBatch) -> Result<ArrayRef, WarehouseError> {
        let place = self.partition.as_ref().map_or(0, |(_, place)| *place);
        self.cast(batch.column(place), &DataType::Utf8)
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
}

/// Writes the one file of a partition.
///
/// # Errors
/// When it cannot be written, or Arrow refused rows.
pub(super) fn write_partition(
    snapshot: &Path,
    name: &str,
    (column, value): (&str, &str),
    schema: &SchemaRef,
    rows: impl Iterator<Item = Result<RecordBatch, ArrowError>>,
) -> Result<DataFile, WarehouseError> {
    let mut file = OpenFile::new(snapshot, name, &format!("{name}/{column}={value}"), schema, lasting())?;
    for batch in rows {
        let batch = batch.map_err(|source| WarehouseError::Arrow {
            table: name.to_owned(),
            source,
        })?;
        file.write(&batch)?;
    }
    file.close()
}

/// Rows of one table on their way to disk. Rows of a partition must come together.
pub struct TableWriter {
    snapshot: PathBuf,
    plain: Plain,
    entry: TableEntry,
    open: Option<(Option<String>, OpenFile)>,
    properties: WriterProperties,
}

impl TableWriter {
    pub(super) fn new(
        snapshot: &Path,
        name: &str,
        schema: &SchemaRef,
        partition: Option<&str>,
        properties: WriterProperties,
    ) -> Result<Self, WarehouseError> {
        let plain = Plain::without(name, schema, partition);
        let mut writer = Self {
            snapshot: snapshot.to_owned(),
            entry: TableEntry {
                columns: plain.columns(),
                partition: plain.partition.as_ref().map(|(p, _)| p.clone()),
                files: Vec::new(),
            },
            plain,
            open: None,
            properties,
        };
        if writer.plain.partition.is_none() {
            writer.open(None)?;
        }
        Ok(writer)
    }

    /// Writes a batch.
    ///
    /// # Errors
    /// When a partition comes a second time, or the file cannot be written.
    pub fn push(&mut self, batch: &RecordBatch) -> Result<(), WarehouseError> {
        let plain = self.plain.of(batch)?;
        if self.plain.partition.is_none() {
            return self.write(&plain);
        }
        let names = self.plain.partition_of(batch)?;
        let names = names.as_string::<i32>();
        let mut from = 0;
        while from < batch.num_rows() {
            let name = names.value(from);
            let to = (from..batch.num_rows())
                .find(|i| names.value(*i) != name)
                .unwrap_or(batch.num_rows());
            if self.open.as_ref().and_then(|(of, _)| of.as_deref()) != Some(name) {
                self.close()?;
                self.open(Some(name))?;
            }
            self.write(&plain.slice(from, to - from))?;
            from = to;
        }
        Ok(())
    }

    /// Closes the last file and says what was written.
    ///
    /// # Errors
    /// When the file cannot be written.
    pub fn finish(mut self) -> Result<TableEntry, WarehouseError> {
        self.close()?;
        Ok(self.entry)
    }

    fn write(&mut self, batch: &RecordBatch) -> Result<(), WarehouseError> {
        match &mut self.open {
            Some((_, file)) => file.write(batch),
            None => Ok(()),
        }
    }

    fn open(&mut self, partition: Option<&str>) -> Result<(), WarehouseError> {
        let name = &self.plain.name;
        let folder = match (&self.plain.partition, partition) {
            (Some((column, _)), Some(value)) => format!("{name}/{column}={value}"),
            _ => name.clone(),
        };
        if self.entry.files.iter().any(|f| f.path == path_in(&folder)) {
            return Err(WarehouseError::Unsorted {
                table: name.clone(),
                partition: partition.unwrap_or_default().to_owned(),
            });
        }
        let file = OpenFile::new(
            &self.snapshot,
            name,
            &folder,
            self.plain.schema(),
            self.properties.clone(),
        )?;
        self.open = Some((partition.map(str::to_owned), file));
        Ok(())
    }

    fn close(&mut self) -> Result<(), WarehouseError> {
        if let Some((_, file)) = self.open.take() {
            self.entry.files.push(file.close()?);
        }
        Ok(())
    }
}

fn path_in(folder: &str) -> String {
    format!("{folder}/rows.parquet")
}

/// A file that is being written.
struct OpenFile {
    snapshot: PathBuf,
    table: String,
    path: String,
    rows: u64,
    writer: ArrowWriter<Hashing>,
}

impl OpenFile {
    fn new(
        snapshot: &Path,
        table: &str,
        folder: &str,
        schema: &SchemaRef,
        properties: WriterProperties,
    ) -> Result<Self, WarehouseError> {
        let path = path_in(folder);
        let folder = snapshot.join(folder);
        fs::create_dir_all(&folder).map_err(io_error("cannot make", &folder))?;
        let whole = snapshot.join(&path);
        let file = File::create(&whole).map_err(io_error("cannot write", &whole))?;
        let to = Hashing {
            to: BufWriter::new(file),
            hash: Sha256::new(),
            bytes: 0,
        };
        // Parquet's own types say all that the stored types need.
        let options = ArrowWriterOptions::new()
            .with_properties(properties)
            .with_skip_arrow_metadata(true);
        let writer = ArrowWriter::try_new_with_options(to, schema.clone(), options);
        Ok(Self {
            snapshot: snapshot.to_owned(),
            table: table.to_owned(),
            path,
            rows: 0,
            writer: writer.map_err(|source| refused(snapshot, table, source))?,
        })
    }

    fn write(&mut self, batch: &RecordBatch) -> Result<(), WarehouseError> {
        self.rows += batch.num_rows() as u64;
        let written = self.writer.write(batch);
        written.map_err(|source| refused(&self.snapshot, &self.table, source))
    }

    fn close(mut self) -> Result<DataFile, WarehouseError> {
        let finished = self.writer.finish();
        finished.map_err(|source| refused(&self.snapshot, &self.table, source))?;
        let whole = self.snapshot.join(&self.path);
        self.writer.sync().map_err(io_error("cannot write", &whole))?;
        let to = self.writer.inner_mut();
        Ok(DataFile {
            path: self.path,
            rows: self.rows,
            bytes: to.bytes,
            sha256: hex(&to.hash.clone().finalize()),
        })
    }
}

/// A full disk is reported as such, with its folder.
fn refused(snapshot: &Path, table: &str, source: ParquetError) -> WarehouseError {
    let not_of_the_system = |source| WarehouseError::Parquet {
        table: table.to_owned(),
        source,
    };
    match source {
        ParquetError::External(inner) => match inner.downcast::<io::Error>() {
            Ok(refused) => io_error("cannot write", &snapshot.join(table))(*refused),
            Err(other) => not_of_the_system(ParquetError::External(other)),
        },
        other => not_of_the_system(other),
    }
}

/// How tables of a snapshot are written. Row groups are small enough that one in the
/// making takes little memory, and large enough to read well.
pub(super) fn lasting() -> WriterProperties {
    WriterProperties::builder()
        .set_compression(Compression::ZSTD(ZstdLevel::default()))
        .set_statistics_enabled(EnabledStatistics::Chunk)
        .set_offset_index_disabled(true)
        .set_max_row_group_row_count(Some(131_072))
        .set_created_by(concat!("siskin ", env!("CARGO_PKG_VERSION")).to_owned())
        .build()
}

/// How tables are written that are read once or twice: many at a time, each with little memory.
pub(super) fn passing() -> WriterProperties {
    WriterProperties::builder()
        .set_compression(Compression::UNCOMPRESSED)
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
