//! Two phases of months, before a change and from it on, without a trend: by how many percentage
//! points a proportion differs.
//!
//! The difference is that of all events over all trials of each phase, with Newcombe's interval
//! ([`crate::statistics::proportion::newcombe`]). Months of a phase that differ among themselves
//! by more than chance make it too narrow. So with Pearson's dispersion
//!
//! ```text
//! D = Σ (x - n·p)² / (n·p·(1-p)) / (months - 2)      p of the month's own phase
//! ```
//!
//! above 1, both arms of the interval are stretched by sqrt(D) times Student's t of months - 2
//! over the normal quantile, as quasi-likelihood stretches errors (McCullagh P, Nelder JA (1989)
//! Generalized Linear Models, section 4.5; for Newcombe's arms our own choice), and kept
//! within -1 to 1. A trend that ran through both phases looks like a change here: that is what
//! [`super::segmented`] is for. A season may look like one in either. Three months are needed on
//! each side (from memory: the criterion of Cochrane's EPOC group).
//!
//! Degenerate cases: months without trials are left out; fewer than three on a side, or more
//! events than trials, give [`NoFit`]. Months of a phase without any event, or with nothing but
//! events, add nothing to D.

use super::super::proportion::{Difference, Z_95, newcombe};
use super::super::student;
use super::NoFit;

/// Months with data needed on each side.
pub const FEWEST_MONTHS: usize = 3;

/// A proportion before a change and after it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Phases {
    /// (events, trials) before.
    pub before: (u64, u64),
    /// (events, trials) from the change on.
    pub after: (u64, u64),
    /// After less before, with its 95 % interval, widened where months are overdispersed.
    pub difference: Difference,
    /// Pearson's dispersion of months within their phase; 1 is what chance gives.
    pub dispersion: f64,
}

/// The two phases of months of (events, trials); `change` is the index of the first month after.
///
/// # Errors
/// [`NoFit`] where a side has too few months, or there are more events than trials.
///
/// ```
/// use siskin::statistics::regression::phases::phases;
/// let months = [(10, 100), (11, 100), (12, 100), (5, 100), (6, 100), (7, 100)];
/// let found = phases(&months, 3).unwrap();
/// assert!((found.difference.value + 0.05).abs() < 1e-12);
/// assert!(found.difference.upper < 0.0);
/// assert!(phases(&months, 1).is_err());
/// ```
pub fn phases(months: &[(u64, u64)], change: usize) -> Result<Phases, NoFit> {
    let (first, second) = months.split_at(change.min(months.len()));
    let count = |months: &[(u64, u64)]| months.iter().filter(|m| m.1 > 0).count();
    let (before, after) = (count(first), count(second));
    if before.min(after) < FEWEST_MONTHS {
        let needed = FEWEST_MONTHS;
        return Err(NoFit::TooFewMonths { before, after, needed });
    }
    if months.iter().any(|(events, trials)| events > trials) {
        return Err(NoFit::Invalid);
    }
    let degrees = before + after - 2;
    let (pooled_first, pooled_second) = (total(first)?, total(second)?);
    let dispersion = (spread(first, pooled_first) + spread(second, pooled_second)) / degrees as f64;
    let plain = newcombe(pooled_second, pooled_first).ok_or(NoFit::Invalid)?;
    let t = student::quantile_95(degrees).ok_or(NoFit::TooFewRows)?;
    let factor = if dispersion > 1.0 {
        dispersion.sqrt() * t / Z_95
    } else {
        1.0
    };
    Ok(Phases {
        before: pooled_first,
        after: pooled_second,
        difference: Difference {
            value: plain.value,
            lower: (plain.value - (plain.value - plain.lower) * factor).max(-1.0),
            upper: (plain.value + (plain.upper - plain.value) * factor).min(1.0),
        },
        dispersion,
    })
}

fn total(months: &[(u64, u64)]) -> Result<(u64, u64), NoFit> {
    let add = |sum: (u64, u64), m: &(u64, u64)| Some((sum.0.checked_add(m.0)?, sum.1.checked_add(m.1)?));
    months.iter().try_fold((0, 0), add).ok_or(NoFit::Invalid)
}

/// Pearson's chi-square of months about their phase.
fn spread(months: &[(u64, u64)], (events, trials): (u64, u64)) -> f64 {
    let p = events as f64 / trials as f64;
    let part = |(x, n): &(u64, u64)| {
        let (x, n) = (*x as f64, *n as f64);
        (x - n * p).powi(2) / (n * p * (1.0 - p))
    };
    if events == 0 || events == trials {
        return 0.0;
    }
    months.iter().filter(|m| m.1 > 0).map(part).sum()
}
