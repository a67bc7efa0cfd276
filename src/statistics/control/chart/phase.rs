//! One phase drawn: its months, its signals, and what it was judged by.

use std::ops::Range;

use super::super::change_point::{self, Change};
use super::fitted::Fitted;
use super::model::{self, Cell, Model};
use super::signals::{Signal, runs, signals};
use super::{Kind, Month, Phase, Series, false_signals};

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
        let z = model.and_then(|model| model.z(cell?));
        Month {
            value: cell.map(|cell| cell.value),
            centre,
            limits: limits.map(|(limits, _)| limits),
            is_exact,
            z: z.filter(|_| !is_exact),
            is_baseline: baseline.contains(&index),
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
    let sigma_z = model.as_ref().and_then(Model::sigma_z);
    let change = (!signals.is_empty()).then(|| change(series, &judged, &of_judged, sigma_z.unwrap_or(1.0)));
    let phase = Phase {
        kind,
        baseline,
        judged: judged.len(),
        centre,
        sigma_z,
        dispersion: fitted.dispersion,
        runs,
        change: change.flatten(),
        false_signal: false_signals::probability(kind, judged.len()),
        months,
    };
    (phase, drawn, signals)
}

/// The change of the judged months, its month by index in the series.
fn change(series: Series<'_>, judged: &[usize], cells: &[Cell], sigma_z: f64) -> Option<Change> {
    let change = match series {
        Series::Proportions(_) => change_point::proportions(&model::proportions(cells), sigma_z),
        Series::Rates { .. } => change_point::rates(&model::rates(cells), sigma_z),
        Series::Values { .. } => change_point::values(&cells.iter().map(|cell| cell.value).collect::<Vec<_>>()),
        Series::CasesBetween(_) => None,
    }?;
    Some(Change {
        first_after: *judged.get(change.first_after)?,
        ..change
    })
}
