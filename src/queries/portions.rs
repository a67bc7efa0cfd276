//! The babies are derived in portions, each small enough for memory: what is derived of a baby
//! depends on that baby, and on tables that are of no baby.
//!
//! The rows of the source tables are dealt out to portions by baby, once; then each portion is a
//! session of its own that holds them in memory, and what is derived of them.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use arrow::array::{AsArray, RecordBatch, StringArray, UInt32Array};
use arrow::compute::take_record_batch;
use arrow::datatypes::{DataType, Field, Schema, SchemaRef};
use arrow::error::ArrowError;

use crate::engine::Session;
use crate::warehouse::digest;
use crate::warehouse::{Building, Heap, HeapFile, Heaps, TableEntry, WarehouseError, read_stored};

use super::QueryError;
use super::catalogue;
use super::renewed::{OF_BABIES, Renewed};

/// Memory for queries for each row that is worked on, bytes: a row and what is derived of it
/// takes about half of that.
const MEMORY_OF_ROW: usize = 2048;

/// Most portions that are worked on at a time.
const MOST_AT_A_TIME: usize = 4;

/// A portion has at least so many rows, however little memory there is.
const FEWEST_ROWS: u64 = 20_000;

/// Bytes of each table that stay in memory while its rows are dealt out.
const MOST_BYTES_IN_MEMORY: usize = 8 << 20;

/// The rows of the babies to derive, dealt out to portions.
pub(super) struct Portions {
    n: u64,
    at_a_time: usize,
    tables: Vec<Dealt>,
}

/// The rows of one table.
struct Dealt {
    name: &'static str,
    schema: SchemaRef,
    heaps: BTreeMap<u64, Heap>,
    /// Until the last portion is taken.
    put_down: Option<HeapFile>,
}

impl Portions {
    /// Deals out the rows of all babies, or of those that are derived anew, of the snapshot being
    /// built; a portion has about `most_rows` at most, and fewer where memory allows only fewer.
    ///
    /// # Errors
    /// When a table cannot be read, or the scratch folder cannot be written.
    pub(super) fn deal(
        session: &Session,
        building: &Building,
        renewed: Option<&Renewed>,
        most_rows: u64,
    ) -> Result<Self, QueryError> {
        let at_a_time = session.threads().clamp(1, MOST_AT_A_TIME);
        let in_memory = ((session.memory_bytes() / MEMORY_OF_ROW / at_a_time) as u64).max(FEWEST_ROWS);
        let rows_of_portion = in_memory.min(most_rows).max(1);
        let n = rows_of(building, renewed).div_ceil(rows_of_portion).max(1);
        let named = words_of_queries();
        let mut tables = Vec::new();
        for name in OF_BABIES {
            if let Some(entry) = building.manifest().tables.get(name) {
                tables.push(dealt(name, entry, building, renewed, n, &named)?);
            }
        }
        Ok(Self { n, at_a_time, tables })
    }

    /// How many.
    pub(super) fn len(&self) -> u64 {
        self.n
    }

    /// How many may be worked on at a time.
    pub(super) fn at_a_time(&self) -> usize {
        self.at_a_time
    }

    /// A session that holds the rows of a portion, and of the session of all babies the tables
    /// that are of no baby. What was dealt out to it is taken away.
    ///
    /// # Errors
    /// When the scratch folder cannot be read.
    pub(super) async fn take(
        &mut self,
        portion: u64,
        all: &Session,
        of_no_baby: &[&str],
    ) -> Result<Session, QueryError> {
        let own = all.undivided(of_no_baby).await?;
        for table in &mut self.tables {
            let rows = table.take(portion)?;
            own.add_batches(table.name, &table.schema, rows)?;
        }
        Ok(own)
    }
}

impl Dealt {
    fn take(&mut self, portion: u64) -> Result<Vec<RecordBatch>, WarehouseError> {
        let heap = self.heaps.remove(&portion);
        let rows = match (heap, &self.put_down) {
            (Some(heap), Some(put_down)) => put_down.rows(heap)?,
            _ => Vec::new(),
        };
        if self.heaps.is_empty()
            && let Some(put_down) = self.put_down.take()
        {
            put_down.remove()?;
        }
        Ok(rows)
    }
}

