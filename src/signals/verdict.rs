//! What a chart says of its last month, in one of a few verdicts.
//!
//! In this order, the first that holds:
//!
//! * *no data*: the month has none.
//! * *provisional*: the month may still change; it is drawn and not judged.
//! * *too few data*: the phase has too few months for limits and for runs.
//! * *shift*: the level has changed and stayed. Either two levels explain the months of the phase
//!   better than one ([`super::level`]: p under 0.01, three months or more since, and not for one
//!   month's sake); or a long run on one side of the median reaches the last month; or, after a
//!   documented change, the phase differs from the one before by more than chance (the 95 % interval
//!   of the difference leaves out zero).
//! * *unusual month*: the month alone is outside its limits.
//! * *no signal*.
//!
//! A shift is better or worse where the measure says which way is; else it is up or down.

use crate::month::Month;
use crate::queries::header::Better;
use crate::statistics::control::Side;
use crate::statistics::control::chart::{Kind, Phase, Rule, Signal, Why};

use super::charted::Charted;
use super::level::level_change;
use super::phases::Compared;

/// With fewer judged months no change of level is looked for, as there are no runs either.
const FEWEST_JUDGED: usize = 10;

/// What a chart says of its last month.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Verdict {
    /// The month has no data.
    NoData,
    /// The month may still change.
    Provisional,
    /// Not enough months for this chart.
    TooFew(Why),
    /// The level changed and stayed.
    Shift {
        /// The first month at the new level.
        since: Month,
        /// Where it went.
        side: Side,
        /// How it was found.
        found_by: FoundBy,
    },
    /// The month alone is outside its limits.
    UnusualMonth(Side),
    /// Nothing but chance is needed to explain the month.
    NoSignal,
}

/// What showed a shift.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FoundBy {
    /// Two levels explain the months better than one.
    Level,
    /// A long run on one side of the median.
    LongRun,
    /// The comparison with the phase before a documented change.
    Phases,
}

/// Whether that is good.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// Better.
    Better,
    /// Worse.
    Worse,
    /// Neither way is better.
    Neither,
}

/// Which way a side is, where higher or lower is better.
pub fn way(side: Side, better: Option<Better>) -> Way {
    match (side, better) {
        (_, None) => Way::Neither,
        (Side::Above, Some(Better::Higher)) | (Side::Below, Some(Better::Lower)) => Way::Better,
        _ => Way::Worse,
    }
}

/// The verdict on the last month of a chart; `compared` is its last phase against the one before.
pub fn verdict(charted: &Charted, compared: Option<&Compared>) -> Verdict {
    let (Some(last), Some(phase)) = (charted.chart.months.last(), charted.chart.phases.last()) else {
        return Verdict::NoData;
    };
    if last.value.is_none() {
        return Verdict::NoData;
    }
    if last.is_provisional {
        return Verdict::Provisional;
    }
    let place = charted.chart.phases.len() - 1;
    let signals: Vec<&Signal> = charted.chart.signals.iter().filter(|s| s.phase == place).collect();
    let month = |index: usize| charted.months.get(index).copied();
    if let Some((since, side, found_by)) = shift(charted, phase, &signals)
        && let Some(since) = month(since)
    {
        return Verdict::Shift { since, side, found_by };
    }
    if let Some(compared) = compared
        && let Some(side) = compared.side()
    {
        return Verdict::Shift {
            since: compared.since,
            side,
            found_by: FoundBy::Phases,
        };
    }
    if let Kind::TooFew(why) = phase.kind {
        return Verdict::TooFew(why);
    }
    let end = charted.chart.months.len() - 1;
    let of_month = signals.iter().find(|s| s.rule == Rule::BeyondLimit && s.last == end);
    match of_month.and_then(|signal| signal.side) {
        Some(side) => Verdict::UnusualMonth(side),
        None => Verdict::NoSignal,
    }
}

/// Since when the phase runs at another level, to which side, and how that was found.
fn shift(charted: &Charted, phase: &Phase, signals: &[&Signal]) -> Option<(usize, Side, FoundBy)> {
    let is_judged = |index: &usize| {
        let month = &charted.chart.months[*index];
        month.value.is_some() && !month.is_provisional
    };
    let judged: Vec<usize> = phase.months.clone().filter(is_judged).collect();
    if judged.len() >= FEWEST_JUDGED
        && let Some((since, side)) = level_change(charted, &judged)
    {
        return Some((since, side, FoundBy::Level));
    }
    let running = signals
        .iter()
        .find(|signal| signal.rule == Rule::LongRun && Some(&signal.last) == judged.last())?;
    Some((running.first, running.side?, FoundBy::LongRun))
}
