//! The cases of a span of months.

use std::cmp::Reverse;

use arrow::array::RecordBatch;

use crate::engine::Session;
use crate::engine::values::Cells;
use crate::month::Month;
use crate::queries::{QueryError, catalogue};

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
    Ok(in_order(&Cells::new(rows(session, first, last).await?)))
}

/// The same; their rows stay in the session for the listings of a review.
pub(super) async fn shown(session: &Session, first: Month, last: Month) -> Result<Vec<Case>, QueryError> {
    let rows = rows(session, first, last).await?;
    if let Some(batch) = rows.first() {
        session.add_batches(CASES, &batch.schema(), rows.clone())?;
    }
    Ok(in_order(&Cells::new(rows)))
}

async fn rows(session: &Session, first: Month, last: Month) -> Result<Vec<RecordBatch>, QueryError> {
    let months = [("first_month", first.to_string()), ("last_month", last.to_string())];
    let listing = "review_cases";
    Ok(session.rows(listing, catalogue::listing(listing), &months).await?)
}

fn in_order(cells: &Cells) -> Vec<Case> {
    let [ids, findings, months, units, infants, tables, facts, besides] = [
        "case_key",
        "finding",
        "month",
        "unit",
        "infant_id",
        "fact_table",
        "fact_id",
        "beside",
    ]
    .map(|name| cells.texts(name));
    let [before_death, born_before] = ["is_before_death", "is_born_before"].map(|name| cells.ints(name));
    let moments = cells.ints("at_s").into_iter().enumerate();
    let case = |(i, at_s): (usize, Option<i64>)| {
        let text = |of: &[Option<String>]| of[i].clone().unwrap_or_default();
        let flag = |of: &[Option<i64>]| of[i] == Some(1);
        let finding = text(&findings);
        Case {
            grade: Grade::of(&finding, flag(&before_death)),
            finding,
            id: text(&ids),
            month: text(&months),
            unit: text(&units),
            infant_id: text(&infants),
            at_s: at_s.unwrap_or(0),
            fact_table: text(&tables),
            fact_id: text(&facts),
            beside: text(&besides),
            is_before_death: flag(&before_death),
            is_born_before: flag(&born_before),
        }
    };
    let mut all: Vec<Case> = moments.map(case).collect();
    all.sort_by(|a, b| (a.grade, Reverse(a.at_s), &a.id).cmp(&(b.grade, Reverse(b.at_s), &b.id)));
    all
}
