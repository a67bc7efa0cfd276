//! The cases of a span of months.

use std::cmp::Reverse;

use arrow::array::RecordBatch;
use serde::Deserialize;

use crate::engine::Session;
use crate::engine::rows::{or_none, typed};
use crate::month::Month;
use crate::queries::QueryError;
use crate::queries::catalogue::listings;

use super::{CASES, Grade};

/// One finding about one baby.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Case {
    /// Finding and fact; the same at each rendering and after other loads.
    pub id: String,
    /// What was found, as `review_cases.sql` names it.
    pub finding: String,
    /// How grave that is.
    pub grade: Grade,
    /// Month it counts in.
    pub month: String,
    /// Unit it counts in.
    pub unit: String,
    /// The baby.
    pub infant_id: String,
    /// Its moment, epoch seconds.
    pub at_s: i64,
    /// Table of the fact.
    pub fact_table: String,
    /// Id of the fact in it.
    pub fact_id: String,
    /// Of a recheck its rule, of a dangerous miss the serum; else empty.
    pub beside: String,
    /// A referral without an answer of a baby who died.
    pub is_before_death: bool,
    /// A readmission in these months of a baby born before them.
    pub is_born_before: bool,
}

/// The cases of the months `first` to `last`, gravest first, within a grade the newest first.
///
/// # Errors
/// When the snapshot cannot be read.
pub async fn cases(session: &Session, first: Month, last: Month) -> Result<Vec<Case>, QueryError> {
    in_order(&rows(session, first, last).await?)
}

/// The same; their rows stay in the session for the listings of a review.
pub(super) async fn shown(session: &Session, first: Month, last: Month) -> Result<Vec<Case>, QueryError> {
    let rows = rows(session, first, last).await?;
    if let Some(batch) = rows.first() {
        session.add_batches(CASES, &batch.schema(), rows.clone())?;
    }
    in_order(&rows)
}

async fn rows(session: &Session, first: Month, last: Month) -> Result<Vec<RecordBatch>, QueryError> {
    let months = [
        ("first_month", first.to_string().into()),
        ("last_month", last.to_string().into()),
    ];
    Ok(session.batches(listings::review_cases, &months).await?)
}

/// A row of the listing `review_cases`.
#[derive(Deserialize)]
struct CaseRow {
    case_key: String,
    finding: String,
    month: String,
    #[serde(deserialize_with = "or_none")]
    unit: String,
    infant_id: String,
    at_s: i64,
    fact_table: String,
    fact_id: String,
    #[serde(deserialize_with = "or_none")]
    beside: String,
    is_before_death: bool,
    is_born_before: bool,
}

fn in_order(batches: &[RecordBatch]) -> Result<Vec<Case>, QueryError> {
    let mut all = Vec::new();
    for batch in batches {
        let rows: Vec<CaseRow> = typed(listings::review_cases.name, batch)?;
        all.extend(rows.into_iter().map(|row| Case {
            grade: Grade::of(&row.finding, row.is_before_death),
            finding: row.finding,
            id: row.case_key,
            month: row.month,
            unit: row.unit,
            infant_id: row.infant_id,
            at_s: row.at_s,
            fact_table: row.fact_table,
            fact_id: row.fact_id,
            beside: row.beside,
            is_before_death: row.is_before_death,
            is_born_before: row.is_born_before,
        }));
    }
    all.sort_by(|a, b| (a.grade, Reverse(a.at_s), &a.id).cmp(&(b.grade, Reverse(b.at_s), &b.id)));
    Ok(all)
}