/// How many rows are looked at, about: all of the tables of babies, or the share of the babies.
fn rows_of(building: &Building, renewed: Option<&Renewed>) -> u64 {
    let rows = |table: &str| building.manifest().tables.get(table).map_or(0, TableEntry::rows);
    let all: u64 = OF_BABIES.iter().map(|table| rows(table)).sum();
    renewed.map_or(all, |renewed| all / rows("births").max(1) * renewed.babies())
}

/// Every word of the queries of derived tables and measures. A column that none of them names is
/// not read; the last part of each names its columns.
fn words_of_queries() -> BTreeSet<&'static str> {
    let queries = catalogue::derived().iter().chain(catalogue::measures());
    let lines = queries.flat_map(|query| query.sql.lines().filter(|line| !line.starts_with("--")));
    lines
        .flat_map(|line| line.split(|c: char| !c.is_ascii_alphanumeric() && c != '_'))
        .collect()
}

fn dealt(
    name: &'static str,
    entry: &TableEntry,
    building: &Building,
    renewed: Option<&Renewed>,
    n: u64,
    named: &BTreeSet<&str>,
) -> Result<Dealt, QueryError> {
    let site = building.site();
    let arrow = |source| WarehouseError::Arrow {
        table: name.to_owned(),
        source,
    };
    let stored = entry.schema();
    let fields = stored
        .fields()
        .iter()
        .filter(|field| named.contains(field.name().as_str()));
    let mut fields: Vec<Arc<Field>> = fields.cloned().collect();
    let columns: Vec<String> = fields.iter().map(|field| field.name().clone()).collect();
    let columns: Vec<&str> = columns.iter().map(String::as_str).collect();
    fields.push(Arc::new(Field::new("month", DataType::Utf8, true)));
    let schema: SchemaRef = Arc::new(Schema::new(fields));
    let mut heaps: Heaps<u64> = site.heaps(&format!("dealt_{name}"), &schema, MOST_BYTES_IN_MEMORY);
    for file in &entry.files {
        let Some(month) = file.month() else { continue };
        if renewed.is_some_and(|renewed| !renewed.months().contains(month)) {
            continue;
        }
        for batch in read_stored(&site.path().join(&file.path), name, Some(&columns))? {
            let mut batch = batch?;
            if let Some(renewed) = renewed {
                batch = renewed.only_theirs(&batch).map_err(arrow)?;
            }
            let rows = with_month(&batch, month, &schema).map_err(arrow)?;
            for (portion, rows) in by_portion(&rows, n).map_err(arrow)? {
                heaps.add(&portion, rows)?;
            }
        }
    }
    let (heaps, put_down) = heaps.finish()?;
    Ok(Dealt {
        name,
        schema,
        heaps,
        put_down: Some(put_down),
    })
}

fn with_month(rows: &RecordBatch, month: &str, schema: &SchemaRef) -> Result<RecordBatch, ArrowError> {
    let mut columns = rows.columns().to_vec();
    let months = std::iter::repeat_n(month, rows.num_rows());
    columns.push(Arc::new(StringArray::from_iter_values(months)));
    RecordBatch::try_new(schema.clone(), columns)
}

/// The rows of each portion: all rows of a baby are of the same one.
fn by_portion(rows: &RecordBatch, n: u64) -> Result<Vec<(u64, RecordBatch)>, ArrowError> {
    if n == 1 {
        return Ok(vec![(0, rows.clone())]);
    }
    let mut places: BTreeMap<u64, Vec<u32>> = BTreeMap::new();
    for (place, id) in rows["infant_id"].as_string::<i32>().iter().enumerate() {
        let portion = digest::fnv(id.unwrap_or_default()) % n;
        places.entry(portion).or_default().push(place as u32);
    }
    places
        .into_iter()
        .map(|(portion, places)| Ok((portion, take_record_batch(rows, &UInt32Array::from(places))?)))
        .collect()
}
