//! Builds the derived tables, each when those it reads are there; several at a time.

use std::collections::{BTreeSet, HashSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use arrow::array::{AsArray, BooleanArray, RecordBatch, StringArray};
use arrow::compute::filter_record_batch;
use arrow::datatypes::{DataType, Field, Schema, SchemaRef};
use arrow::error::ArrowError;

use crate::engine::values::Cells;
use crate::engine::{Session, next_batch};
use crate::warehouse::{Building, DataFile, Site, TableEntry, WarehouseError, read_stored};

use super::catalogue::{self, Query};
use super::run::{QueryError, Tasks, pour, side_by_side};

/// Tables of which a query sees only the rows of the babies that are derived anew.
const OF_BABIES: [&str; 6] = ["births", "screens", "serum", "phototherapy", "stays", "exchanges"];

/// The babies that are derived anew, and the months in which anything of them lies, before
/// this load or after it. What is derived of a baby lies in these months.
#[derive(Debug, Default)]
pub struct Renewed {
    babies: HashSet<String>,
    months: BTreeSet<String>,
}

impl Renewed {
    /// The babies that a query names, and their months in the snapshot being built and in the
    /// one before it.
    ///
    /// # Errors
    /// When the query fails, or a table cannot be read.
    pub async fn of(
        session: &Session,
        building: &Building,
        (what, sql): (&str, &str),
        parameters: &[(&str, String)],
    ) -> Result<Self, QueryError> {
        let mut renewed = Self::default();
        let mut rows = session.stream(what, sql, parameters).await?;
        while let Some(batch) = next_batch(what, &mut rows).await? {
            let ids = Cells::new(vec![batch]).texts("infant_id");
            renewed.babies.extend(ids.into_iter().flatten());
        }
        let site = building.site();
        for table in OF_BABIES {
            if let Some(entry) = building.manifest().tables.get(table) {
                renewed.add_months(table, site.path(), &entry.files)?;
            }
            if let (Some(before), Some(entry)) = (site.before(), site.table_before(table)) {
                let now = building.manifest().tables.get(table);
                let is_kept = |file: &DataFile| now.is_some_and(|now| now.files.contains(file));
                let gone = entry.files.iter().filter(|file| !is_kept(file));
                renewed.add_months(table, before.path(), gone)?;
            }
        }
        Ok(renewed)
    }

    /// Adds the months in which rows of the babies begin or end.
    fn add_months<'f>(
        &mut self,
        table: &str,
        root: &Path,
        files: impl IntoIterator<Item = &'f DataFile>,
    ) -> Result<(), QueryError> {
        for file in files {
            let Some(month) = file.month() else { continue };
            for batch in read_stored(&root.join(&file.path), table, Some(&["infant_id", "until_month"]))? {
                let batch = batch?;
                let babies = self.are_of(&batch);
                if babies.true_count() == 0 {
                    continue;
                }
                self.months.insert(month.to_owned());
                let until = batch
                    .column_by_name("until_month")
                    .map(|column| column.as_string::<i32>());
                for (is_one, until) in babies.iter().zip(until.into_iter().flatten()) {
                    if let (Some(true), Some(until)) = (is_one, until) {
                        self.months.insert(until.to_owned());
                    }
                }
            }
        }
        Ok(())
    }

    /// Whether each row is of one of the babies.
    fn are_of(&self, rows: &RecordBatch) -> BooleanArray {
        match rows.column_by_name("infant_id") {
            Some(ids) => {
                let ids = ids.as_string::<i32>().iter();
                BooleanArray::from_iter(ids.map(|id| Some(id.is_some_and(|id| self.babies.contains(id)))))
            }
            None => BooleanArray::from(vec![false; rows.num_rows()]),
        }
    }

    /// The rows of the babies, each with its month.
    fn rows_of(&self, rows: &RecordBatch, month: &str, schema: &SchemaRef) -> Result<RecordBatch, QueryError> {
        let arrow = |source| WarehouseError::Arrow {
            table: "of_babies".to_owned(),
            source,
        };
        let own = filter_record_batch(rows, &self.are_of(rows)).map_err(arrow)?;
        let mut columns = own.columns().to_vec();
        columns.push(Arc::new(StringArray::from_iter_values(std::iter::repeat_n(
            month,
            own.num_rows(),
        ))));
        Ok(RecordBatch::try_new(schema.clone(), columns).map_err(arrow)?)
    }

    fn are_of_others(&self, rows: &RecordBatch) -> Result<BooleanArray, ArrowError> {
        arrow::compute::not(&self.are_of(rows))
    }
}

