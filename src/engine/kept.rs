//! Columns of small files that stay in memory once they were read. A load asks for most tables a
//! dozen times, and to open a small file costs many times what its rows do.

use std::collections::{BTreeSet, HashMap};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use arrow::array::{ArrayRef, RecordBatch, RecordBatchOptions};
use arrow::compute::concat;
use arrow::datatypes::SchemaRef;
use datafusion::datasource::listing::PartitionedFile;
use datafusion::execution::memory_pool::{MemoryConsumer, MemoryPool, MemoryReservation};
use object_store::local::LocalFileSystem;

use crate::warehouse::read_stored;

/// Files of at most this size are kept, bytes as stored.
const MOST_BYTES_OF_FILE: u64 = 256 << 10;

/// All that is kept takes at most this part of the memory for queries.
const PART_OF_MEMORY: usize = 4;

/// Columns of small files, within a share of the memory for queries.
#[derive(Debug)]
pub(super) struct Kept {
    memory_bytes: usize,
    held: Mutex<Held>,
}

#[derive(Debug)]
struct Held {
    files: HashMap<Key, Columns>,
    memory: MemoryReservation,
}

/// Distinguishes a file from an earlier one of its name: path, bytes, and when it was written.
type Key = (String, u64, i64);

/// The columns of a file that were asked for, by their place in it.
#[derive(Clone, Debug, Default)]
struct Columns {
    rows: usize,
    read: HashMap<usize, ArrayRef>,
}

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

    /// Columns of all rows of these files, by their places in a table's schema, which ends with the
    /// partition; `None` when a file is not kept, so that all must be read from the disk.
    pub(super) fn rows_of(
        &self,
        files: &[PartitionedFile],
        schema: &SchemaRef,
        places: &[usize],
    ) -> Option<Vec<RecordBatch>> {
        if files.iter().any(|file| file.object_meta.size > MOST_BYTES_OF_FILE) {
            return None;
        }
        files.iter().map(|file| self.rows(file, schema, places)).collect()
    }

    fn rows(&self, file: &PartitionedFile, schema: &SchemaRef, places: &[usize]) -> Option<RecordBatch> {
        let meta = &file.object_meta;
        let written = meta.last_modified.timestamp_nanos_opt()?;
        let key = (meta.location.to_string(), meta.size, written);
        let n_stored = schema.fields().len().checked_sub(file.partition_values.len())?;
        let known = self.held().files.get(&key).cloned();
        let is_new = known.is_none();
        let mut columns = known.unwrap_or_default();
        let is_missing = |place: &usize| *place < n_stored && !columns.read.contains_key(place);
        let missing: BTreeSet<usize> = places.iter().copied().filter(is_missing).collect();
        if is_new || !missing.is_empty() {
            let more = read(file, schema, &missing)?;
            self.keep(key, &more)?;
            columns.rows = more.rows;
            columns.read.extend(more.read);
        }
        let column = |place: &usize| match columns.read.get(place) {
            Some(column) => Some(column.clone()),
            None => {
                let value = file.partition_values.get(place.checked_sub(n_stored)?)?;
                value.to_array_of_size(columns.rows).ok()
            }
        };
        let all = places.iter().map(column).collect::<Option<Vec<_>>>()?;
        let schema = Arc::new(schema.project(places).ok()?);
        let rows = RecordBatchOptions::new().with_row_count(Some(columns.rows));
        RecordBatch::try_new_with_options(schema, all, &rows).ok()
    }

    /// Keeps those columns that no other query has kept meanwhile; `None` when there is no room.
    fn keep(&self, key: Key, columns: &Columns) -> Option<()> {
        let mut held = self.held();
        let Held { files, memory } = &mut *held;
        let kept = files.entry(key).or_default();
        kept.rows = columns.rows;
        let new = columns.read.iter().filter(|(place, _)| !kept.read.contains_key(place));
        let new: Vec<(usize, ArrayRef)> = new.map(|(place, column)| (*place, column.clone())).collect();
        let bytes: usize = new.iter().map(|(_, column)| column.get_array_memory_size()).sum();
        if memory.size() + bytes > self.memory_bytes / PART_OF_MEMORY || memory.try_grow(bytes).is_err() {
            return None;
        }
        kept.read.extend(new);
        Some(())
    }

    fn held(&self) -> MutexGuard<'_, Held> {
        self.held.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Columns of a file; `None` when it cannot be read or lacks one of them, which whoever reads it
/// from the disk will say.
fn read(file: &PartitionedFile, schema: &SchemaRef, places: &BTreeSet<usize>) -> Option<Columns> {
    let path = LocalFileSystem::new()
        .path_to_filesystem(&file.object_meta.location)
        .ok()?;
    let names: Vec<&str> = places
        .iter()
        .map(|place| schema.field(*place).name().as_str())
        .collect();
    let batches = read_stored(&path, "", Some(&names))
        .ok()?
        .collect::<Result<Vec<_>, _>>()
        .ok()?;
    let mut read = HashMap::new();
    for (place, name) in places.iter().zip(names) {
        let parts = batches
            .iter()
            .map(|batch| batch.column_by_name(name).map(AsRef::as_ref));
        read.insert(*place, concat(&parts.collect::<Option<Vec<_>>>()?).ok()?);
    }
    let rows = batches.iter().map(RecordBatch::num_rows).sum();
    Some(Columns { rows, read })
}
