//! The cases of a span of months.

use std::cmp::Reverse;

use arrow::array::{BooleanArray, RecordBatch};
use arrow::compute::filter_record_batch;
use serde::Deserialize;

use crate::engine::Session;
use crate::engine::rows::{or_none, typed};
use crate::month::Month;
use crate::queries::QueryError;
use crate::queries::catalogue::listings;

use super::CASES;

/// One finding about one baby: a row of the listing `review_cases`.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
pub struct Case {
    /// Finding and fact; the same at each rendering and after other loads.
    #[serde(rename = "case_key")]
    pub id: String,
    /// What was found, as the review list names it.
    pub finding: String,
    /// Month it counts in.
    pub month: String,
    /// Unit it counts in.
    #[serde(deserialize_with = "or_none")]
    pub unit: String,
    /// The baby.
    pub infant_id: String,
    /// Its moment, epoch seconds.
    pub at_s: i64,
    /// Table of the fact.
    pub fact_table: String,
    /// Id of the fact in it.
    pub fact_id: String,
    /// Of a recheck its rule, of a dangerous miss the serum, of a rise the first test; else empty.
    #[serde(deserialize_with = "or_none")]
    pub beside: String,
    /// How it ended or why no rate has it, where the finding does not say so.
    #[serde(deserialize_with = "or_none")]
    pub outcome: String,
    /// How grave: 1 is the gravest of 5.
    pub grade: i64,
    /// A serum above the line, and no phototherapy.
    pub is_untreated: bool,
    /// How far the serum was above the exchange line; negative below it.
    pub over_exchange_micro: Option<i64>,
}

/// The cases of the months `first` to `last`, gravest first.
///
/// # Errors
/// When the snapshot cannot be read.
pub async fn cases(session: &Session, first: Month, last: Month) -> Result<Vec<Case>, QueryError> {
    let mut all = typed_rows(&rows(session, first, last).await?)?;
    put_in_order(&mut all);
    Ok(all)
}

/// Those that are to be shown; their rows stay in the session for the listings of a review.
pub(super) async fn shown(
    session: &Session,
    first: Month,
    last: Month,
    is_shown: impl Fn(&[Case]) -> Vec<bool>,
) -> Result<Vec<Case>, QueryError> {
    let mut all = Vec::new();
    let mut kept = Vec::new();
    for batch in rows(session, first, last).await? {
        let cases = typed_rows(std::slice::from_ref(&batch))?;
        let is_shown = is_shown(&cases);
        let mask = BooleanArray::from(is_shown.clone());
        let of_session = filter_record_batch(&batch, &mask).map_err(|source| QueryError::Shape {
            measure: listings::review_cases.name.to_owned(),
            why: source.to_string(),
        })?;
        kept.push(of_session);
        all.extend(
            cases
                .into_iter()
                .zip(is_shown)
                .filter_map(|(case, is)| is.then_some(case)),
        );
    }
    if let Some(batch) = kept.first() {
        session.add_batches(CASES, &batch.schema(), kept.clone())?;
    }
    put_in_order(&mut all);
    Ok(all)
}

async fn rows(session: &Session, first: Month, last: Month) -> Result<Vec<RecordBatch>, QueryError> {
    let months = [
        ("first_month", first.to_string().into()),
        ("last_month", last.to_string().into()),
    ];
    Ok(session.batches(listings::review_cases, &months).await?)
}

fn typed_rows(batches: &[RecordBatch]) -> Result<Vec<Case>, QueryError> {
    let mut all = Vec::new();
    for batch in batches {
        all.extend(typed::<Case>(listings::review_cases.name, batch)?);
    }
    Ok(all)
}

/// Gravest first; inside a grade the untreated, then by value above the exchange line, then the newest.
fn put_in_order(cases: &mut [Case]) {
    let place = |case: &Case| {
        (
            case.grade,
            !case.is_untreated,
            Reverse(case.over_exchange_micro),
            Reverse(case.at_s),
        )
    };
    cases.sort_by(|a, b| place(a).cmp(&place(b)).then_with(|| a.id.cmp(&b.id)));
}