/// Derives every table into the snapshot being built and makes each known to the session.
///
/// The session must hold the source tables, their versions, `data_ends` and the protocol
/// tables. With `renewed`, only of its babies, whose rows are put among those of all others
/// as they were, in the months of these babies. `progress` hears each table's name.
///
/// # Errors
/// When a query fails or its rows cannot be stored.
pub async fn derive(
    session: &Session,
    building: &mut Building,
    renewed: Option<Renewed>,
    progress: &mut dyn FnMut(&str),
) -> Result<(), QueryError> {
    let all = session;
    let renewed = renewed.map(Arc::new);
    let session = match &renewed {
        None => session.clone(),
        Some(renewed) => of_babies(session, building, renewed).await?,
    };
    let mut waiting: Vec<&'static Query> = catalogue::derived().iter().collect();
    let mut tasks = Tasks::new();
    let at_once = side_by_side(rows_of(building, renewed.as_deref()));
    let mut missing: Vec<&str> = waiting.iter().map(|query| query.name).collect();
    loop {
        let is_ready = |query: &Query| !query.header.list("reads").iter().any(|read| missing.contains(read));
        while tasks.running() < at_once {
            let Some(next) = waiting.iter().position(|query| is_ready(query)) else {
                break;
            };
            let query = waiting.remove(next);
            progress(query.name);
            // What is of no baby is derived of all rows.
            let of = if is_by_month(query) { &session } else { all };
            tasks.spawn(one(of.clone(), building.site().clone(), query, renewed.clone()));
        }
        let Some(derived) = tasks.next().await? else {
            break;
        };
        missing.retain(|table| *table != derived.name);
        if let Err(error) = keep(&session, building, derived) {
            tasks.stop().await;
            return Err(error);
        }
    }
    Ok(())
}

/// Adds a finished table to the snapshot; later queries see what was derived of it now.
fn keep(session: &Session, building: &mut Building, derived: Derived) -> Result<(), QueryError> {
    building.add(derived.name, derived.whole)?;
    Ok(session.add_files(derived.name, &derived.root, &derived.seen)?)
}

/// How many rows are looked at, about: all of the tables of babies, or the babies' share.
fn rows_of(building: &Building, renewed: Option<&Renewed>) -> u64 {
    let rows = |table: &str| building.manifest().tables.get(table).map_or(0, TableEntry::rows);
    let all: u64 = OF_BABIES.iter().map(|table| rows(table)).sum();
    let births = rows("births").max(1);
    renewed.map_or(all, |renewed| all / births * renewed.babies.len() as u64)
}

/// A session that sees of each table of babies only the rows of those that are derived anew.
async fn of_babies(session: &Session, building: &Building, renewed: &Renewed) -> Result<Session, QueryError> {
    let own = session.beside(&[]).await?;
    let site = building.site();
    for (name, entry) in &building.manifest().tables {
        if !OF_BABIES.contains(&name.as_str()) {
            own.add_files(name, site.path(), entry)?;
            continue;
        }
        let mut schema: Vec<_> = entry.schema().fields().iter().cloned().collect();
        schema.push(Arc::new(Field::new("month", DataType::Utf8, true)));
        let schema = Arc::new(Schema::new(schema));
        let mut writer = site.scratch_table(&format!("of_babies_{name}"), &schema)?;
        for file in &entry.files {
            let Some(month) = file.month().filter(|month| renewed.months.contains(*month)) else {
                continue;
            };
            for batch in read_stored(&site.path().join(&file.path), name, None)? {
                writer.push(&renewed.rows_of(&batch?, month, &schema)?)?;
            }
        }
        own.add_files(name, &site.scratch(), &writer.finish()?)?;
    }
    Ok(own)
}

/// A derived table: its name, what later queries see of it and where, and the whole of it.
struct Derived {
    name: &'static str,
    root: PathBuf,
    seen: TableEntry,
    whole: TableEntry,
}

async fn one(
    session: Session,
    site: Site,
    query: &'static Query,
    renewed: Option<Arc<Renewed>>,
) -> Result<Derived, QueryError> {
    let name = query.name;
    if !is_by_month(query) {
        let whole = pour(&session, name, query.sql, &[], |rows| {
            site.table(name, &rows.schema(), None)
        })
        .await?;
        return Ok(Derived {
            name,
            root: site.path().to_owned(),
            seen: whole.clone(),
            whole,
        });
    }
    let mut rows = session.stream(name, query.sql, &[]).await?;
    let mut by_month = site.by_month(name, &rows.schema(), &query.header.list("order"));
    let before = site.table_before(name).cloned();
    let part = renewed.zip(before);
    let mut seen = match part {
        Some(_) => Some(site.scratch_table(&format!("new_{name}"), &rows.schema())?),
        None => None,
    };
    while let Some(batch) = next_batch(name, &mut rows).await? {
        by_month.push(&batch)?;
        if let Some(seen) = &mut seen {
            seen.push(&batch)?;
        }
    }
    let (Some((renewed, before)), Some(seen)) = (part, seen) else {
        let whole = by_month.finish(session.threads())?;
        return Ok(Derived {
            name,
            root: site.path().to_owned(),
            seen: whole.clone(),
            whole,
        });
    };
    let mut months = renewed.months.clone();
    months.extend(by_month.months().map(str::to_owned));
    by_month.push_before(&before, &months, |rows| renewed.are_of_others(rows))?;
    let mut whole = by_month.finish(session.threads())?;
    whole.take_in(site.carry_over_months(name, |month| !months.contains(month))?);
    Ok(Derived {
        name,
        root: site.scratch(),
        seen: seen.finish()?,
        whole,
    })
}

/// Whether a derived table is kept by the month of its rows, each of one baby.
fn is_by_month(query: &Query) -> bool {
    !query.header.get("order").is_empty()
}
