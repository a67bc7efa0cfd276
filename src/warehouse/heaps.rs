//! Rows put on heaps, each by a key, until they are taken heap by heap: in memory as far as there
//! is room, else in one file of the scratch folder.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{BufReader, BufWriter};
use std::path::{Path, PathBuf};

use arrow::array::{Array, ArrayRef, RecordBatch};
use arrow::compute::concat_batches;
use arrow::datatypes::SchemaRef;
use arrow::error::ArrowError;
use arrow::ipc::reader::FileReader;
use arrow::ipc::writer::FileWriter;

use super::error::{WarehouseError, io};
use super::scratch::of_arrow;

/// Rows of one schema on heaps by a key.
pub struct Heaps<K> {
    path: PathBuf,
    schema: SchemaRef,
    most_bytes: usize,
    bytes: usize,
    heaps: BTreeMap<K, Heap>,
    put_down: Option<PutDown>,
}

/// The file of the rows for which there was no room.
struct PutDown {
    batches: usize,
    writer: FileWriter<BufWriter<File>>,
}

/// Rows of one key, in the order in which they came: first those in the file, by the numbers of
/// their batches, then those in memory.
#[derive(Default)]
pub struct Heap {
    put_down: Vec<usize>,
    batches: Vec<RecordBatch>,
    bytes: usize,
}

/// Where rows were put down that did not stay in memory.
pub struct HeapFile(Option<PathBuf>);

impl<K: Ord + Clone> Heaps<K> {
    /// None yet; beyond `most_bytes` the rows of the largest heap go to a file of the folder.
    pub(super) fn new(folder: &Path, name: &str, schema: &SchemaRef, most_bytes: usize) -> Self {
        Self {
            path: folder.join(format!("{name}.arrow")),
            schema: schema.clone(),
            most_bytes,
            bytes: 0,
            heaps: BTreeMap::new(),
            put_down: None,
        }
    }

    /// The keys that rows came for.
    pub fn keys(&self) -> impl Iterator<Item = &K> {
        self.heaps.keys()
    }

    /// Puts rows on the heap of their key.
    ///
    /// # Errors
    /// When the file cannot be written.
    pub fn add(&mut self, key: &K, rows: RecordBatch) -> Result<(), WarehouseError> {
        if rows.num_rows() == 0 {
            return Ok(());
        }
        let of_column = |column: &ArrayRef| column.to_data().get_slice_memory_size().unwrap_or_default();
        let bytes: usize = rows.columns().iter().map(of_column).sum();
        self.bytes += bytes;
        let heap = match self.heaps.get_mut(key) {
            Some(heap) => heap,
            None => self.heaps.entry(key.clone()).or_default(),
        };
        heap.bytes += bytes;
        heap.batches.push(rows);
        if self.bytes > self.most_bytes {
            self.put_down()?;
        }
        Ok(())
    }

    /// Writes the rows of the largest heap to the file.
    fn put_down(&mut self) -> Result<(), WarehouseError> {
        let Some(heap) = self.heaps.values_mut().max_by_key(|heap| heap.bytes) else {
            return Ok(());
        };
        let arrow = |source| of_arrow(&self.path)(source);
        let file = match &mut self.put_down {
            Some(file) => file,
            None => {
                if let Some(folder) = self.path.parent() {
                    fs::create_dir_all(folder).map_err(io("cannot make", folder))?;
                }
                let file = File::create(&self.path).map_err(io("cannot write", &self.path))?;
                let writer = FileWriter::try_new(BufWriter::with_capacity(1 << 16, file), &self.schema);
                self.put_down.insert(PutDown {
                    batches: 0,
                    writer: writer.map_err(arrow)?,
                })
            }
        };
        let rows = concat_batches(&self.schema, &heap.batches).map_err(arrow)?;
        file.writer.write(&rows).map_err(arrow)?;
        heap.put_down.push(file.batches);
        file.batches += 1;
        heap.batches.clear();
        self.bytes -= heap.bytes;
        heap.bytes = 0;
        Ok(())
    }

    /// The heaps, and the file that holds what is not in memory.
    ///
    /// # Errors
    /// When the file cannot be written.
    pub fn finish(self) -> Result<(BTreeMap<K, Heap>, HeapFile), WarehouseError> {
        let Some(file) = self.put_down else {
            return Ok((self.heaps, HeapFile(None)));
        };
        let buffer = file.writer.into_inner().map_err(of_arrow(&self.path))?;
        buffer
            .into_inner()
            .map_err(|refused| io("cannot write", &self.path)(refused.into_error()))?;
        Ok((self.heaps, HeapFile(Some(self.path))))
    }
}

impl HeapFile {
    /// The rows of a heap, in the order in which they came.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn rows(&self, heap: Heap) -> Result<Vec<RecordBatch>, WarehouseError> {
        let mut rows = Vec::new();
        if let Some(path) = self.0.as_ref().filter(|_| !heap.put_down.is_empty()) {
            let arrow = |source: ArrowError| of_arrow(path)(source);
            let file = File::open(path).map_err(io("cannot read", path))?;
            let mut reader = FileReader::try_new(BufReader::new(file), None).map_err(arrow)?;
            for number in heap.put_down {
                reader.set_index(number).map_err(arrow)?;
                rows.extend(reader.next().transpose().map_err(arrow)?);
            }
        }
        rows.extend(heap.batches);
        Ok(rows)
    }

    /// Removes the file, where there is one.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn remove(self) -> Result<(), WarehouseError> {
        match self.0 {
            Some(path) => fs::remove_file(&path).map_err(io("cannot remove", &path)),
            None => Ok(()),
        }
    }
}
