//! One typed cell, and the builders that collect cells into Arrow columns.

use arrow::array::{
    ArrayRef, BooleanBuilder, Date32Builder, Float64Builder, Int32Builder, Int64Builder, RecordBatch, StringBuilder,
    TimestampMicrosecondBuilder,
};
use arrow::datatypes::{DataType, SchemaRef};
use arrow::error::ArrowError;
use std::borrow::Cow;
use std::sync::Arc;

/// One typed cell of a stored row; text is borrowed where it stands in the source as it is stored.
#[derive(Clone, Debug, PartialEq)]
pub enum Field<'a> {
    /// Unknown.
    Null,
    /// Text.
    Text(Cow<'a, str>),
    /// A whole number, seconds, or micro-units; also for 32-bit columns.
    Int(i64),
    /// A measured number.
    Real(f64),
    /// Yes or no.
    Flag(bool),
}

impl<'a> Field<'a> {
    /// Text, or null when empty.
    pub fn text(text: impl Into<Cow<'a, str>>) -> Self {
        let text = text.into();
        if text.is_empty() { Self::Null } else { Self::Text(text) }
    }

    /// A whole number, or null.
    pub fn int(value: Option<i64>) -> Self {
        value.map_or(Self::Null, Self::Int)
    }
}

enum Column {
    Text(StringBuilder),
    Int32(Int32Builder),
    Int64(Int64Builder),
    Real(Float64Builder),
    Flag(BooleanBuilder),
    Day(Date32Builder),
    Instant(TimestampMicrosecondBuilder),
}

/// Collects rows of one schema into record batches.
pub struct Batches {
    schema: SchemaRef,
    columns: Vec<Column>,
    rows: usize,
}

impl Batches {
    /// For rows of `schema`.
    pub fn new(schema: SchemaRef) -> Self {
        let columns = schema.fields().iter().map(|f| column(f.data_type())).collect();
        Self {
            schema,
            columns,
            rows: 0,
        }
    }

    /// Rows collected since the last [`Batches::take`].
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// Adds one row, whose fields follow the schema's order.
    pub fn push(&mut self, row: &[Field<'_>]) {
        debug_assert_eq!(row.len(), self.columns.len());
        for (column, field) in self.columns.iter_mut().zip(row) {
            append(column, field);
        }
        self.rows += 1;
    }

    /// The rows so far as one batch; the collector is empty again.
    ///
    /// # Errors
    /// Only when Arrow refuses the columns, which would be a fault of the schema.
    pub fn take(&mut self) -> Result<RecordBatch, ArrowError> {
        self.rows = 0;
        let arrays = self.columns.iter_mut().map(finish).collect();
        RecordBatch::try_new(self.schema.clone(), arrays)
    }
}

fn column(of: &DataType) -> Column {
    match of {
        DataType::Int32 => Column::Int32(Int32Builder::new()),
        DataType::Int64 => Column::Int64(Int64Builder::new()),
        DataType::Float64 => Column::Real(Float64Builder::new()),
        DataType::Boolean => Column::Flag(BooleanBuilder::new()),
        DataType::Date32 => Column::Day(Date32Builder::new()),
        DataType::Timestamp(..) => Column::Instant(TimestampMicrosecondBuilder::new().with_timezone("UTC")),
        _ => Column::Text(StringBuilder::new()),
    }
}

fn append(column: &mut Column, field: &Field<'_>) {
    let int = match field {
        Field::Int(value) => Some(*value),
        _ => None,
    };
    let small = int.and_then(|value| i32::try_from(value).ok());
    match column {
        Column::Text(to) => to.append_option(match field {
            Field::Text(text) => Some(text),
            _ => None,
        }),
        Column::Int32(to) => to.append_option(small),
        Column::Int64(to) => to.append_option(int),
        Column::Real(to) => to.append_option(match field {
            Field::Real(value) => Some(*value),
            _ => None,
        }),
        Column::Flag(to) => to.append_option(match field {
            Field::Flag(value) => Some(*value),
            _ => None,
        }),
        Column::Day(to) => to.append_option(small),
        Column::Instant(to) => to.append_option(int),
    }
}

fn finish(column: &mut Column) -> ArrayRef {
    match column {
        Column::Text(from) => Arc::new(from.finish()),
        Column::Int32(from) => Arc::new(from.finish()),
        Column::Int64(from) => Arc::new(from.finish()),
        Column::Real(from) => Arc::new(from.finish()),
        Column::Flag(from) => Arc::new(from.finish()),
        Column::Day(from) => Arc::new(from.finish()),
        Column::Instant(from) => Arc::new(from.finish()),
    }
}
