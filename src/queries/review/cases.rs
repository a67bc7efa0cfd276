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

/// One finding about one baby: a row of the listing `review_cases`.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
pub struct Case {
    /// Finding and fact; the same at each rendering and after other loads.
    #[serde(rename = "case_key")]
    pub id: String,
    /// What was found, as `review_cases.sql` names it.
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
    /// Of a recheck its rule, of a dangerous miss the serum; else empty.
    #[serde(deserialize_with = "or_none")]
    pub beside: String,
    /// A referral without an answer of a baby who died.
    pub is_before_death: bool,
    /// A readmission in these months of a baby born before them.
    pub is_born_before: bool,
}

impl Case {
    /// How grave what was found is.
    pub fn grade(&self) -> Grade {
        Grade::of(&self.finding, self.is_before_death)
    }
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

fn in_order(batches: &[RecordBatch]) -> Result<Vec<Case>, QueryError> {
    let mut all = Vec::new();
    for batch in batches {
        all.extend(typed::<Case>(listings::review_cases.name, batch)?);
    }
    all.sort_by(|a, b| (a.grade(), Reverse(a.at_s), &a.id).cmp(&(b.grade(), Reverse(b.at_s), &b.id)));
    Ok(all)
}
