//! The rows of a result as values of a type: each column by its name, and nothing guessed.

use arrow::array::RecordBatch;
use arrow::datatypes::Schema;
use datafusion::error::DataFusionError;
use serde::de::value::Error as Stopped;
use serde::de::{DeserializeOwned, Deserializer, Error, Visitor};
use serde::{Deserialize, forward_to_deserialize_any};

use super::error::EngineError;

/// The rows of a batch of the query `what`.
///
/// # Errors
/// When a column is missing, null where the type has no room for it, or of another type.
pub fn typed<T: DeserializeOwned>(what: &str, batch: &RecordBatch) -> Result<Vec<T>, EngineError> {
    check_columns::<T>(what, &batch.schema())?;
    serde_arrow::from_record_batch(batch).map_err(|error| of_shape(what, error.to_string()))
}

/// Whether a result has a column for every field of the type; a field that may be null needs one too.
///
/// # Errors
/// With the first that has none.
pub(super) fn check_columns<T: DeserializeOwned>(what: &str, schema: &Schema) -> Result<(), EngineError> {
    let missing = fields::<T>().iter().find(|name| schema.index_of(name).is_err());
    missing.map_or(Ok(()), |name| {
        Err(of_shape(what, format!("it gives no column '{name}'")))
    })
}

fn of_shape(what: &str, why: String) -> EngineError {
    EngineError {
        what: what.to_owned(),
        source: Box::new(DataFusionError::Execution(why)),
    }
}

/// Reads a column whose null means that there is none: an empty text, no number, not so. Intake
/// stores an empty text as null, so every text that may be empty is read so.
///
/// # Errors
/// As the type.
pub fn or_none<'de, D: Deserializer<'de>, T: Deserialize<'de> + Default>(column: D) -> Result<T, D::Error> {
    Option::<T>::deserialize(column).map(Option::unwrap_or_default)
}

/// The names of the fields of a struct; none of another type.
fn fields<T: DeserializeOwned>() -> &'static [&'static str] {
    let mut names = Names(&[]);
    // It always stops: only the names are wanted.
    let _ = T::deserialize(&mut names);
    names.0
}

struct Names(&'static [&'static str]);

impl<'de> Deserializer<'de> for &mut Names {
    type Error = Stopped;

    fn deserialize_any<V: Visitor<'de>>(self, _: V) -> Result<V::Value, Stopped> {
        Err(Stopped::custom("no struct"))
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        names: &'static [&'static str],
        _: V,
    ) -> Result<V::Value, Stopped> {
        self.0 = names;
        Err(Stopped::custom("only its names are wanted"))
    }

    forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf option unit
        unit_struct newtype_struct seq tuple tuple_struct map enum identifier ignored_any
    }
}
