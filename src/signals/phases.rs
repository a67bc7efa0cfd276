//! A figure before and after a documented change.
//!
//! The months of the phase are held against those of the phase before. Shares: all cases together,
//! with an interval that is wider where months differ by more than chance
//! ([`crate::statistics::regression::phases`]). Rates and monthly values: by their months
//! ([`crate::statistics::regression::segmented`]). Only final months with data count. With eight
//! months on each side a segmented regression also says whether the level stepped, or the trend
//! turned, at that month. What else changed in these months is not known: a difference is no proof
//! of cause.

use crate::month::Month;
use crate::queries::figures::Quantity;
use crate::statistics::Interval;
use crate::statistics::control::Side;
use crate::statistics::means::welch;
use crate::statistics::regression::phases::phases;
use crate::statistics::regression::segmented::{Segmented, Series, segmented};
use crate::statistics::summary::mean;

use super::charted::Charted;

/// Fewer months of a phase are not compared (common practice).
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
    /// After minus before.
    pub difference: f64,
    /// Its 95 % interval.
    pub interval: Interval,
    /// The interval is wider than that of counts alone, as months differ by more than chance.
    pub is_widened: bool,
    /// Step of the level and turn of the trend at the change, as odds ratios of shares, rate ratios
    /// of rates, or differences of values; `None` where there are too few months for it.
    pub trend: Option<Segmented>,
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
        let judged = |of: &std::ops::Range<usize>| of.clone().filter(is_judged).count();
        let (months_before, months_after) = (judged(&earlier.months), judged(&phase.months));
        if months_before < FEWEST_MONTHS || months_after < FEWEST_MONTHS {
            return None;
        }
        let since = *charted.months.get(phase.months.start)?;
        let span = earlier.months.start..phase.months.end;
        let change = phase.months.start - span.start;
        let counts: Vec<(u64, u64)> = span
            .clone()
            .map(|index| charted.counts[index].filter(|_| is_judged(&index)).unwrap_or((0, 0)))
            .collect();
        let values: Vec<Option<f64>> = span
            .map(|index| charted.chart.months[index].value.filter(|_| is_judged(&index)))
            .collect();
        let quantity = Quantity::of(&charted.measure);
        let (before, after, difference, interval, is_widened) = match quantity {
            Quantity::Share => shares(&counts, change)?,
            _ => means(&values, change)?,
        };
        let texts = charted
            .notes
            .iter()
            .filter(|note| note.new_phase && note.month == since);
        let texts: Vec<&str> = texts.map(|note| note.text.as_str()).collect();
        Some(Self {
            since,
            text: texts.join("; "),
            before,
            after,
            months_before,
            difference,
            interval,
            is_widened,
            trend: trend(quantity, &counts, &values, change),
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

type Levels = (f64, f64, f64, Interval, bool);

fn shares(counts: &[(u64, u64)], change: usize) -> Option<Levels> {
    let found = phases(counts, change).ok()?;
    let share = |n: (u64, u64)| n.0 as f64 / n.1 as f64;
    let interval = Interval {
        lower: found.difference.lower,
        upper: found.difference.upper,
    };
    Some((
        share(found.before),
        share(found.after),
        found.difference.value,
        interval,
        found.dispersion > 1.0,
    ))
}

fn means(values: &[Option<f64>], change: usize) -> Option<Levels> {
    let (before, after) = values.split_at(change);
    let of = |half: &[Option<f64>]| half.iter().flatten().copied().collect::<Vec<f64>>();
    let (before, after) = (of(before), of(after));
    let found = welch(&after, &before)?;
    Some((mean(&before)?, mean(&after)?, found.value, found.interval, false))
}

fn trend(quantity: Quantity, counts: &[(u64, u64)], values: &[Option<f64>], change: usize) -> Option<Segmented> {
    let exposed: Vec<(u64, f64)> = counts.iter().map(|(events, of)| (*events, *of as f64)).collect();
    let series = match quantity {
        Quantity::Share => Series::Proportions(counts),
        Quantity::PerThousandBirths => Series::Rates(&exposed),
        Quantity::Hours | Quantity::Concentration => Series::Values(values),
    };
    segmented(series, change).ok()
}
