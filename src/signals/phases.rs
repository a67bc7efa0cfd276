//! A figure before and after a documented change.
//!
//! The months of the phase are taken together and held against those of the phase before: shares
//! by counts with Newcombe's interval, rates and monthly values by their months with Welch's.
//! Only final months with data count. Fewer than three on either side are not compared (common
//! practice). What else changed in these months is not known: a difference is no proof of cause.

use crate::month::Month;
use crate::queries::figures::Quantity;
use crate::statistics::Interval;
use crate::statistics::control::Side;
use crate::statistics::means::welch;
use crate::statistics::proportion::newcombe;

use super::charted::Charted;

/// Fewer months of a phase are not compared.
const FEWEST_MONTHS: usize = 3;

/// The last phase against the one before.
#[derive(Clone, Debug, PartialEq)]
pub struct Compared {
    /// The first month of the phase.
    pub since: Month,
    /// What was changed, as the notes say.
    pub text: String,
    /// Share of all cases, or mean of the months, before.
    pub before: f64,
    /// The same since then.
    pub after: f64,
    /// Months before.
    pub months_before: usize,
    /// Months since.
    pub months_after: usize,
    /// After minus before.
    pub difference: f64,
    /// Its 95 % interval.
    pub interval: Interval,
}

impl Compared {
    /// The last phase of a chart; `None` where there is only one, or too little on either side.
    pub fn of(charted: &Charted) -> Option<Self> {
        let [.., earlier, phase] = charted.chart.phases.as_slice() else {
            return None;
        };
        let is_judged = |index: &usize| {
            let month = &charted.chart.months[*index];
            month.value.is_some() && !month.is_provisional
        };
        let judged = |of: &std::ops::Range<usize>| -> Vec<usize> { of.clone().filter(is_judged).collect() };
        let (before, after) = (judged(&earlier.months), judged(&phase.months));
        if before.len() < FEWEST_MONTHS || after.len() < FEWEST_MONTHS {
            return None;
        }
        let since = *charted.months.get(phase.months.start)?;
        let texts = charted.notes.iter().filter(|note| note.new_phase && note.month == since);
        let texts: Vec<&str> = texts.map(|note| note.text.as_str()).collect();
        let (levels, difference, interval) = match Quantity::of(&charted.measure) {
            Quantity::Share => shares(charted, &before, &after)?,
            _ => values(charted, &before, &after)?,
        };
        Some(Self {
            since,
            text: texts.join("; "),
            before: levels.0,
            after: levels.1,
            months_before: before.len(),
            months_after: after.len(),
            difference,
            interval,
        })
    }

    /// The side of the difference, where its interval leaves out zero.
    pub fn side(&self) -> Option<Side> {
        match (self.interval.lower > 0.0, self.interval.upper < 0.0) {
            (true, _) => Some(Side::Above),
            (_, true) => Some(Side::Below),
            _ => None,
        }
    }
}

type Difference = ((f64, f64), f64, Interval);

fn shares(charted: &Charted, before: &[usize], after: &[usize]) -> Option<Difference> {
    let sum = |of: &[usize]| {
        let counts = of.iter().filter_map(|index| charted.counts[*index]);
        counts.fold((0, 0), |sum, n| (sum.0 + n.0, sum.1 + n.1))
    };
    let (b, a) = (sum(before), sum(after));
    let found = newcombe(a, b)?;
    let share = |n: (u64, u64)| n.0 as f64 / n.1 as f64;
    let interval = Interval {
        lower: found.lower,
        upper: found.upper,
    };
    Some(((share(b), share(a)), found.value, interval))
}

fn values(charted: &Charted, before: &[usize], after: &[usize]) -> Option<Difference> {
    let of = |months: &[usize]| -> Vec<f64> {
        let values = months.iter().filter_map(|index| charted.chart.months[*index].value);
        values.collect()
    };
    let (b, a) = (of(before), of(after));
    let found = welch(&a, &b)?;
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
    Some(((mean(&b), mean(&a)), found.value, found.interval))
}
