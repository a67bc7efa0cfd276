//! What the committee is asked to decide.

use serde::Serialize;

use crate::signals::verdict::{Verdict, Way, way};

use super::super::attention::Attention;
use super::super::{verdict, words};
use super::data::CommitteeData;
use super::rows::CommitteeFigure;
use super::sentences;

/// One decision.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub(super) struct Decision {
    /// Why it is asked for.
    pub because: String,
    /// What is asked.
    pub question: String,
}

/// More would not be decided in one meeting.
const MOST: usize = 5;

/// What is asked for, gravest first; a word on how many more there are is left to the quality page.
pub(super) fn decisions(figures: &[CommitteeFigure<'_>], data: &CommitteeData<'_>) -> Vec<Decision> {
    let mut asked: Vec<(Attention, Decision)> = figures.iter().filter_map(|one| of_figure(one, data)).collect();
    asked.extend(
        meters(data)
            .into_iter()
            .map(|decision| (Attention::UnusuallyBad, decision)),
    );
    asked.extend(targets(figures, data).map(|decision| (Attention::TargetMissed, decision)));
    let gaps = sentences::skin_tones(data);
    if !gaps.is_empty() {
        let decision = Decision {
            because: gaps.join(" "),
            question: "Who looks into the readings of these babies, until when?".to_owned(),
        };
        asked.push((Attention::Changed, decision));
    }
    asked.sort_by_key(|(attention, _)| *attention);
    asked.truncate(MOST);
    asked.into_iter().map(|(_, decision)| decision).collect()
}

fn of_figure(figure: &CommitteeFigure<'_>, data: &CommitteeData<'_>) -> Option<(Attention, Decision)> {
    let name = words::figure(figure.measure);
    let year = figure.year_in_words(data);
    let of_year = year.map_or_else(String::new, |cell| match cell.count.is_empty() {
        true => format!(" ({} over twelve months)", cell.value),
        false => format!(" ({} over twelve months, {})", cell.value, cell.count),
    });
    let short = data.signals.get(figure.measure).map(verdict::short).unwrap_or_default();
    let decision = match figure.attention {
        Attention::Worse => Decision {
            because: format!("{name}: {short}{of_year}."),
            question: "What is to be looked into, by whom, until when?".to_owned(),
        },
        Attention::UnusuallyBad => Decision {
            because: format!("{name}: {short}; one month alone can be chance{of_year}."),
            question: "Look into the month, or wait for the next?".to_owned(),
        },
        Attention::Better => {
            let documented = documented_change(figure, data)?;
            Decision {
                because: format!("{name}: {short}, after the change of {documented}{of_year}."),
                question: "Keep the change, and is it to be taken over elsewhere?".to_owned(),
            }
        }
        _ => return None,
    };
    Some((figure.attention, decision))
}

/// All figures that miss their target, as one question; `None` when all keep it.
fn targets(figures: &[CommitteeFigure<'_>], data: &CommitteeData<'_>) -> Option<Decision> {
    let missed = figures.iter().filter(|one| one.attention == Attention::TargetMissed);
    let each: Vec<String> = missed
        .map(|one| {
            let bound = one.target.map(|target| target.bound_in_words()).unwrap_or_default();
            let value = one
                .year_in_words(data)
                .map_or_else(String::new, |cell| format!("{}, ", cell.value));
            format!("{} ({value}target {bound})", words::figure(one.measure))
        })
        .collect();
    (!each.is_empty()).then(|| Decision {
        because: format!("Over twelve months these miss their target: {}.", each.join("; ")),
        question: "Which is taken up first, by whom, until when?".to_owned(),
    })
}

/// `October 2025 (text)`: the documented change that a figure became better after.
fn documented_change(figure: &CommitteeFigure<'_>, data: &CommitteeData<'_>) -> Option<String> {
    let signalled = data.signals.get(figure.measure)?;
    let Verdict::Shift { side, since, .. } = signalled.verdict else {
        return None;
    };
    let compared = signalled.compared.as_ref()?;
    let is_better = way(side, signalled.better) == Way::Better && since >= compared.since;
    is_better.then(|| format!("{} ({})", compared.since.in_words(), compared.text))
}

/// Meters that drifted and are in use.
fn meters(data: &CommitteeData<'_>) -> Vec<Decision> {
    let in_use = data
        .agreed
        .drifts
        .found
        .iter()
        .filter(|drift| drift.last >= data.month.plus(-1));
    let decision = |drift: &crate::signals::drift::Drift| Decision {
        because: format!(
            "Meter {} read {} than the others from {} on.",
            drift.meter,
            if drift.by < 0.0 { "less" } else { "more" },
            drift.began.in_words()
        ),
        question: "Who has it checked, until when?".to_owned(),
    };
    in_use.map(decision).collect()
}
