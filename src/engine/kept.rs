//! Rows of small files that stay in memory once they were read. A load asks for most tables a
//! dozen times, and to open a small file costs many times what its rows do.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use arrow::array::RecordBatch;
use arrow::compute::concat_batches;
use arrow::datatypes::SchemaRef;
use datafusion::datasource::listing::PartitionedFile;
use datafusion::execution::memory_pool::{MemoryConsumer, MemoryPool, MemoryReservation};
use object_store::local::LocalFileSystem;

use crate::warehouse::read_stored;

/// Files of at most this size are kept, bytes as stored.
const MOST_BYTES_OF_FILE: u64 = 256 << 10;

/// All that is kept takes at most this part of the memory for queries.
const PART_OF_MEMORY: usize = 4;

/// Small files as rows, within a share of the memory for queries.
#[derive(Debug)]
pub(super) struct Kept {
    memory_bytes: usize,
    held: Mutex<Held>,
}

#[derive(Debug)]
struct Held {
    files: HashMap<Key, RecordBatch>,
    memory: MemoryReservation,
}

/// Tells a file from an earlier one of its name: path, bytes, and when it was written.
type Key = (String, u64, i64);

impl Kept {
    /// Nothing yet; what will be is counted as memory of the pool.
    pub(super) fn within(pool: &Arc<dyn MemoryPool>, memory_bytes: usize) -> Self {
        Self {
            memory_bytes,
            held: Mutex::new(Held {
                files: HashMap::new(),
                memory: MemoryConsumer::new("small files kept in memory").register(pool),
            }),
        }
    }

    /// The memory for queries, bytes.
    pub(super) fn memory_bytes(&self) -> usize {
        self.memory_bytes
    }

    /// The rows of all of these files, each with its partition, as a table's schema says; `None`
    /// when one of them is not kept, so that all must be read from the disk.
    pub(super) fn rows_of(&self, files: &[PartitionedFile], schema: &SchemaRef) -> Option<Vec<RecordBatch>> {
        if files.iter().any(|file| file.object_meta.size > MOST_BYTES_OF_FILE) {
            return None;
        }
        files.iter().map(|file| self.rows(file, schema)).collect()
    }

    fn rows(&self, file: &PartitionedFile, schema: &SchemaRef) -> Option<RecordBatch> {
        let meta = &file.object_meta;
        let key = (
            meta.location.to_string(),
            meta.size,
            meta.last_modified.timestamp_nanos_opt()?,
        );
        let held = || self.held.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(rows) = held().files.get(&key) {
            return (rows.schema_ref() == schema).then(|| rows.clone());
        }
        let rows = read(file, schema)?;
        let bytes = rows.get_array_memory_size();
        let mut held = held();
        if held.files.contains_key(&key) {
            return Some(rows);
        }
        if held.memory.size() + bytes > self.memory_bytes / PART_OF_MEMORY || held.memory.try_grow(bytes).is_err() {
            return None;
        }
        held.files.insert(key, rows.clone());
        Some(rows)
    }
}

/// The rows of a file with its partition; `None` when it cannot be read or holds other columns,
/// which whoever reads it from the disk will say.
fn read(file: &PartitionedFile, schema: &SchemaRef) -> Option<RecordBatch> {
    let path = LocalFileSystem::new()
        .path_to_filesystem(&file.object_meta.location)
        .ok()?;
    let batches = read_stored(&path, "", None).ok()?.collect::<Result<Vec<_>, _>>().ok()?;
    let stored = batches.first()?.schema();
    let rows = concat_batches(&stored, &batches).ok()?;
    let mut columns = rows.columns().to_vec();
    for value in &file.partition_values {
        columns.push(value.to_array_of_size(rows.num_rows()).ok()?);
    }
    let has_names = schema
        .fields()
        .iter()
        .zip(stored.fields())
        .all(|(a, b)| a.name() == b.name());
    has_names.then(|| RecordBatch::try_new(schema.clone(), columns).ok())?
}
