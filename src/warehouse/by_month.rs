//! Rows of a table on their way into the files of their months.
//!
//! Rows come in any order and are collected by month: in memory, and in the scratch folder
//! once they are many. At the end each month is put in order by itself and written, several
//! months at a time, so that no more than a few months are ever in memory.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Mutex, PoisonError};

use arrow::array::{AsArray, BooleanArray, RecordBatch, UInt32Array};
use arrow::compute::{SortOptions, concat_batches, filter_record_batch, take_record_batch};
use arrow::datatypes::SchemaRef;
use arrow::error::ArrowError;
use arrow::row::{RowConverter, SortField};

use super::error::WarehouseError;
use super::heaps::Heaps;
use super::manifest::{DataFile, TableEntry};
use super::site::Site;
use super::stored::read_stored;
use super::writer::{Plain, write_partition};

/// Bytes of rows that are kept in memory, unless another limit is given.
const MOST_BYTES_IN_MEMORY: usize = 32 << 20;

/// Most months that are put in order at a time: each is in memory meanwhile.
const MOST_MONTHS_AT_A_TIME: usize = 4;

/// Rows written at a time.
const ROWS_WRITTEN_AT_A_TIME: usize = 8192;

/// Rows of a table, by month.
pub struct ByMonth {
    site: Site,
    name: String,
    plain: Plain,
    order: Vec<String>,
    months: Heaps<String>,
}

impl Site {
    /// Opens a table that is kept by month, each month in the order of some columns.
    pub fn by_month(&self, name: &str, schema: &SchemaRef, order: &[&str]) -> ByMonth {
        ByMonth::new(self, name, schema, order)
    }
}

impl ByMonth {
    fn new(site: &Site, name: &str, schema: &SchemaRef, order: &[&str]) -> Self {
        let plain = Plain::without(name, schema, Some("month"));
        Self {
            site: site.clone(),
            name: name.to_owned(),
            months: site.heaps(&format!("months_of_{name}"), plain.schema(), MOST_BYTES_IN_MEMORY),
            plain,
            order: order.iter().map(|column| (*column).to_owned()).collect(),
        }
    }

    /// The same with another limit of bytes in memory, before any rows are added.
    pub fn within(mut self, most_bytes: usize) -> Self {
        let name = format!("months_of_{}", self.name);
        self.months = self.site.heaps(&name, self.plain.schema(), most_bytes);
        self
    }

    /// Adds rows; their column `month` says where each belongs.
    ///
    /// # Errors
    /// When the scratch folder cannot be written.
    pub fn push(&mut self, batch: &RecordBatch) -> Result<(), WarehouseError> {
        if batch.num_rows() == 0 {
            return Ok(());
        }
        let months = self.plain.partition_of(batch)?;
        let months = months.as_string::<i32>();
        let rows = self.plain.of(batch)?;
        let mut places: BTreeMap<&str, Vec<u32>> = BTreeMap::new();
        for (place, month) in months.iter().enumerate() {
            places.entry(month.unwrap_or_default()).or_default().push(place as u32);
        }
        if places.len() == 1 {
            let month = places.into_keys().next().unwrap_or_default();
            return self.months.add(&month.to_owned(), rows);
        }
        for (month, places) in places {
            let those = take_record_batch(&rows, &UInt32Array::from(places));
            self.months.add(&month.to_owned(), those.map_err(|e| self.arrow(e))?)?;
        }
        Ok(())
    }

    /// The months that rows were added to.
    pub fn months(&self) -> impl Iterator<Item = &str> {
        self.months.keys().map(String::as_str)
    }

    /// Adds the rows of some months of the snapshot before for which `is_kept` holds.
    ///
    /// # Errors
    /// When a file cannot be read, or holds other columns.
    pub fn push_before(
        &mut self,
        before: &TableEntry,
        months: &BTreeSet<String>,
        mut is_kept: impl FnMut(&RecordBatch) -> Result<BooleanArray, ArrowError>,
    ) -> Result<(), WarehouseError> {
        let root = self.site.before().map_or(self.site.path(), |snapshot| snapshot.path());
        let (root, name) = (root.to_owned(), self.name.clone());
        for file in &before.files {
            let Some(month) = file.month().filter(|month| months.contains(*month)) else {
                continue;
            };
            for batch in read_stored(&root.join(&file.path), &name, None)? {
                let batch = batch?;
                let kept = is_kept(&batch).and_then(|kept| filter_record_batch(&batch, &kept));
                let kept = kept.map_err(|e| self.arrow(e))?;
                let kept = RecordBatch::try_new(self.plain.schema().clone(), kept.columns().to_vec());
                self.months.add(&month.to_owned(), kept.map_err(|e| self.arrow(e))?)?;
            }
        }
        Ok(())
    }

