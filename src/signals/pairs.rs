//! Pairs of a screen and a serum, as the statistics of agreement take them.

use std::collections::{BTreeMap, BTreeSet};

use serde::Deserialize;

use crate::engine::Session;
use crate::engine::rows::or_none;
use crate::month::Month;
use crate::queries::QueryError;
use crate::queries::catalogue::listings;

/// Stored concentrations are millionths of umol/L.
const MICRO: f64 = 1e6;

/// A screen and a serum of one baby, umol/L. It holds no identifier: babies are numbered.
#[derive(Clone, Debug, PartialEq)]
pub struct Pair {
    /// Month of the screen.
    pub month: Month,
    /// Which baby, as a number within this list.
    pub baby: usize,
    /// The meter.
    pub meter: String,
    /// Where it was measured.
    pub body_site: String,
    /// Band of gestation.
    pub gestation: String,
    /// Skin tone.
    pub skin_tone: String,
    /// Day of age.
    pub age: String,
    /// The screen.
    pub screen: f64,
    /// The serum.
    pub serum: f64,
    /// Seconds between the two.
    pub apart_s: i64,
    /// The baby's earliest pair.
    pub is_first: bool,
    /// Whether the screen called for a serum; `None` where it could not.
    pub called: Option<bool>,
    /// Whether the serum was above the line; `None` where that cannot be told.
    pub above_line: Option<bool>,
    /// The line at the age of the screen; `None` where there is none.
    pub line: Option<f64>,
}

impl Pair {
    /// Screen minus serum.
    pub fn difference(&self) -> f64 {
        self.screen - self.serum
    }
}

/// The pairs of the months from `first` to `last` of one unit, or, where that is empty, of all; in order of time.
///
/// # Errors
/// When the snapshot cannot be read.
pub async fn read(session: &Session, (first, last): (Month, Month), unit: &str) -> Result<Vec<Pair>, QueryError> {
    let months = [
        ("first_month", first.to_string().into()),
        ("last_month", last.to_string().into()),
        ("unit", unit.into()),
    ];
    let rows: Vec<PairRow> = session.rows(listings::pairs_compared, &months).await?;
    let babies: BTreeSet<String> = rows.iter().map(|row| row.infant_id.clone()).collect();
    let numbers: BTreeMap<String, usize> = babies.into_iter().zip(0..).collect();
    let pair = |row: PairRow| Pair {
        month: row.month,
        baby: numbers[&row.infant_id],
        meter: row.meter,
        body_site: row.body_site,
        gestation: row.gestation,
        skin_tone: row.skin_tone,
        age: row.age,
        screen: row.screen_micro as f64 / MICRO,
        serum: row.serum_micro as f64 / MICRO,
        apart_s: row.apart_s,
        is_first: row.is_first_of_baby,
        called: row.called_for_serum,
        above_line: row.serum_above_line,
        line: row.line_micro.map(|line| line as f64 / MICRO),
    };
    Ok(rows.into_iter().map(pair).collect())
}

/// A row of the listing `pairs_compared`.
#[derive(Deserialize)]
struct PairRow {
    month: Month,
    infant_id: String,
    #[serde(deserialize_with = "or_none")]
    meter: String,
    body_site: String,
    gestation: String,
    skin_tone: String,
    age: String,
    screen_micro: i64,
    line_micro: Option<i64>,
    serum_micro: i64,
    apart_s: i64,
    is_first_of_baby: bool,
    called_for_serum: Option<bool>,
    serum_above_line: Option<bool>,
}
