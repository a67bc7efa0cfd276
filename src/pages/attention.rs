//! What needs attention first.

use serde::Serialize;

use crate::queries::figures::Figure;
use crate::signals::Signalled;
use crate::signals::verdict::{Verdict, Way, way};

use super::figure_row::is_provisional;
use super::target::Target;

/// How much a figure of the month needs to be looked at, most first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum Attention {
    /// Its level changed for the worse and stayed.
    Worse,
    /// The month alone is outside its limits, on the worse side.
    UnusuallyBad,
    /// Twelve months together miss the protocol's target.
    TargetMissed,
    /// Its level changed, or the month stands out, and neither way is better.
    Changed,
    /// Its level changed for the better, or the month alone is unusually good.
    Better,
    /// No signal.
    Quiet,
    /// The month may still change, or there are too few months to judge by.
    Undecided,
    /// The month has no data.
    NoData,
}

impl Attention {
    /// That of a figure, by its chart and by the same figure over twelve months.
    pub(super) fn of(
        now: &Figure,
        signalled: Option<&Signalled>,
        year: Option<&Figure>,
        target: Option<Target>,
    ) -> Self {
        let moved = signalled.map(|signalled| (signalled.verdict, signalled.better));
        let of_way = |is_shift: bool, way: Way| match (is_shift, way) {
            (true, Way::Worse) => Self::Worse,
            (false, Way::Worse) => Self::UnusuallyBad,
            (_, Way::Better) => Self::Better,
            (_, Way::Neither) => Self::Changed,
        };
        let by_chart = match moved {
            Some((Verdict::NoData, _)) => Self::NoData,
            Some((Verdict::Provisional | Verdict::TooFew(_), _)) => Self::Undecided,
            Some((Verdict::Shift { side, .. }, better)) => of_way(true, way(side, better)),
            Some((Verdict::UnusualMonth(side), better)) => of_way(false, way(side, better)),
            Some((Verdict::NoSignal, _)) => Self::Quiet,
            None if now.denominator.is_none() => Self::NoData,
            None if is_provisional(now) => Self::Undecided,
            None => Self::Quiet,
        };
        let value = year.and_then(|year| year.value);
        let is_missed = target.is_some_and(|target| target.is_kept(value) == Some(false));
        match is_missed && by_chart != Self::NoData {
            true => by_chart.min(Self::TargetMissed),
            false => by_chart,
        }
    }
}
