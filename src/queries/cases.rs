//! Derives the table `cases`: what every measure counts, one file for each month.
//!
//! A measure is run once a load, over the babies that are derived anew; their rows are put among
//! those of all others as they were. What meters did is of no baby, so that measure is run over
//! the months that the load may have changed.

use std::collections::BTreeSet;
use std::sync::Arc;

use arrow::array::{ArrayRef, AsArray, BooleanArray, RecordBatch, StringArray, new_null_array};
use arrow::compute::{and, cast, not};
use arrow::datatypes::{DataType, Field, Schema, SchemaRef};
use arrow::error::ArrowError;

use crate::engine::{Session, next_batch};
use crate::warehouse::{Building, ByMonth, WarehouseError};

use super::QueryError;
use super::catalogue::{self, Query};
use super::renewed::Renewed;

/// The table.
pub const TABLE: &str = "cases";

/// Its columns, in their order.
const COLUMNS: [(&str, DataType); 12] = [
    ("measure", DataType::Utf8),
    ("figure", DataType::Utf8),
    ("unit", DataType::Utf8),
    ("infant_id", DataType::Utf8),
    ("case_id", DataType::Utf8),
    ("at_s", DataType::Int64),
    ("kind", DataType::Utf8),
    ("name", DataType::Utf8),
    ("also", DataType::Utf8),
    ("time_s", DataType::Int64),
    ("difference_micro", DataType::Int64),
    ("month", DataType::Utf8),
];

/// The order of its rows: whole, so that the same cases are the same bytes.
const ORDER: [&str; 6] = ["measure", "figure", "infant_id", "case_id", "kind", "name"];

/// The measure whose rows are of no baby.
const OF_MONTHS: &str = "meter_checks";

/// Derives the cases into the snapshot being built, which must hold every table they are read
/// from; `of_babies` sees of these the rows of the babies derived anew, or all without `renewed`.
///
/// # Errors
/// When a measure fails, returns other columns than a case has, or its rows cannot be stored.
pub(super) async fn derive(
    of_babies: &Session,
    building: &mut Building,
    renewed: Option<&Renewed>,
    progress: &mut dyn FnMut(&str),
) -> Result<(), QueryError> {
    let site = building.site().clone();
    let schema: SchemaRef = Arc::new(Schema::new(
        COLUMNS.map(|(name, kind)| Field::new(name, kind, true)).to_vec(),
    ));
    let mut by_month = site.by_month(TABLE, &schema, &ORDER);
    let before = site.table_before(TABLE).cloned();
    let part = renewed.zip(before);
    let months = part.as_ref().map_or_else(String::new, |(renewed, _)| {
        let months: Vec<&str> = renewed.all_months().collect();
        months.join(" ")
    });
    for query in catalogue::measures() {
        progress(query.name);
        let (session, parameters) = match query.name == OF_MONTHS {
            true => (
                whole(of_babies, building, query).await?,
                vec![("months", months.clone())],
            ),
            false => (of_babies.clone(), Vec::new()),
        };
        pour(&session, query, &parameters, &schema, &mut by_month).await?;
    }
    progress(TABLE);
    let Some((renewed, before)) = part else {
        building.add(TABLE, by_month.finish(of_babies.threads())?)?;
        return Ok(());
    };
    let mut touched: BTreeSet<String> = renewed.all_months().map(str::to_owned).collect();
    touched.extend(by_month.months().map(str::to_owned));
    by_month.push_before(&before, &touched, |rows| are_kept(rows, renewed))?;
    let mut entry = by_month.finish(of_babies.threads())?;
    entry.take_in(site.carry_over_months(TABLE, |month| !touched.contains(month))?);
    Ok(building.add(TABLE, entry)?)
}

/// Rows of before that were not counted anew: those of other babies, but for the measure of months.
fn are_kept(rows: &RecordBatch, renewed: &Renewed) -> Result<BooleanArray, ArrowError> {
    let measures = rows.column(0).as_string::<i32>();
    let are_of_months: BooleanArray = measures
        .iter()
        .map(|measure| Some(measure == Some(OF_MONTHS)))
        .collect();
    and(&not(&are_of_months)?, &renewed.are_of_others(rows)?)
}

/// A session that sees the whole of the tables that a query reads.
async fn whole(beside: &Session, building: &Building, query: &Query) -> Result<Session, QueryError> {
    let session = beside.beside(&[]).await?;
    for table in query.header.list("reads") {
        if let Some(entry) = building.manifest().tables.get(table) {
            session.add_files(table, building.site().path(), entry)?;
        }
    }
    Ok(session)
}

/// Runs a measure and puts its rows into the files of their months.
async fn pour(
    session: &Session,
    query: &Query,
    parameters: &[(&str, String)],
    schema: &SchemaRef,
    by_month: &mut ByMonth,
) -> Result<(), QueryError> {
    let mut rows = session.stream(query.name, query.sql, parameters).await?;
    for column in rows.schema().fields() {
        if schema.index_of(column.name()).is_err() {
            return Err(QueryError::Shape {
                measure: query.name.to_owned(),
                why: format!("a case has no column '{}'", column.name()),
            });
        }
    }
    while let Some(batch) = next_batch(query.name, &mut rows).await? {
        let cases = as_cases(&batch, query.name, schema).map_err(|source| WarehouseError::Arrow {
            table: TABLE.to_owned(),
            source,
        })?;
        by_month.push(&cases)?;
    }
    Ok(())
}

/// The rows of a measure with all columns of a case; what a measure does not tell is unknown.
fn as_cases(rows: &RecordBatch, measure: &str, schema: &SchemaRef) -> Result<RecordBatch, ArrowError> {
    let n = rows.num_rows();
    let column = |field: &Arc<Field>| -> Result<ArrayRef, ArrowError> {
        match rows.column_by_name(field.name()) {
            _ if field.name() == "measure" => {
                Ok(Arc::new(StringArray::from_iter_values(std::iter::repeat_n(measure, n))))
            }
            Some(told) => cast(told, field.data_type()),
            None => Ok(new_null_array(field.data_type(), n)),
        }
    };
    RecordBatch::try_new(
        schema.clone(),
        schema.fields().iter().map(column).collect::<Result<_, _>>()?,
    )
}
