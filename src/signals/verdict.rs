//! What a chart says of its last month, in one of a few verdicts.
//!
//! In this order, the first that holds:
//!
//! * *no data*: the month has none.
//! * *provisional*: the month may still change; it is drawn and not judged.
//! * *too few data*: the phase has too few months for limits and for runs.
//! * *shift*: the level has changed and stayed. Either a rule fired in the phase (a long run, few
//!   crossings, or two months outside their limits since the change: one alone is no level) and the
//!   most likely month of a change lies three or more judged months back with a p value under 0.05,
//!   which owns the search over all months; or a long run reaches the last month; or, after a
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
use super::phases::Compared;

/// A change is a shift only when so many judged months have stayed at the new level.
const FEWEST_AFTER: usize = 3;

/// Months outside their limits that make a level.
const FEWEST_OUTSIDE: usize = 2;

/// Most that chance may explain of a change.
const LEVEL: f64 = 0.05;

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
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FoundBy {
    /// This rule.
    Rule(Rule),
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
    if let Some((since, side, rule)) = shift(charted, phase, &signals)
        && let Some(since) = month(since)
    {
        let found_by = FoundBy::Rule(rule);
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

/// Since when the phase runs at another level, to which side, and by which rule.
fn shift(charted: &Charted, phase: &Phase, signals: &[&Signal]) -> Option<(usize, Side, Rule)> {
    let is_judged = |index: &usize| {
        let month = &charted.chart.months[*index];
        month.value.is_some() && !month.is_provisional
    };
    let judged: Vec<usize> = phase.months.clone().filter(is_judged).collect();
    if let Some(change) = phase.change
        && change.p_value < LEVEL
        && judged.iter().filter(|index| **index >= change.first_after).count() >= FEWEST_AFTER
    {
        let side = if change.after > change.before {
            Side::Above
        } else {
            Side::Below
        };
        let outside = signals.iter().filter(|signal| {
            signal.rule == Rule::BeyondLimit && signal.first >= change.first_after && signal.side == Some(side)
        });
        let is_outside = outside.count() >= FEWEST_OUTSIDE;
        let has = |rule: Rule| signals.iter().any(|signal| signal.rule == rule);
        let fired = [
            (Rule::LongRun, has(Rule::LongRun)),
            (Rule::FewCrossings, has(Rule::FewCrossings)),
            (Rule::BeyondLimit, is_outside),
        ];
        if let Some((rule, _)) = fired.into_iter().find(|(_, has_fired)| *has_fired) {
            return Some((change.first_after, side, rule));
        }
    }
    let running = signals
        .iter()
        .find(|signal| signal.rule == Rule::LongRun && Some(&signal.last) == judged.last())?;
    Some((running.first, running.side?, Rule::LongRun))
}
