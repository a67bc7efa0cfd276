//! Rows put down in the scratch folder as they are in memory, to be read again once or twice.

use std::fs::{self, File};
use std::io::{BufReader, BufWriter};
use std::path::{Path, PathBuf};

use arrow::array::RecordBatch;
use arrow::datatypes::SchemaRef;
use arrow::error::ArrowError;
use arrow::ipc::reader::StreamReader;
use arrow::ipc::writer::StreamWriter;

use super::error::{WarehouseError, io};

/// Rows on their way into the scratch folder.
pub struct ScratchWriter {
    path: PathBuf,
    writer: StreamWriter<BufWriter<File>>,
}

/// Rows in the scratch folder.
#[derive(Clone, Debug)]
pub struct ScratchRows {
    path: PathBuf,
}

pub(super) fn of_arrow(path: &Path) -> impl FnOnce(ArrowError) -> WarehouseError {
    let path = path.to_owned();
    move |source| match source {
        // A full disk is reported as such, with its folder.
        ArrowError::IoError(_, source) => io("cannot write", &path)(source),
        source => WarehouseError::Arrow {
            table: path.display().to_string(),
            source,
        },
    }
}

impl ScratchWriter {
    pub(super) fn new(folder: &Path, name: &str, schema: &SchemaRef) -> Result<Self, WarehouseError> {
        fs::create_dir_all(folder).map_err(io("cannot make", folder))?;
        let path = folder.join(format!("{name}.arrows"));
        let file = File::create(&path).map_err(io("cannot write", &path))?;
        let writer = StreamWriter::try_new(BufWriter::with_capacity(1 << 16, file), schema).map_err(of_arrow(&path))?;
        Ok(Self { path, writer })
    }

    /// Puts a batch down.
    ///
    /// # Errors
    /// When it has other columns, or the file cannot be written.
    pub fn push(&mut self, batch: &RecordBatch) -> Result<(), WarehouseError> {
        self.writer.write(batch).map_err(of_arrow(&self.path))
    }

    /// Closes the file.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn finish(self) -> Result<ScratchRows, WarehouseError> {
        let buffer = self.writer.into_inner().map_err(of_arrow(&self.path))?;
        buffer
            .into_inner()
            .map_err(|refused| io("cannot write", &self.path)(refused.into_error()))?;
        Ok(ScratchRows { path: self.path })
    }
}

impl ScratchRows {
    /// All of them, in the order in which they were put down.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn read(&self) -> Result<impl Iterator<Item = Result<RecordBatch, WarehouseError>> + use<>, WarehouseError> {
        let path = self.path.clone();
        let file = File::open(&path).map_err(io("cannot read", &path))?;
        let reader = BufReader::with_capacity(1 << 16, file);
        let reader = StreamReader::try_new_buffered(reader, None).map_err(of_arrow(&path))?;
        Ok(reader.map(move |batch| batch.map_err(of_arrow(&path))))
    }
}
