//! Which months and sums over consecutive months of one figure may be handed over.
//!
//! A figure's cases of each month fall into two or more outcomes. Releasing a span of months
//! gives away the sums of all outcomes over it, and their total. A report is handed over each month,
//! and all of them are read together: two sums of twelve months give the difference of two
//! months, and a month that is shown then gives the other.
//!
//! A reader is taken to know the total of every month, whether it was shown or not, and that no
//! count is below 0. To be hidden are all small numbers (1 to `hide_below` - 1) among the sums
//! of one outcome over *any* run of consecutive months, and what is left of the run's total
//! without that outcome. A small number is *protected* while the reader cannot rule out
//!
//! - `hide_below` different whole numbers in its place, or,
//! - where the months that hold its cases are themselves so small, every number that their
//!   totals allow: of a month of 3 cases all of 0 to 3. Months of the run without such a case
//!   add none, as they may be shown, as zeros.
//!
//! What remains possible is found by swaps of cases between outcomes, as `chains` shows: exactly
//! for two outcomes, and never too many for more. Spans are looked at in the order in which
//! they are handed over; one is released when all small numbers of the months so far stay
//! protected. So a decision depends only on what came before, and on no later month: what was
//! shown stays shown, what was hidden stays hidden.
//!
//! Why no month starts unprotected: before anything of it is shown, all numbers up to its total
//! are possible, and these add to those of the run before it. As at least two numbers are kept,
//! a span with a small number of its own is never released, and with it none of a small total.
//!
//! A small total of a run is protected from a reader who does *not* know totals, too: of the
//! outcomes that make it up one is small, and where an outcome gains cases in a swap that no
//! other loses, the released sums are the same and the run's total takes as many values.
//!
//! Sums of some outcomes, of three or more, are not protected beyond the outcomes themselves;
//! neither are sums of months that do not follow one another.
//!
//! Degenerate cases: a `hide_below` of 0 or 1 releases every span; a span outside the months, or
//! that ends before it starts, is never released; without months there are none; a single
//! outcome (its number is the total, which is known) is not released.

use super::chains::{Chains, Moments};
use super::is_small;

/// Months next to each other, counted from 0; both ends belong to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Span {
    /// First month.
    pub first: usize,
    /// Last month.
    pub last: usize,
}

impl Span {
    /// The moments it lies between, when the months so many have both.
    fn moments(self, months: usize) -> Option<Moments> {
        (self.first <= self.last && self.last < months).then_some((self.first, self.last + 1))
    }
}

/// A small number of an outcome over a run, and how many values must stay possible.
struct Guarded {
    outcome: usize,
    run: Moments,
    values: u64,
}

/// Of each span of `asked`, in the order of handing over, whether it is released.
///
/// `counts` holds the cases by outcome, then by month; months beyond the shortest outcome do not
/// count.
///
/// ```
/// use siskin::privacy::series::{Span, release};
/// // Missed and done, of 14 months; each month's last twelve months, then the month alone.
/// let missed = vec![6, 7, 8, 6, 7, 9, 8, 6, 7, 8, 9, 6, 2, 7];
/// let done = vec![90; 14];
/// let asked = [
///     Span { first: 0, last: 0 },
///     Span { first: 0, last: 11 },
///     Span { first: 1, last: 12 },
///     Span { first: 12, last: 12 },
/// ];
/// // The last twelve months are hidden too: with the first they would give back the 2.
/// assert_eq!(release(&[missed, done], &asked, 5), [true, true, false, false]);
/// ```
pub fn release(counts: &[Vec<u64>], asked: &[Span], hide_below: u32) -> Vec<bool> {
    let months = counts.iter().map(Vec::len).min().unwrap_or(0);
    let mut chains = Chains::new(counts.len());
    let mut guarded = Vec::new();
    let mut decide = |span: &Span| {
        let Some(moments) = span.moments(months) else {
            return false;
        };
        if hide_below <= 1 || counts.len() < 2 {
            return hide_below <= 1;
        }
        while chains.months() <= span.last {
            let month = chains.months();
            chains.append(&counts.iter().map(|of_outcome| of_outcome[month]).collect::<Vec<_>>());
            guarded.extend(guarded_to(counts, month, u64::from(hide_below)));
        }
        if chains.are_glued(moments) {
            return true;
        }
        let stays = |one: &Guarded| {
            let room = chains.room(one.outcome, one.run, Some(moments), one.values);
            room.values() >= one.values
        };
        // Those that end last are the likeliest to be given back.
        let released = guarded.iter().rev().all(stays);
        if released {
            chains.glue(moments);
        }
        released
    };
    asked.iter().map(&mut decide).collect()
}

/// The least and the largest number that `outcome` may have over `run` for a reader of the
/// `released` spans; `None` where there is no such outcome or run.
///
/// Exact for two outcomes; for more, no number in between is ruled out, and some beyond may not
/// be either. A released span that does not lie within the months gives nothing away.
///
/// ```
/// use siskin::privacy::series::{Span, possible};
/// let counts = [vec![2, 6], vec![10, 1]];
/// let both = Span { first: 0, last: 1 };
/// let second = Span { first: 1, last: 1 };
/// // Of the 7 in the second month at most 7, so of the 8 in all at least 1 in the first.
/// assert_eq!(possible(&counts, &[both], 0, second), Some((0, 7)));
/// assert_eq!(possible(&counts, &[both], 0, Span { first: 0, last: 0 }), Some((1, 8)));
/// ```
pub fn possible(counts: &[Vec<u64>], released: &[Span], outcome: usize, run: Span) -> Option<(u64, u64)> {
    let months = counts.iter().map(Vec::len).min().unwrap_or(0);
    let run = run.moments(months)?;
    let n = sum(counts.get(outcome)?, run);
    let mut chains = Chains::new(counts.len());
    for month in 0..months {
        chains.append(&counts.iter().map(|of_outcome| of_outcome[month]).collect::<Vec<_>>());
    }
    for span in released.iter().filter_map(|span| span.moments(months)) {
        chains.glue(span);
    }
    let room = chains.room(outcome, run, None, u64::MAX);
    Some((n.saturating_sub(room.down), n.saturating_add(room.up)))
}

/// The small numbers of runs that end with `month`.
fn guarded_to(counts: &[Vec<u64>], month: usize, hide_below: u64) -> Vec<Guarded> {
    // Of two outcomes, what is left without the first is the second.
    let outcomes = if counts.len() == 2 { 1 } else { counts.len() };
    let mut guarded = Vec::new();
    for (outcome, of_outcome) in counts.iter().enumerate().take(outcomes) {
        // The number itself and what is left of the total, each with the totals of the months
        // that hold cases of it.
        let (mut number, mut left) = ((0_u64, 0_u64), (0_u64, 0_u64));
        for first in (0..=month).rev() {
            let total = counts.iter().fold(0, |all: u64, of| all.saturating_add(of[first]));
            for (sum, n) in [(&mut number, of_outcome[first]), (&mut left, total - of_outcome[first])] {
                if n > 0 {
                    *sum = (sum.0.saturating_add(n), sum.1.saturating_add(total));
                }
            }
            let small = [number, left].into_iter().filter(|(n, _)| is_small(*n, hide_below));
            let values = small.map(|(_, totals)| totals.saturating_add(1).min(hide_below)).max();
            guarded.extend(values.map(|values| Guarded {
                outcome,
                run: (first, month + 1),
                values,
            }));
        }
    }
    guarded
}

/// The sum between two moments.
fn sum(counts: &[u64], (from, to): Moments) -> u64 {
    counts[from..to].iter().fold(0, |all, n| all.saturating_add(*n))
}
