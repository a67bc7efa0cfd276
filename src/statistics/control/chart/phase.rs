//! One phase drawn: its months, its signals, and what it was judged by.

use std::ops::Range;

use super::false_signals;
use super::fitted::Fitted;
use super::model::{Cell, Model};
use super::parts::{Kind, Month, Phase, Series, Signal};
use super::signals::{runs, signals};

/// The phase of these months of a series; `number` is its index.
pub(super) fn drawn(
    series: Series<'_>,
    cells: &[Option<Cell>],
    months: Range<usize>,
    provisional: &[bool],
    number: usize,
) -> (Phase, Vec<Month>, Vec<Signal>) {
    let is_provisional = |index: usize| provisional.get(index).copied().unwrap_or(false);
    let counted = months.clone().filter(|index| !is_provisional(*index));
    let (judged, of_judged): (Vec<usize>, Vec<Cell>) = counted.filter_map(|i| Some((i, cells[i]?))).unzip();
    let fitted = Fitted::to(series, &of_judged);
    let model = fitted.model.ok();
    let baseline = judged[..fitted.baseline].to_vec();
    let centre = model.map(|model| model.centre());
    let month = |index: usize| {
        let cell: Option<Cell> = cells[index];
        let limits = model.and_then(|model| model.limits(cell));
        let is_exact = limits.is_some_and(|(_, is_exact)| is_exact);
        Month {
            value: cell.map(|cell| cell.value),
            centre,
            limits: limits.map(|(limits, _)| limits),
            is_exact,
            is_provisional: is_provisional(index),
            signals: Vec::new(),
        }
    };
    let mut drawn: Vec<Month> = months.clone().map(month).collect();
    let runs = runs(cells, &judged);
    let signals = signals(number, months.start, &mut drawn, &judged, runs.as_ref());
    let kind = match fitted.model {
        Ok(model) => model.kind(judged.iter().any(|index| drawn[index - months.start].is_exact)),
        Err(why) if runs.as_ref().is_some_and(|runs| runs.allowed.is_some()) => Kind::RunOnly(why),
        Err(why) => Kind::TooFew(why),
    };
    let phase = Phase {
        kind,
        baseline,
        centre,
        sigma_z: model.as_ref().and_then(Model::sigma_z),
        false_signal: false_signals::probability(kind, judged.len()),
        months,
    };
    (phase, drawn, signals)
}
