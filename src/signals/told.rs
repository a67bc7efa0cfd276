//! Verdicts as rows of a file, for others to read.

use serde::Serialize;

use crate::month::Month;
use crate::statistics::control::Side;

use super::Signalled;
use super::verdict::{FoundBy, Verdict, Way, way};

/// One figure's verdict: a row of `signals.json`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Row {
    /// Name of the figure.
    pub measure: String,
    /// `YYYY-MM`.
    pub month: String,
    /// `no_signal`, `shift`, `unusual_month`, `too_few_data`, `provisional` or `no_data`.
    pub verdict: &'static str,
    /// Of a shift: its first month.
    pub since: Option<String>,
    /// Of a shift or an unusual month: `above` or `below`.
    pub side: Option<&'static str>,
    /// Whether that is `better` or `worse`; nothing where neither way is.
    pub way: Option<&'static str>,
    /// What fired: `beyond_limit`, `level`, `long_run` or `documented_change`.
    pub rule: Option<&'static str>,
    /// The figure, in the unit of the results.
    pub value: Option<f64>,
    /// What was expected of the month.
    pub centre: Option<f64>,
    /// Lower limit of what was expected.
    pub lower: Option<f64>,
    /// Upper limit of what was expected.
    pub upper: Option<f64>,
    /// First month that set the limits.
    pub baseline_from: Option<String>,
    /// Last month that set the limits.
    pub baseline_to: Option<String>,
    /// Since a documented change, against the phase before: the difference.
    pub difference: Option<f64>,
    /// Lower end of that difference's 95 % interval.
    pub difference_lower: Option<f64>,
    /// Upper end of that difference's 95 % interval.
    pub difference_upper: Option<f64>,
    /// Probability that this chart shows a signal although nothing changed.
    pub false_signal: f64,
}

/// The row of a figure.
pub fn row(signalled: &Signalled) -> Row {
    let charted = &signalled.charted;
    let last = charted.chart.months.last();
    let phase = charted.chart.phases.last();
    let text = |month: &Month| month.to_string();
    let baseline = |index: Option<&usize>| index.and_then(|index| charted.months.get(*index)).map(text);
    let (verdict, side) = match signalled.verdict {
        Verdict::NoData => ("no_data", None),
        Verdict::Provisional => ("provisional", None),
        Verdict::TooFew(_) => ("too_few_data", None),
        Verdict::Shift { side, .. } => ("shift", Some(side)),
        Verdict::UnusualMonth(side) => ("unusual_month", Some(side)),
        Verdict::NoSignal => ("no_signal", None),
    };
    let limits = last.and_then(|month| month.limits);
    let compared = signalled.compared.as_ref();
    Row {
        measure: charted.measure.clone(),
        month: charted.months.last().map(text).unwrap_or_default(),
        verdict,
        since: match signalled.verdict {
            Verdict::Shift { since, .. } => Some(since.to_string()),
            _ => None,
        },
        side: side.map(|side| match side {
            Side::Above => "above",
            Side::Below => "below",
        }),
        way: side.and_then(|side| match way(side, signalled.better) {
            Way::Better => Some("better"),
            Way::Worse => Some("worse"),
            Way::Neither => None,
        }),
        rule: match signalled.verdict {
            Verdict::Shift { found_by, .. } => Some(match found_by {
                FoundBy::Phases => "documented_change",
                FoundBy::Level => "level",
                FoundBy::LongRun => "long_run",
            }),
            Verdict::UnusualMonth(_) => Some("beyond_limit"),
            _ => None,
        },
        value: last.and_then(|month| month.value),
        centre: last.and_then(|month| month.centre),
        lower: limits.map(|limits| limits.lower),
        upper: limits.map(|limits| limits.upper),
        baseline_from: baseline(phase.and_then(|phase| phase.baseline.first())),
        baseline_to: baseline(phase.and_then(|phase| phase.baseline.last())),
        difference: compared.map(|c| c.difference),
        difference_lower: compared.map(|c| c.interval.lower),
        difference_upper: compared.map(|c| c.interval.upper),
        false_signal: charted.chart.false_signal(),
    }
}
