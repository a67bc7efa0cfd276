//! Runs about the median: whether a series is steady, with nothing asked of its distribution.
//!
//! Values on the median say nothing and are dropped; the rest are the n *useful* ones. A *run*
//! is an unbroken sequence of useful values on one side of the median, a *crossing* a change of
//! side. A steady series crosses about every second value. Two rules:
//!
//! * a run is too long when it has more than round(log2 n) + 3 values
//!   (Schilling MF (2012) Math Mag 85:141-149);
//! * crossings are too few when there are fewer than the 5 % quantile of a binomial distribution
//!   of n - 1 trials and chance one half (Chen Z (2010) Biometrical J 52:425-431, from memory).
//!
//! Source of both together: Anhøj J, Olesen AV (2014) PLoS ONE 9:e113825. Under ten useful values
//! neither rule is used, since no pattern of so few is rare enough.
//!
//! Months without a value are passed over like values on the median: they neither break a run
//! nor cross. Degenerate cases: no values, or one that is not finite, give `None`; identical
//! values are all on the median, so none is useful.

use statrs::function::factorial::ln_binomial;

use super::Side;

/// With fewer useful values the rules are not used.
pub const LEAST_USEFUL: usize = 10;

/// An unbroken sequence of useful values on one side of the median.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Run {
    /// Index of its first value.
    pub first: usize,
    /// Index of its last value.
    pub last: usize,
    /// Number of useful values in it.
    pub useful: usize,
    /// The side it lies on.
    pub side: Side,
}

/// What two rules allow for a number of useful values.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Allowed {
    /// A longer run is a signal.
    pub longest: usize,
    /// Fewer crossings are a signal.
    pub crossings: usize,
}

/// A series seen about its median.
#[derive(Clone, Debug, PartialEq)]
pub struct RunChart {
    /// Median of all values.
    pub median: f64,
    /// Number of values not on the median.
    pub useful: usize,
    /// Number of changes of side.
    pub crossings: usize,
    /// What is allowed; `None` for too few useful values.
    pub allowed: Option<Allowed>,
    /// All runs, in order.
    pub runs: Vec<Run>,
}

/// What is allowed for `useful` values; `None` for fewer than ten.
///
/// ```
/// use siskin::statistics::control::run_chart::{Allowed, allowed};
/// assert_eq!(allowed(24), Some(Allowed { longest: 8, crossings: 8 }));
/// assert_eq!(allowed(9), None);
/// ```
pub fn allowed(useful: usize) -> Option<Allowed> {
    if useful < LEAST_USEFUL {
        return None;
    }
    let trials = useful as u64 - 1;
    let mut below = 0.0;
    let mut crossings = 0;
    loop {
        below += (ln_binomial(trials, crossings) - trials as f64 * std::f64::consts::LN_2).exp();
        if below >= 0.05 || crossings >= trials {
            break;
        }
        crossings += 1;
    }
    Some(Allowed {
        longest: (useful as f64).log2().round() as usize + 3,
        crossings: crossings as usize,
    })
}

/// The median; of an even number of values the mean of the middle two. `None` for no values, or
/// one that is not a number.
pub fn median(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    if sorted.iter().any(|value| value.is_nan()) {
        return None;
    }
    sorted.sort_by(f64::total_cmp);
    let upper = *sorted.get(sorted.len() / 2)?;
    if sorted.len() % 2 == 1 {
        return Some(upper);
    }
    let lower = sorted[sorted.len() / 2 - 1];
    // Equal ones are their own mean; halves first, so that the sum cannot overflow.
    Some(if lower == upper {
        lower
    } else {
        lower / 2.0 + upper / 2.0
    })
}

impl RunChart {
    /// That of a series with gaps.
    pub fn of(values: &[Option<f64>]) -> Option<RunChart> {
        let present: Vec<f64> = values.iter().flatten().copied().collect();
        if present.iter().any(|value| !value.is_finite()) {
            return None;
        }
        let median = median(&present)?;
        let mut runs: Vec<Run> = Vec::new();
        for (index, value) in values.iter().enumerate() {
            let Some(side) = value.and_then(|value| Side::of(value, median)) else {
                continue;
            };
            match runs.last_mut().filter(|run| run.side == side) {
                Some(run) => {
                    run.last = index;
                    run.useful += 1;
                }
                None => runs.push(Run {
                    first: index,
                    last: index,
                    useful: 1,
                    side,
                }),
            }
        }
        let useful = runs.iter().map(|run| run.useful).sum();
        Some(RunChart {
            median,
            useful,
            crossings: runs.len().saturating_sub(1),
            allowed: allowed(useful),
            runs,
        })
    }

    /// Share of the useful values that lie on the side with fewer; 0 for none. One half without
    /// values on the median.
    pub fn smaller_share(&self) -> f64 {
        let above: usize = self
            .runs
            .iter()
            .filter(|run| run.side == Side::Above)
            .map(|run| run.useful)
            .sum();
        let smaller = above.min(self.useful - above);
        if self.useful == 0 {
            0.0
        } else {
            smaller as f64 / self.useful as f64
        }
    }

    /// The runs that are too long.
    pub fn too_long(&self) -> impl Iterator<Item = &Run> {
        let longest = self.allowed.map_or(usize::MAX, |allowed| allowed.longest);
        self.runs.iter().filter(move |run| run.useful > longest)
    }

    /// Whether there are too few crossings.
    pub fn crosses_too_rarely(&self) -> bool {
        self.allowed.is_some_and(|allowed| self.crossings < allowed.crossings)
    }
}
