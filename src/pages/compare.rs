//! Two reports beside each other, in words.
//!
//! Of one month at two loads: every figure of which the counts differ. Of two months: verdicts that
//! are others, and shares that differ by more than chance, each taken alone (the interval of their
//! difference, made of the intervals of both as by Newcombe 1998, leaves out zero); that other figures moved within chance is counted.

use serde::Deserialize;

use crate::month::Month;
use crate::queries::figure_kinds::{FigureKind, kind_of};
use crate::queries::figures::Figure;
use crate::statistics::Interval;
use crate::statistics::proportion::difference;

use super::figure_row::row;
use super::{numbers, words};

/// A report as it was written.
#[derive(Clone, Debug)]
pub struct Report {
    /// The rows of `measures.json`.
    pub figures: Vec<Figure>,
    /// The rows of `signals.json`.
    pub verdicts: Vec<Verdict>,
}

/// A row of `signals.json`, as far as it is compared.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
pub struct Verdict {
    /// Name of the figure.
    pub measure: String,
    /// `no_signal`, `shift` and so on.
    pub verdict: String,
    /// Of a shift: its first month.
    pub since: Option<String>,
    /// `above` or `below`.
    pub side: Option<String>,
    /// `better` or `worse`.
    pub way: Option<String>,
}

impl Report {
    /// The month it is of; `None` without a figure.
    pub fn month(&self) -> Option<Month> {
        self.figures.first()?.month.parse().ok()
    }

    /// `September 2026, load 24`.
    pub fn in_words(&self) -> String {
        let load = self.figures.first().map_or(0, |figure| figure.load);
        let month = self.month().map_or_else(|| "no month".to_owned(), Month::in_words);
        let unit = self.unit().map_or_else(String::new, |unit| format!(", unit {unit}"));
        format!("{month}{unit}, load {load}")
    }

    /// The unit it is of; `None` for the network.
    pub fn unit(&self) -> Option<&str> {
        let is_of_network = self.figures.iter().any(|figure| figure.split == "all");
        let unit = self.figures.iter().find(|figure| figure.split == "unit");
        unit.filter(|_| !is_of_network).map(|figure| figure.group.as_str())
    }

    /// The figures of the network, or of the unit it is of.
    fn whole(&self) -> impl Iterator<Item = &Figure> {
        let split = if self.unit().is_some() { "unit" } else { "all" };
        self.figures.iter().filter(move |figure| figure.split == split)
    }
}

/// What differs, a sentence each; the last counts what does not.
pub fn differences(older: &Report, newer: &Report) -> Vec<String> {
    let is_one_month = older.month() == newer.month();
    let mut sentences = Vec::new();
    let protocol = |report: &Report| report.figures.first().map(|figure| figure.protocol.clone());
    if protocol(older) != protocol(newer) {
        sentences.push(format!(
            "Judged by another protocol: {}, before {}.",
            protocol(newer).unwrap_or_default(),
            protocol(older).unwrap_or_default()
        ));
    }
    let mut undecided = 0;
    for now in &newer.verdicts {
        let Some(before) = older.verdicts.iter().find(|one| one.measure == now.measure) else {
            continue;
        };
        let (current, then) = (in_words(now), in_words(before));
        if current == then {
            continue;
        }
        match is_judged(now) && is_judged(before) {
            true => sentences.push(format!("{}: {current}; before: {then}.", words::figure(&now.measure))),
            false => undecided += 1,
        }
    }
    let mut alike = 0;
    for now in newer.whole() {
        let Some(before) = older.whole().find(|figure| figure.measure == now.measure) else {
            sentences.push(format!("{} was not told before.", words::figure(&now.measure)));
            continue;
        };
        let differs = match is_one_month {
            true => counts(now) != counts(before) || now.value != before.value,
            false => is_beyond_chance(before, now),
        };
        match differs {
            true => sentences.push(figure(before, now)),
            false => alike += 1,
        }
    }
    sentences.extend(older.whole().filter_map(|before| {
        let is_gone = !newer.whole().any(|figure| figure.measure == before.measure);
        is_gone.then(|| format!("{} is told no more.", words::figure(&before.measure)))
    }));
    if undecided > 0 {
        sentences.push(format!(
            "{} verdicts are those of a provisional month or of too few data in one of the two.",
            numbers::count(undecided)
        ));
    }
    sentences.push(match is_one_month {
        true => format!("{} figures are as they were.", numbers::count(alike)),
        false => format!(
            "{} figures differ by no more than chance, or have no test.",
            numbers::count(alike)
        ),
    });
    sentences
}

fn counts(figure: &Figure) -> (Option<u64>, Option<u64>) {
    (figure.numerator, figure.denominator)
}

/// Whether a chart could say anything of the month.
fn is_judged(verdict: &Verdict) -> bool {
    !["provisional", "too_few_data", "no_data"].contains(&verdict.verdict.as_str())
}

/// Whether two shares differ by more than chance.
fn is_beyond_chance(before: &Figure, now: &Figure) -> bool {
    let is_share = kind_of(&now.measure).is_some_and(FigureKind::is_plain_share);
    let may_change = now.provisional || before.provisional;
    // The intervals as they were reported: those of clusters are wider than their counts say.
    let share = |figure: &Figure| {
        let (lower, upper) = figure.lower.zip(figure.upper)?;
        Some((figure.value?, Interval { lower, upper }))
    };
    share(now)
        .zip(share(before))
        .filter(|_| is_share && !may_change)
        .map(|(now, before)| difference(now, before))
        .is_some_and(|difference| difference.lower > 0.0 || difference.upper < 0.0)
}

/// `Missed referral: 2 % (2 of 81); before: 5 % (4 of 80).`
fn figure(before: &Figure, now: &Figure) -> String {
    let written = |figure: &Figure| {
        let row = row(figure, "", false);
        format!("{} ({})", row.value, row.count)
    };
    format!(
        "{}: {}; before: {}.",
        words::figure(&now.measure),
        written(now),
        written(before)
    )
}

/// A verdict in a few words.
fn in_words(verdict: &Verdict) -> String {
    let side = verdict.side.as_deref().unwrap_or_default();
    match verdict.verdict.as_str() {
        "shift" => {
            let way = verdict.way.as_deref().unwrap_or(match side {
                "above" => "higher",
                _ => "lower",
            });
            let since = verdict.since.as_deref().and_then(|since| since.parse::<Month>().ok());
            format!("{way} since {}", since.map_or_else(String::new, Month::short_with_year))
        }
        "unusual_month" => format!("unusual month, {side}"),
        other => other.replace('_', " "),
    }
}
