//! Meters that drift: each meter's differences against those of the other meters, summed up.
//!
//! A difference of a meter is expected to lie at the median of the other meters' medians, which one
//! drifting meter among them moves little. What it is off,
//! in standard deviations within meters, goes into a tabular cusum in order of time; a sum beyond
//! the limit is a signal. It began in the month in which that sum last left zero.
//!
//! Half a standard deviation counts as nothing, so that a shift of one is found soonest. The limit
//! is 8: by Siegmund's approximation, (exp(2kb) - 2kb - 1) / 2k² with b = limit + 1.166, a steady
//! meter then gives a false signal once in 9,500 pairs, a shift of one standard deviation is found
//! within about 16 pairs (Siegmund D (1985) Sequential Analysis, from memory). Whoever looks at
//! many meters should see few of these.
//!
//! Too few: meters with fewer than 20 pairs are not judged and judge no other; of fewer than three
//! nobody can tell which one moved, so that none is judged (common practice).

use std::collections::BTreeMap;

use crate::month::Month;
use crate::statistics::control::Side;
use crate::statistics::control::cusum::Cusum;
use crate::statistics::summary::{mean, median};

use super::pairs::Pair;

/// In standard deviations.
const ALLOWANCE: f64 = 0.5;
/// In standard deviations.
const LIMIT: f64 = 8.0;
/// Meters with fewer pairs are not judged.
pub const FEWEST_PAIRS: usize = 20;
/// Of fewer meters nobody can tell which one moved.
pub const FEWEST_METERS: usize = 3;

/// A meter whose readings moved away from those of the others.
#[derive(Clone, Debug, PartialEq)]
pub struct Drift {
    /// The meter.
    pub meter: String,
    /// Reads more than the others, or less.
    pub side: Side,
    /// The month in which the sum last left zero.
    pub began: Month,
    /// The month in which it passed the limit.
    pub flagged: Month,
    /// Month of the meter's last pair.
    pub last: Month,
    /// Pairs since it began.
    pub pairs: usize,
    /// By how much it read more than the others in these months, mean against mean, umol/L.
    pub by: f64,
}

/// Meters judged, and those that drifted.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drifts {
    /// How many meters had enough pairs.
    pub judged: usize,
    /// Those with a signal, by name.
    pub found: Vec<Drift>,
}

/// Looks at each meter of these pairs, which come in order of time.
pub fn drifts(pairs: &[Pair]) -> Drifts {
    let mut of_meter: BTreeMap<&str, Vec<&Pair>> = BTreeMap::new();
    for pair in pairs.iter().filter(|pair| !pair.meter.is_empty()) {
        of_meter.entry(&pair.meter).or_default().push(pair);
    }
    let Some(sd) = spread_within(&of_meter) else {
        return Drifts::default();
    };
    of_meter.retain(|_, pairs| pairs.len() >= FEWEST_PAIRS);
    let mut drifts = Drifts::default();
    if of_meter.len() < FEWEST_METERS {
        return drifts;
    }
    let middle = |values: Vec<f64>| median(&values).map(|found| found.value);
    let of_pairs = |pairs: &Vec<&Pair>| middle(pairs.iter().map(|pair| pair.difference()).collect());
    for (meter, own) in &of_meter {
        let others = of_meter.iter().filter(|(name, _)| *name != meter);
        let Some(expected) = middle(others.filter_map(|(_, pairs)| of_pairs(pairs)).collect()) else {
            continue;
        };
        drifts.judged += 1;
        let others = of_meter.iter().filter(|(name, _)| *name != meter);
        let others: Vec<&Pair> = others.flat_map(|(_, pairs)| pairs.iter().copied()).collect();
        drifts.found.extend(drift(meter, own, &others, (expected, sd)));
    }
    drifts
}

/// The first signal of a meter.
fn drift(meter: &str, own: &[&Pair], others: &[&Pair], (expected, sd): (f64, f64)) -> Option<Drift> {
    let off: Vec<f64> = own.iter().map(|pair| (pair.difference() - expected) / sd).collect();
    let cusum = Cusum {
        target: 0.0,
        allowance: ALLOWANCE,
        limit: LIMIT,
    };
    let sums = cusum.sums(&off)?;
    let at = sums.iter().position(|sum| sum.signal.is_some())?;
    let side = sums[at].signal?;
    let is_at_zero = |i: usize| match side {
        Side::Above => sums[i].above == 0.0,
        Side::Below => sums[i].below == 0.0,
    };
    let from = (0..at).rev().find(|i| is_at_zero(*i)).map_or(0, |i| i + 1);
    let since = &own[from..];
    let (began, last) = (own[from].month, own[own.len() - 1].month);
    let meanwhile = others.iter().filter(|pair| (began..=last).contains(&pair.month));
    let meanwhile: Vec<f64> = meanwhile.map(|pair| pair.difference()).collect();
    let own_since: Vec<f64> = since.iter().map(|pair| pair.difference()).collect();
    Some(Drift {
        meter: meter.to_owned(),
        side,
        began,
        flagged: own[at].month,
        last,
        pairs: since.len(),
        by: mean(&own_since)? - mean(&meanwhile).unwrap_or(expected),
    })
}

/// The standard deviation of differences within meters, from steps between one pair of a meter and
/// its next, so that a slow drift does not widen it: by mean moving range over 1.128.
fn spread_within(of_meter: &BTreeMap<&str, Vec<&Pair>>) -> Option<f64> {
    let steps: Vec<f64> = of_meter
        .values()
        .flat_map(|pairs| {
            pairs
                .windows(2)
                .map(|two| (two[1].difference() - two[0].difference()).abs())
        })
        .collect();
    let mean = steps.iter().sum::<f64>() / steps.len().max(1) as f64;
    let sd = mean / 1.128;
    (sd > 0.0).then_some(sd)
}
