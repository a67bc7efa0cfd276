//! Each month's figures as they were reported, load by load, so that a page can say that
//! a past month was restated, since when, and which figures moved.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use arrow::array::{ArrayRef, BooleanArray, Float64Array, Int64Array, RecordBatch, StringArray};

use serde::Deserialize;

use crate::engine::Session;
use crate::month::Month;
use crate::warehouse::{Building, WarehouseError};
use crate::words::words;

use super::QueryError;
use super::catalogue::{self, listings};
use super::figures::Figure;
use super::measure::Measuring;

const TABLE: &str = "figure_history";

words! {
    /// Why figures may have changed.
    pub Cause {
        /// Rows that came late, were corrected, withdrawn or merged.
        Data = "data",
        /// The protocol, or siskin's queries.
        Definitions = "definitions",
        /// Both changed in the same load.
        Both = "data_and_definitions",
    }
}

/// A figure of a month that was reported as final and has changed since: a row of the listing
/// `restated`. `told_*` is as it was first reported as final, `now_*` as it is.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[allow(missing_docs)]
pub struct Restated {
    /// Name of the figure.
    pub measure: String,
    pub told_load: i64,
    pub told_numerator: Option<i64>,
    pub told_denominator: Option<i64>,
    pub told_value: Option<f64>,
    pub now_load: i64,
    pub now_numerator: Option<i64>,
    pub now_denominator: Option<i64>,
    pub now_value: Option<f64>,
    /// The last load that moved it, and why.
    pub since_load: i64,
    /// `data`, `definitions` or `data_and_definitions`.
    pub cause: String,
}

/// Stores the network's figures of the months that this load may have changed, where they
/// differ from those stored last. The session must hold every table being built.
///
/// # Errors
/// When the measures fail, or the rows cannot be stored.
pub async fn store(
    measuring: &Measuring<'_>,
    building: &mut Building,
    data_end: Option<Month>,
    cause: Cause,
) -> Result<(), QueryError> {
    let months = touched(building, data_end);
    let known: BTreeSet<Month> = measuring.months().await?.into_iter().collect();
    let wanted: BTreeSet<Month> = months.intersection(&known).copied().collect();
    let mut changed = Vec::new();
    if let (Some(first), Some(last)) = (wanted.first(), wanted.last()) {
        let before = last_reported(measuring.session, building).await?;
        let names: BTreeSet<String> = wanted.iter().map(Month::to_string).collect();
        let counted = measuring.count(wanted.iter().copied(), &[None]).await?;
        let all = counted.figures((*first, *last), None, None).by_month;
        let of_network = all.into_iter().filter(|f| f.split == "all" && names.contains(&f.month));
        changed.extend(of_network.filter(|f| before.get(&key(f)) != Some(&Line::of(f, data_end))));
    }
    let rows = rows(&changed, data_end, cause, building.site().load())?;
    let mut writer = building.site().table(TABLE, &rows.schema(), Some("load"))?;
    if rows.num_rows() > 0 {
        writer.push(&rows)?;
    }
    let mut entry = writer.finish()?;
    if let Some(old) = building.site().carry_over(TABLE)? {
        entry.files.splice(0..0, old.files);
    }
    Ok(building.add(TABLE, entry)?)
}

/// The figures of a month that were reported as final and have changed since.
///
/// # Errors
/// When the snapshot cannot be read.
pub async fn restated(session: &Session, month: Month) -> Result<Vec<Restated>, QueryError> {
    let of = [("month", month.to_string().into())];
    Ok(session.rows(listings::restated, &of).await?)
}