    /// Writes each month in order, as many at a time as there are threads, and no more than four.
    ///
    /// # Errors
    /// When a file cannot be written.
    pub fn finish(self, threads: usize) -> Result<TableEntry, WarehouseError> {
        let Self {
            site,
            name,
            plain,
            order,
            months,
        } = self;
        let (months, put_down) = months.finish()?;
        let writer = MonthWriter {
            site: &site,
            name: &name,
            schema: plain.schema(),
            order: &order,
        };
        let waiting = Mutex::new(months.into_iter());
        let next = || waiting.lock().unwrap_or_else(PoisonError::into_inner).next();
        let work = || {
            let mut files = Vec::new();
            while let Some((month, heap)) = next() {
                files.extend(writer.write(&month, put_down.rows(heap)?)?);
            }
            Ok::<Vec<DataFile>, WarehouseError>(files)
        };
        let all: Vec<Result<Vec<DataFile>, WarehouseError>> = std::thread::scope(|scope| {
            let workers: Vec<_> = (1..threads.min(MOST_MONTHS_AT_A_TIME))
                .map(|_| scope.spawn(work))
                .collect();
            let own = work();
            let others = workers.into_iter().map(|worker| match worker.join() {
                Ok(done) => done,
                Err(panic) => std::panic::resume_unwind(panic),
            });
            std::iter::once(own).chain(others).collect()
        });
        let mut files = Vec::new();
        for some in all {
            files.extend(some?);
        }
        put_down.remove()?;
        files.sort_by(|a, b| a.path.cmp(&b.path));
        Ok(TableEntry {
            columns: plain.columns(),
            partition: Some("month".to_owned()),
            files,
        })
    }

    fn arrow(&self, source: ArrowError) -> WarehouseError {
        of_table(&self.name)(source)
    }
}

fn of_table(name: &str) -> impl Fn(ArrowError) -> WarehouseError {
    let table = name.to_owned();
    move |source| WarehouseError::Arrow {
        table: table.clone(),
        source,
    }
}

/// Writes months of a table, each in order.
struct MonthWriter<'a> {
    site: &'a Site,
    name: &'a str,
    schema: &'a SchemaRef,
    order: &'a [String],
}

impl MonthWriter<'_> {
    fn write(&self, month: &str, batches: Vec<RecordBatch>) -> Result<Option<DataFile>, WarehouseError> {
        let arrow = of_table(self.name);
        let all = concat_batches(self.schema, &batches).map_err(&arrow)?;
        drop(batches);
        if all.num_rows() == 0 {
            return Ok(None);
        }
        let order = in_order(&all, self.order).map_err(&arrow)?;
        let pieces = (0..all.num_rows()).step_by(ROWS_WRITTEN_AT_A_TIME).map(|from| {
            let piece = order.slice(from, ROWS_WRITTEN_AT_A_TIME.min(all.num_rows() - from));
            take_record_batch(&all, &piece)
        });
        let file = write_partition(self.site.path(), self.name, ("month", month), self.schema, pieces)?;
        Ok(Some(file))
    }
}

/// The places of rows in the order of some columns, what is unknown last. The month is the
/// same for all, so it orders nothing.
fn in_order(rows: &RecordBatch, order: &[String]) -> Result<UInt32Array, ArrowError> {
    let options = SortOptions {
        descending: false,
        nulls_first: false,
    };
    let columns = order.iter().filter(|column| *column != "month");
    let columns = columns.map(|column| {
        let place = rows.schema().index_of(column)?;
        Ok::<_, ArrowError>(rows.column(place).clone())
    });
    let columns = columns.collect::<Result<Vec<_>, _>>()?;
    let fields = columns
        .iter()
        .map(|c| SortField::new_with_options(c.data_type().clone(), options));
    let converted = RowConverter::new(fields.collect())?.convert_columns(&columns)?;
    let mut places: Vec<u32> = (0..rows.num_rows() as u32).collect();
    // Stable, so that rows that came in order stay so.
    places.sort_by(|a, b| converted.row(*a as usize).cmp(&converted.row(*b as usize)));
    Ok(UInt32Array::from(places))
}
