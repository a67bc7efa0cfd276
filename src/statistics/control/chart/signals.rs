//! The rules of a chart and what they find.

use super::super::run_chart::RunChart;
use super::model::Cell;
use super::parts::{Month, Rule, Signal};

/// Runs are used only where so large a share of the values off the median lies on either side.
const LEAST_SIDE: f64 = 0.4;

/// Runs of the judged months, by index in the series.
pub(super) fn runs(cells: &[Option<Cell>], judged: &[usize]) -> Option<RunChart> {
    let mut values = vec![None; cells.len()];
    for index in judged {
        values[*index] = cells[*index].map(|cell| cell.value);
    }
    let mut of = RunChart::of(&values)?;
    if of.smaller_share() < LEAST_SIDE {
        of.allowed = None;
    }
    Some(of)
}

/// What the rules find in a phase; marks the months as well.
pub(super) fn signals(
    phase: usize,
    start: usize,
    drawn: &mut [Month],
    judged: &[usize],
    runs: Option<&RunChart>,
) -> Vec<Signal> {
    let mut found = Vec::new();
    for index in judged {
        let month = &mut drawn[index - start];
        let side = month.limits.and_then(|limits| limits.beyond(month.value?));
        if side.is_some() {
            month.signals.push(Rule::BeyondLimit);
            found.push(Signal {
                rule: Rule::BeyondLimit,
                first: *index,
                last: *index,
                side,
                phase,
            });
        }
    }
    let Some(runs) = runs else {
        return found;
    };
    for run in runs.too_long() {
        for index in judged.iter().filter(|index| (run.first..=run.last).contains(*index)) {
            let month = &mut drawn[index - start];
            if month.value.is_some_and(|value| value != runs.median) {
                month.signals.push(Rule::LongRun);
            }
        }
        found.push(Signal {
            rule: Rule::LongRun,
            first: run.first,
            last: run.last,
            side: Some(run.side),
            phase,
        });
    }
    if let (true, Some(first), Some(last)) = (runs.crosses_too_rarely(), runs.runs.first(), runs.runs.last()) {
        found.push(Signal {
            rule: Rule::FewCrossings,
            first: first.first,
            last: last.last,
            side: None,
            phase,
        });
    }
    found
}
