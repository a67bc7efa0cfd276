//! Cuts the versions of a table into slices that are settled one after another, so that
//! memory does not grow with the table. All versions of an id lie in the same slice.

use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::Arc;

use arrow::array::{AsArray, RecordBatch, UInt64Array};
use arrow::compute::take_record_batch;
use arrow::error::ArrowError;

use crate::engine::{Session, next_batch};
use crate::queries::catalogue;
use crate::warehouse::{Site, TableEntry, TableWriter};

use super::IntakeError;

/// Versions in a slice, about: some 200 MB while it is settled.
pub const SLICE_ROWS: u64 = 50_000;

/// Most slices, each a file that is open while all are written; then they grow.
const MOST_SLICES: u64 = 64;

/// How many slices so many versions are cut into.
pub(super) fn slices_of(versions: u64, slice_rows: u64) -> usize {
    versions.div_ceil(slice_rows.max(1)).clamp(1, MOST_SLICES) as usize
}

/// Writes the rows of `versions_by_id` into `slices` tables in the scratch folder, by the id
/// each stands for.
///
/// # Errors
/// When the query fails, or the disk refuses.
pub(super) async fn cut(
    session: &Session,
    site: &Site,
    table: &'static str,
    terms: &[(&str, String)],
    slices: usize,
) -> Result<Vec<TableEntry>, IntakeError> {
    let what = "versions_by_id";
    let mut rows = session.stream(what, catalogue::intake(what), terms).await?;
    let schema = rows.schema();
    let of_rows = |source: ArrowError| IntakeError::Rows { table, source };
    let id = schema.index_of("stands_for").map_err(of_rows)?;
    let columns: Vec<usize> = (0..schema.fields().len()).filter(|column| *column != id).collect();
    let plain = Arc::new(schema.project(&columns).map_err(of_rows)?);
    let mut writers = (0..slices)
        .map(|slice| site.scratch_table(&format!("slice_{slice}_{table}"), &plain))
        .collect::<Result<Vec<_>, _>>()?;
    while let Some(batch) = next_batch(what, &mut rows).await? {
        let places = places(&batch, id, slices);
        let batch = batch.project(&columns).map_err(of_rows)?;
        for (writer, places) in writers.iter_mut().zip(places) {
            let rows = take_record_batch(&batch, &UInt64Array::from(places)).map_err(of_rows)?;
            writer.push(&rows)?;
        }
    }
    Ok(writers.into_iter().map(TableWriter::finish).collect::<Result<_, _>>()?)
}

/// Which rows of a batch belong to which slice.
fn places(batch: &RecordBatch, id: usize, slices: usize) -> Vec<Vec<u64>> {
    let mut places = vec![Vec::new(); slices];
    for (row, id) in batch.column(id).as_string::<i32>().iter().enumerate() {
        let mut hasher = DefaultHasher::new();
        id.hash(&mut hasher);
        places[(hasher.finish() % slices as u64) as usize].push(row as u64);
    }
    places
}
