//! Whether the months of a phase are better explained by two levels than by one.
//!
//! The month from which a series most likely runs at another level comes with a p value that owns
//! the search over all months ([`crate::statistics::control::change_point`]). A level is more than
//! one month: the change counts only when three judged months or more have stayed after it, and
//! when it still stands without the month that is furthest from the level before. Shares and rates
//! by their counts, with Laney's factor where the chart uses one; medians of hours on the scale of
//! their chart, which has no long tail.

use crate::queries::figures::Quantity;
use crate::statistics::control::Side;
use crate::statistics::control::change_point::{self, Change};
use crate::statistics::control::t::EXPONENT;

use super::charted::Charted;

/// Most that chance may explain of a change that nothing else has pointed at.
pub const LEVEL: f64 = 0.01;

/// The same without the month furthest off.
const LEVEL_WITHOUT_ONE: f64 = 0.05;

/// Fewer judged months at the new level are no level.
pub const FEWEST_AFTER: usize = 3;

/// The change of the judged months of a phase, given by their index in the chart: the first month
/// at the new level, and where it went.
pub fn level_change(charted: &Charted, judged: &[usize]) -> Option<(usize, Side)> {
    let found = change(charted, judged)?;
    let after = judged.len().checked_sub(found.first_after)?;
    if found.p_value >= LEVEL || after < FEWEST_AFTER {
        return None;
    }
    let is_above = found.after > found.before;
    let furthest = judged[found.first_after..].iter().max_by(|a, b| {
        let value = |index: usize| charted.chart.months[index].value.unwrap_or(found.before);
        let towards = |index: usize| (value(index) - found.before) * if is_above { 1.0 } else { -1.0 };
        towards(**a).total_cmp(&towards(**b))
    })?;
    let others: Vec<usize> = judged.iter().copied().filter(|index| index != furthest).collect();
    let without = change(charted, &others)?;
    let is_alike = (without.after > without.before) == is_above;
    if without.p_value >= LEVEL_WITHOUT_ONE || !is_alike {
        return None;
    }
    let side = if is_above { Side::Above } else { Side::Below };
    Some((*judged.get(found.first_after)?, side))
}

fn change(charted: &Charted, judged: &[usize]) -> Option<Change> {
    let counts = || judged.iter().filter_map(|index| charted.counts[*index]);
    let values = || judged.iter().filter_map(|index| charted.chart.months[*index].value);
    let sigma_z = charted
        .chart
        .phases
        .last()
        .and_then(|phase| phase.sigma_z)
        .unwrap_or(1.0);
    match Quantity::of(&charted.measure) {
        Quantity::Share => change_point::proportions(&counts().collect::<Vec<_>>(), sigma_z),
        Quantity::PerThousandBirths => {
            let exposed: Vec<(u64, f64)> = counts().map(|(events, of)| (events, of as f64)).collect();
            change_point::rates(&exposed, sigma_z)
        }
        Quantity::Hours => change_point::values(&values().map(|hours| hours.powf(EXPONENT)).collect::<Vec<_>>()),
        Quantity::Concentration => change_point::values(&values().collect::<Vec<_>>()),
    }
}
