//! What the birth stays of readmitted and severe babies had missed, as the page shows it.

use serde::{Deserialize, Serialize};

/// One kind of case; a baby may count under several columns.
#[derive(Clone, Debug, Deserialize, Serialize)]
pub struct LookedBackRow {
    /// Kind of case; in words once `words::case_kind` gave them.
    #[serde(rename(deserialize = "case_kind"))]
    pub kind: String,
    /// Babies with such a case.
    pub babies: i64,
    /// Of these, babies with a missed referral in the birth stay.
    pub missed_referral: i64,
    /// With a late one.
    pub late_referral: i64,
    /// With a late or missing recheck.
    pub missed_recheck: i64,
    /// With a serum above the line not treated in time.
    pub untreated: i64,
    /// With a screen outside limits.
    pub outside_limits: i64,
    /// Who went home with a referral unanswered, or soon after a test near the line.
    pub home_at_risk: i64,
    /// Of whom no birth stay is known, so nothing can be told.
    pub no_birth_stay: i64,
    /// With none of these.
    pub none_of_these: i64,
}
