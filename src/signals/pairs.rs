//! Pairs of a screen and a serum, as the statistics of agreement take them.

use crate::engine::Session;
use crate::engine::values::Cells;
use crate::month::Month;
use crate::queries::{QueryError, catalogue};

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
        ("first_month", first.to_string()),
        ("last_month", last.to_string()),
        ("unit", unit.to_owned()),
    ];
    let sql = catalogue::listing("pairs_compared");
    let cells = Cells::new(session.rows("pairs_compared", sql, &months).await?);
    let texts = [
        "month",
        "infant_id",
        "meter",
        "body_site",
        "gestation",
        "skin_tone",
        "age",
    ];
    let texts = texts.map(|column| cells.texts(column));
    let ints = [
        "screen_micro",
        "serum_micro",
        "apart_s",
        "is_first_of_baby",
        "called_for_serum",
        "serum_above_line",
        "line_micro",
    ];
    let ints = ints.map(|column| cells.ints(column));
    let mut babies: Vec<String> = texts[1].iter().flatten().cloned().collect();
    babies.sort_unstable();
    babies.dedup();
    let pair = |i: usize| {
        let text = |column: usize| texts[column][i].clone().unwrap_or_default();
        let is = |column: usize| ints[column][i].map(|n| n == 1);
        Some(Pair {
            month: text(0).parse().ok()?,
            baby: babies.binary_search(&text(1)).ok()?,
            meter: text(2),
            body_site: text(3),
            gestation: text(4),
            skin_tone: text(5),
            age: text(6),
            screen: ints[0][i]? as f64 / MICRO,
            serum: ints[1][i]? as f64 / MICRO,
            apart_s: ints[2][i]?,
            is_first: is(3).unwrap_or(false),
            called: is(4),
            above_line: is(5),
            line: ints[6][i].map(|line| line as f64 / MICRO),
        })
    };
    Ok((0..texts[0].len()).filter_map(pair).collect())
}
