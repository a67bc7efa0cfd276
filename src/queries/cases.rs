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
use crate::warehouse::{Building, ByMonth, Site, TableEntry, WarehouseError};

use super::QueryError;
use super::catalogue::{self, Query};
use super::renewed::Renewed;

/// The table.
pub const TABLE: &str = "cases";

/// Its columns, in their order.
const COLUMNS: [(&str, DataType); 13] = [
    ("measure", DataType::Utf8),
    ("figure", DataType::Utf8),
    ("unit", DataType::Utf8),
    ("infant_id", DataType::Utf8),
    ("case_id", DataType::Utf8),
    ("cluster_id", DataType::Utf8),
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
pub(super) const OF_MONTHS: &str = "meter_checks";

/// Rows of no portion yet.
pub(super) fn by_month(site: &Site) -> ByMonth {
    site.by_month(TABLE, &schema(), &ORDER)
}

/// The table, once the cases of all portions are there: with those of the measure of months, and
/// with `renewed` those of all others as they were. The session must hold all tables they are read from.
///
/// # Errors
/// When the measure fails, or the rows cannot be stored.
pub(super) async fn with_those_of_months(
    session: &Session,
    building: &Building,
    renewed: Option<&Renewed>,
    mut rows: ByMonth,
) -> Result<TableEntry, QueryError> {
    let site = building.site();
    let part = renewed.zip(site.table_before(TABLE));
    let months = part.map_or_else(String::new, |(renewed, _)| {
        let months: Vec<&str> = renewed.all_months().collect();
        months.join(" ")
    });
    for query in catalogue::measures().iter().filter(|query| query.name == OF_MONTHS) {
        let mut found = session
            .stream(query.as_sql(), &[("months", months.as_str().into())])
            .await?;
        check_columns(query, &found.schema())?;
        while let Some(batch) = next_batch(query.name, &mut found).await? {
            rows.push(&as_cases(&batch, query.name)?)?;
        }
    }
    let Some((renewed, before)) = part else {
        return Ok(rows.finish(session.threads())?);
    };
    let mut touched: BTreeSet<String> = renewed.all_months().map(str::to_owned).collect();
    touched.extend(rows.months().map(str::to_owned));
    rows.push_before(before, &touched, |rows| are_kept(rows, renewed))?;
    let mut entry = rows.finish(session.threads())?;
    entry.take_in(site.carry_over_months(TABLE, |month| !touched.contains(month))?);
    Ok(entry)
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

/// Whether a measure gives columns of a case only.
///
/// # Errors
/// With the first that is none.
pub(super) fn check_columns(query: &Query, given: &SchemaRef) -> Result<(), QueryError> {
    let is_known = |name: &str| COLUMNS.iter().any(|(column, _)| *column == name);
    match given.fields().iter().find(|field| !is_known(field.name())) {
        None => Ok(()),
        Some(column) => Err(QueryError::Shape {
            measure: query.name.to_owned(),
            why: format!("a case has no column '{}'", column.name()),
        }),
    }
}

fn schema() -> SchemaRef {
    let fields = COLUMNS.map(|(name, kind)| Field::new(name, kind, true));
    Arc::new(Schema::new(fields.to_vec()))
}

/// The rows of a measure with all columns of a case; what a measure does not give is unknown.
///
/// # Errors
/// When a column is of another kind.
pub(super) fn as_cases(rows: &RecordBatch, measure: &str) -> Result<RecordBatch, WarehouseError> {
    let n = rows.num_rows();
    let schema = schema();
    let column = |field: &Arc<Field>| -> Result<ArrayRef, ArrowError> {
        match rows.column_by_name(field.name()) {
            _ if field.name() == "measure" => {
                Ok(Arc::new(StringArray::from_iter_values(std::iter::repeat_n(measure, n))))
            }
            Some(given) => cast(given, field.data_type()),
            None => Ok(new_null_array(field.data_type(), n)),
        }
    };
    let columns = schema.fields().iter().map(column).collect::<Result<_, _>>();
    let cases = columns.and_then(|columns| RecordBatch::try_new(schema, columns));
    cases.map_err(|source| WarehouseError::Arrow {
        table: TABLE.to_owned(),
        source,
    })
}
