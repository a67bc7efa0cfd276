//! Typed access to the cells of small results.

use arrow::array::{Array, AsArray, RecordBatch};
use arrow::compute::cast;
use arrow::datatypes::{DataType, Float64Type, Int64Type};

/// The rows of a small result, one after another.
pub struct Cells {
    names: Vec<String>,
    batches: Vec<RecordBatch>,
}

impl Cells {
    /// Wraps batches of one query.
    pub fn new(batches: Vec<RecordBatch>) -> Self {
        let names = batches.first().map_or_else(Vec::new, |batch| {
            let fields = batch.schema();
            fields.fields().iter().map(|f| f.name().clone()).collect()
        });
        Self { names, batches }
    }

    /// A column of whole numbers; null where the cell is, or is no whole number.
    pub fn ints(&self, name: &str) -> Vec<Option<i64>> {
        self.column(name, &DataType::Int64, |array, i| {
            array.as_primitive_opt::<Int64Type>().map(|a| a.value(i))
        })
    }

    /// A column of text; null where the cell is.
    pub fn texts(&self, name: &str) -> Vec<Option<String>> {
        self.column(name, &DataType::Utf8, |array, i| {
            array.as_string_opt::<i32>().map(|a| a.value(i).to_owned())
        })
    }

    /// A column of measured numbers; null where the cell is.
    pub fn reals(&self, name: &str) -> Vec<Option<f64>> {
        self.column(name, &DataType::Float64, |array, i| {
            array.as_primitive_opt::<Float64Type>().map(|a| a.value(i))
        })
    }

    fn column<T>(&self, name: &str, of: &DataType, value: fn(&dyn Array, usize) -> Option<T>) -> Vec<Option<T>> {
        let Some(place) = self.names.iter().position(|n| n == name) else {
            return Vec::new();
        };
        let mut all = Vec::new();
        for batch in &self.batches {
            let Ok(array) = cast(batch.column(place), of) else {
                all.extend((0..batch.num_rows()).map(|_| None));
                continue;
            };
            for i in 0..array.len() {
                all.push(if array.is_null(i) {
                    None
                } else {
                    value(array.as_ref(), i)
                });
            }
        }
        all
    }
}
