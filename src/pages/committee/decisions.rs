//! What the committee is asked to decide.

use serde::Serialize;

use crate::signals::verdict::{Verdict, Way, way};

use super::super::attention::Attention;
use super::super::{verdict, words};
use super::CommitteeData;
use super::rows::Told;

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
pub(super) fn decisions(told: &[Told<'_>], data: &CommitteeData<'_>) -> Vec<Decision> {
    let mut asked: Vec<(Attention, Decision)> = told.iter().filter_map(|one| of_figure(one, data)).collect();
    asked.extend(meters(data).into_iter().map(|decision| (Attention::UnusuallyBad, decision)));
    asked.sort_by_key(|(attention, _)| *attention);
    asked.truncate(MOST);
    asked.into_iter().map(|(_, decision)| decision).collect()
}

fn of_figure(told: &Told<'_>, data: &CommitteeData<'_>) -> Option<(Attention, Decision)> {
    let name = words::figure(told.measure);
    let year = told.year_in_words(data);
    let of_year = year.map_or_else(String::new, |cell| match cell.count.is_empty() {
        true => format!(" ({} over twelve months)", cell.value),
        false => format!(" ({} over twelve months, {})", cell.value, cell.count),
    });
    let short = data.signals.get(told.measure).map(verdict::short).unwrap_or_default();
    let decision = match told.attention {
        Attention::Worse => Decision {
            because: format!("{name}: {short}{of_year}."),
            question: "What is to be looked into, by whom, until when?".to_owned(),
        },
        Attention::UnusuallyBad => Decision {
            because: format!("{name}: {short}; one month alone can be chance{of_year}."),
            question: "Look into the month, or wait for the next?".to_owned(),
        },
        Attention::TargetMissed => Decision {
            because: format!(
                "{name} misses its target of {}{of_year}.",
                told.target.map(|target| target.bound_in_words()).unwrap_or_default()
            ),
            question: "Ask for a plan and a date, or accept the figure until when?".to_owned(),
        },
        Attention::Better => {
            let documented = documented_change(told, data)?;
            Decision {
                because: format!("{name}: {short}, after the change of {documented}{of_year}."),
                question: "Keep the change, and is it to be taken over elsewhere?".to_owned(),
            }
        }
        _ => return None,
    };
    Some((told.attention, decision))
}

/// `October 2025 (text)`: the documented change that a figure became better after.
fn documented_change(told: &Told<'_>, data: &CommitteeData<'_>) -> Option<String> {
    let signalled = data.signals.get(told.measure)?;
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
