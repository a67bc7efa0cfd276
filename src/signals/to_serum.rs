//! Time to serum as a curve, over twelve months, and by day and night.

use crate::month::Month;
use crate::queries::measure::Counted;
use crate::queries::split::Split;
use crate::statistics::survival::aalen_johansen::{self, Step};
use crate::statistics::survival::log_rank::log_rank;
use crate::statistics::survival::{End, kaplan_meier};

/// Months of referrals taken together.
pub const MONTHS: i32 = 12;

/// The curve of the share drawn.
#[derive(Clone, Debug)]
pub struct Curve {
    /// The first month.
    pub first: Month,
    /// The last month.
    pub last: Month,
    /// Referrals.
    pub referrals: usize,
    /// Share drawn, going home or dying without serum being a competing event; times in seconds.
    pub drawn: Vec<Step<i64>>,
    /// One minus Kaplan-Meier, which takes those who went home as still to be drawn: shown to say
    /// by how much it would overstate.
    pub overstated: Vec<(i64, f64)>,
    /// Day against night.
    pub night: Option<Night>,
}

/// Referrals that began by day and by night.
#[derive(Clone, Debug)]
pub struct Night {
    /// Hours by which half were drawn, of those by day.
    pub day_median_s: Option<i64>,
    /// Hours by which half were drawn, of those by night.
    pub night_median_s: Option<i64>,
    /// Referrals by day.
    pub by_day: usize,
    /// Referrals by night.
    pub by_night: usize,
    /// Whether the two are drawn at another pace: p of a log-rank test of the time to serum, going
    /// home censored (of the cause alone).
    pub p: Option<f64>,
}

/// The curve of the clocks of the months up to `month`, of the network or one unit; they must be
/// counted by night.
pub fn of(counted: &Counted<'_>, month: Month, unit: Option<&str>) -> Curve {
    let first = month.plus(1 - MONTHS);
    let mut by_night = counted.clocks((first, month), Split::Night, unit);
    let all: Vec<(i64, End)> = by_night.values().flatten().copied().collect();
    let (day, night) = (by_night.remove("day"), by_night.remove("night"));
    let night = day.zip(night).map(|(day, night)| {
        let median = |of: &[(i64, End)]| aalen_johansen::median(&aalen_johansen::incidence(of));
        Night {
            day_median_s: median(&day),
            night_median_s: median(&night),
            by_day: day.len(),
            by_night: night.len(),
            p: log_rank(&day, &night),
        }
    });
    Curve {
        first,
        last: month,
        referrals: all.len(),
        drawn: aalen_johansen::incidence(&all),
        overstated: kaplan_meier::survival(&all)
            .iter()
            .map(|step| (step.time, 1.0 - step.survival))
            .collect(),
        night,
    }
}
