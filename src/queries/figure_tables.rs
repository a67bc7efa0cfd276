//! Figures as two tables that can be asked for in SQL: `measures`, and the
//! counts behind them as `measure_outcomes`.

use std::sync::Arc;

use arrow::array::{ArrayRef, BooleanArray, Float64Array, Int64Array, RecordBatch, StringArray};

use crate::engine::{EngineError, Session};
use crate::warehouse::type_word;

use super::figures::Figure;

/// The names of the two tables.
pub const NAMES: [&str; 2] = ["measures", "measure_outcomes"];

/// Whether a question over these tables needs the figures.
pub fn are_read_by(tables: &[String]) -> bool {
    tables.iter().any(|name| NAMES.contains(&name.as_str()))
}

/// Adds both tables to a session.
///
/// # Errors
/// Only when Arrow refuses them, which would be a fault of their columns.
pub fn add(session: &Session, figures: &[Figure]) -> Result<(), EngineError> {
    for (name, columns) in NAMES.into_iter().zip([measures(figures), outcomes(figures)]) {
        let rows = RecordBatch::try_from_iter_with_nullable(columns.into_iter().map(|(n, a)| (n, a, true)));
        let rows = rows.map_err(|source| EngineError {
            what: name.to_owned(),
            source: Box::new(source.into()),
        })?;
        session.add_batches(name, &rows.schema(), vec![rows.clone()])?;
    }
    Ok(())
}

/// Columns of one of the two, with the words the manifest uses for types.
pub fn columns(table: &str) -> Vec<(String, String)> {
    let columns = if table == NAMES[0] {
        measures(&[])
    } else {
        outcomes(&[])
    };
    let described = |(name, array): (&str, ArrayRef)| (name.to_owned(), type_word(array.data_type()).to_owned());
    columns.into_iter().map(described).collect()
}

type Columns = Vec<(&'static str, ArrayRef)>;

fn text<'a>(values: impl Iterator<Item = &'a str>) -> ArrayRef {
    Arc::new(StringArray::from_iter_values(values))
}

fn count(values: impl Iterator<Item = Option<u64>>) -> ArrayRef {
    Arc::new(Int64Array::from_iter(
        values.map(|n| n.and_then(|n| i64::try_from(n).ok())),
    ))
}

fn number(values: impl Iterator<Item = Option<f64>>) -> ArrayRef {
    Arc::new(Float64Array::from_iter(values))
}

/// As in `measures.csv`, without its columns for outcomes and reasons.
fn measures(figures: &[Figure]) -> Columns {
    let each = || figures.iter();
    let provisional: BooleanArray = each().map(|f| Some(f.provisional)).collect();
    vec![
        ("measure", text(each().map(|f| f.measure.as_str()))),
        ("month", text(each().map(|f| f.month.as_str()))),
        ("split", text(each().map(|f| f.split.as_str()))),
        ("group", text(each().map(|f| f.group.as_str()))),
        ("numerator", count(each().map(|f| f.numerator))),
        ("denominator", count(each().map(|f| f.denominator))),
        ("value", number(each().map(|f| f.value))),
        ("lower", number(each().map(|f| f.lower))),
        ("upper", number(each().map(|f| f.upper))),
        ("difference", number(each().map(|f| f.difference))),
        ("difference_lower", number(each().map(|f| f.difference_lower))),
        ("difference_upper", number(each().map(|f| f.difference_upper))),
        ("open", count(each().map(|f| Some(f.open)))),
        ("provisional", Arc::new(provisional)),
        ("protocol", text(each().map(|f| f.protocol.as_str()))),
        ("load", Arc::new(Int64Array::from_iter_values(each().map(|f| f.load)))),
    ]
}

/// One row per figure and outcome, and per figure and reason for which something is left out.
fn outcomes(figures: &[Figure]) -> Columns {
    let rows: Vec<(&Figure, &str, &String, u64)> = figures
        .iter()
        .flat_map(|f| {
            let outcomes = f.outcomes.iter().map(move |(name, n)| (f, "outcome", name, *n));
            outcomes.chain(f.left_out.iter().map(move |(name, n)| (f, "left_out", name, *n)))
        })
        .collect();
    let each = || rows.iter();
    vec![
        ("measure", text(each().map(|r| r.0.measure.as_str()))),
        ("month", text(each().map(|r| r.0.month.as_str()))),
        ("split", text(each().map(|r| r.0.split.as_str()))),
        ("group", text(each().map(|r| r.0.group.as_str()))),
        ("kind", text(each().map(|r| r.1))),
        ("name", text(each().map(|r| r.2.as_str()))),
        ("n", count(each().map(|r| Some(r.3)))),
    ]
}
