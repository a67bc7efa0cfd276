//! Puts a row together of versions that each state only part of it: what the last does not
//! state is as the version before it stated.
//!
//! A row of the contract states everything, so nothing before it counts. The ids of the row, and
//! where and when it was read, are those of the last version.

use std::collections::BTreeMap;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::Arc;

use arrow::array::{Array, ArrayRef, AsArray, BooleanArray, Int64Array, RecordBatch, StringArray, UInt32Array};
use arrow::compute::{concat_batches, take, take_record_batch};
use arrow::datatypes::{DataType, Field, Schema, SchemaRef};
use arrow::error::ArrowError;

use crate::warehouse::tables::SourceTable;
use crate::warehouse::{Heaps, Site};

use super::IntakeError;
use super::columns::{ints, texts};
use super::fates::OfVersion;

/// Bytes of versions that are kept in memory.
const MOST_BYTES_IN_MEMORY: usize = 8 << 20;

/// Versions that are put together, in heaps that each hold all versions of an id.
pub(super) struct Parts {
    heaps: Heaps<u64>,
    /// How many heaps.
    n: u64,
    at: Place,
}

struct Place {
    table: &'static SourceTable,
    schema: SchemaRef,
    /// The same, with what a version stands for, its place, and whether a later one was set aside.
    placed: SchemaRef,
}

impl Parts {
    /// None yet; `heaps` is how many to make of them.
    pub(super) fn new(site: &Site, table: &'static SourceTable, schema: &SchemaRef, heaps: u64) -> Self {
        let mut fields: Vec<Arc<Field>> = schema.fields().iter().cloned().collect();
        for (name, of) in [
            ("stands_for", DataType::Utf8),
            ("place", DataType::Int64),
            ("is_refused_later", DataType::Boolean),
        ] {
            fields.push(Arc::new(Field::new(name, of, true)));
        }
        let placed: SchemaRef = Arc::new(Schema::new(fields));
        Self {
            heaps: site.heaps(&format!("parts_{}", table.name), &placed, MOST_BYTES_IN_MEMORY),
            n: heaps.max(1),
            at: Place {
                table,
                schema: schema.clone(),
                placed,
            },
        }
    }

    /// Adds some rows of a batch.
    ///
    /// # Errors
    /// When the scratch folder cannot be written.
    pub(super) fn push(&mut self, batch: &RecordBatch, versions: &[(u32, OfVersion)]) -> Result<(), IntakeError> {
        let at = &self.at;
        let mut of_heap: BTreeMap<u64, Vec<&(u32, OfVersion)>> = BTreeMap::new();
        for version in versions {
            let mut hasher = DefaultHasher::new();
            version.1.stands_for.hash(&mut hasher);
            of_heap.entry(hasher.finish() % self.n).or_default().push(version);
        }
        for (heap, versions) in of_heap {
            let rows = at.placed_rows(batch, &versions).map_err(|e| at.arrow(e))?;
            self.heaps.add(&heap, rows)?;
        }
        Ok(())
    }

    /// Puts the versions together, a heap at a time; `stands` takes the rows, and which of them
    /// had a later version set aside.
    ///
    /// # Errors
    /// When the scratch folder cannot be read, or `stands` fails.
    pub(super) fn put_together(
        self,
        mut stands: impl FnMut(RecordBatch, BooleanArray) -> Result<(), IntakeError>,
    ) -> Result<(), IntakeError> {
        let at = self.at;
        let (heaps, put_down) = self.heaps.finish()?;
        for heap in heaps.into_values() {
            let batches = put_down.rows(heap)?;
            let versions = concat_batches(&at.placed, &batches).map_err(|e| at.arrow(e))?;
            drop(batches);
            let (rows, refused) = at.together(&versions).map_err(|e| at.arrow(e))?;
            stands(rows, refused)?;
        }
        Ok(put_down.remove()?)
    }
}

impl Place {
    fn arrow(&self, source: ArrowError) -> IntakeError {
        IntakeError::Rows {
            table: self.table.name,
            source,
        }
    }

    fn placed_rows(&self, batch: &RecordBatch, versions: &[&(u32, OfVersion)]) -> Result<RecordBatch, ArrowError> {
        let places = UInt32Array::from_iter_values(versions.iter().map(|(row, _)| *row));
        let rows = take_record_batch(batch, &places)?;
        let mut columns = rows.columns().to_vec();
        let each = || versions.iter().map(|(_, version)| version);
        columns.push(Arc::new(StringArray::from_iter(
            each().map(|v| v.stands_for.as_deref()),
        )));
        columns.push(Arc::new(Int64Array::from_iter_values(each().map(|v| v.place))));
        let refused: Vec<bool> = each().map(|v| v.is_refused_later).collect();
        columns.push(Arc::new(BooleanArray::from(refused)));
        RecordBatch::try_new(self.placed.clone(), columns)
    }

    /// One row of all versions of each id.
    fn together(&self, versions: &RecordBatch) -> Result<(RecordBatch, BooleanArray), ArrowError> {
        let (ids, places, said) = (
            texts(versions, "stands_for"),
            ints(versions, "place"),
            texts(versions, "said"),
        );
        let mut order: Vec<u32> = (0..versions.num_rows() as u32).collect();
        order.sort_by_key(|row| (ids.value(*row as usize), places.value(*row as usize)));
        let groups: Vec<&[u32]> = order
            .chunk_by(|a, b| ids.value(*a as usize) == ids.value(*b as usize))
            .collect();
        let says = |row: u32, column: &str| {
            let row = row as usize;
            said.is_null(row) || said.value(row).split(',').any(|name| name == column)
        };
        let last = UInt32Array::from_iter_values(groups.iter().map(|group| group[0]));
        let mut stated: BTreeMap<&str, UInt32Array> = BTreeMap::new();
        let mut columns: Vec<ArrayRef> = Vec::new();
        for (place, field) in self.schema.fields().iter().enumerate() {
            let rows = match self.table.read_from(field.name()) {
                None => &last,
                Some(column) => stated.entry(column).or_insert_with(|| {
                    let by = |group: &&[u32]| group.iter().copied().find(|row| says(*row, column));
                    UInt32Array::from_iter(groups.iter().map(by))
                }),
            };
            columns.push(take(versions.column(place), rows, None)?);
        }
        let refused = take(&versions["is_refused_later"], &last, None)?;
        let rows = RecordBatch::try_new(self.schema.clone(), columns)?;
        Ok((rows, refused.as_boolean().clone()))
    }
}