/// Months of which a file of a table that a measure reads has changed, and those that data
/// end has not passed.
fn touched(building: &Building, data_end: Option<Month>) -> BTreeSet<Month> {
    let reads = catalogue::measures()
        .iter()
        .flat_map(|query| query.header.list("reads"));
    let mut months: BTreeSet<Month> = BTreeSet::new();
    for name in reads {
        let hashes = |files: &[crate::warehouse::DataFile]| -> BTreeSet<(String, String)> {
            let of_month = files
                .iter()
                .filter_map(|f| Some((f.month()?.to_owned(), f.sha256.clone())));
            of_month.collect()
        };
        let new = building.manifest().tables.get(name).map(|entry| hashes(&entry.files));
        let old = building.site().table_before(name).map(|entry| hashes(&entry.files));
        let (new, old) = (new.unwrap_or_default(), old.unwrap_or_default());
        let differ = new.symmetric_difference(&old);
        months.extend(differ.filter_map(|(month, _)| month.parse::<Month>().ok()));
        let late = new.iter().filter_map(|(month, _)| month.parse::<Month>().ok());
        months.extend(late.filter(|month| data_end.is_none_or(|end| *month >= end.plus(-1))));
    }
    months
}

/// A figure as it is stored.
#[derive(Clone, Debug, PartialEq)]
struct Line {
    numerator: Option<i64>,
    denominator: Option<i64>,
    value: Option<f64>,
    is_final: bool,
}

impl Line {
    fn of(figure: &Figure, data_end: Option<Month>) -> Self {
        let is_over = figure
            .month
            .parse::<Month>()
            .is_ok_and(|month| data_end.is_some_and(|end| month < end));
        Self {
            numerator: figure.numerator.map(|n| n as i64),
            denominator: figure.denominator.map(|n| n as i64),
            value: figure.value,
            is_final: is_over && figure.denominator.is_some() && figure.open == 0 && !figure.provisional,
        }
    }
}

fn key(figure: &Figure) -> (String, String) {
    (figure.month.clone(), figure.measure.clone())
}

async fn last_reported(session: &Session, building: &Building) -> Result<BTreeMap<(String, String), Line>, QueryError> {
    let site = building.site();
    let (Some(entry), Some(before)) = (site.table_before(TABLE), site.before()) else {
        return Ok(BTreeMap::new());
    };
    let own = session.beside(&[]).await?;
    own.add_files(TABLE, before.path(), entry)?;
    let rows: Vec<LastRow> = own.rows(listings::last_told, &[]).await?;
    let line = |row: LastRow| {
        let line = Line {
            numerator: row.numerator,
            denominator: row.denominator,
            value: row.value,
            is_final: row.is_final,
        };
        ((row.month, row.measure), line)
    };
    Ok(rows.into_iter().map(line).collect())
}

/// A row of the listing `last_told`.
#[derive(Deserialize)]
struct LastRow {
    month: String,
    measure: String,
    numerator: Option<i64>,
    denominator: Option<i64>,
    value: Option<f64>,
    is_final: bool,
}

fn rows(figures: &[Figure], data_end: Option<Month>, cause: Cause, load: i64) -> Result<RecordBatch, WarehouseError> {
    let lines: Vec<Line> = figures.iter().map(|figure| Line::of(figure, data_end)).collect();
    let texts = |of: &dyn Fn(&Figure) -> String| -> ArrayRef {
        Arc::new(StringArray::from_iter_values(figures.iter().map(of)))
    };
    let columns: [(&str, ArrayRef); 8] = [
        ("month", texts(&|f| f.month.clone())),
        ("measure", texts(&|f| f.measure.clone())),
        (
            "numerator",
            Arc::new(Int64Array::from_iter(lines.iter().map(|l| l.numerator))),
        ),
        (
            "denominator",
            Arc::new(Int64Array::from_iter(lines.iter().map(|l| l.denominator))),
        ),
        (
            "value",
            Arc::new(Float64Array::from_iter(lines.iter().map(|l| l.value))),
        ),
        (
            "is_final",
            Arc::new(BooleanArray::from_iter(lines.iter().map(|l| Some(l.is_final)))),
        ),
        ("cause", texts(&|_| cause.word().to_owned())),
        ("load", Arc::new(Int64Array::from(vec![load; figures.len()]))),
    ];
    RecordBatch::try_from_iter(columns).map_err(|source| WarehouseError::Arrow {
        table: TABLE.to_owned(),
        source,
    })
}
