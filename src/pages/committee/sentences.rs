//! The page's sentences: what matters in short, what changed since the month before, the limits.

use crate::signals::Looked;
use crate::signals::verdict::Verdict;

use super::super::attention::Attention;
use super::super::{numbers, verdict, words};
use super::data::CommitteeData;
use super::rows::CommitteeFigure;

/// More would not be read.
const MOST: usize = 5;

/// What a committee asks for in any month.
const ASKED: [&str; 3] = ["missed_referral", "referral_in_time", "jaundice_readmission_"];

/// What matters, gravest first, with numbers that may be shown.
pub(super) fn in_short(figures: &[CommitteeFigure<'_>], data: &CommitteeData<'_>) -> Vec<String> {
    let is_asked = |one: &CommitteeFigure<'_>| ASKED.iter().any(|stem| words::is_named(one.measure, stem));
    let asked: Vec<&CommitteeFigure<'_>> = figures.iter().filter(|one| is_asked(one)).collect();
    let mut news: Vec<&CommitteeFigure<'_>> = figures
        .iter()
        .filter(|one| one.attention <= Attention::Better && !is_asked(one))
        .collect();
    news.sort_by_key(|one| one.attention);
    news.truncate(MOST.saturating_sub(asked.len()));
    let mut all: Vec<&CommitteeFigure<'_>> = news.into_iter().chain(asked).collect();
    all.sort_by_key(|one| one.attention);
    let mut found: Vec<String> = all.into_iter().map(|one| sentence(one, data)).collect();
    let quiet = figures.iter().filter(|one| one.attention == Attention::Quiet).count();
    found.push(format!(
        "Of {} figures {quiet} show no signal and miss no target; no signal is not proof of good care.",
        figures.len()
    ));
    found
}

/// `Missed referral: 4.1 % of referrals over twelve months (3.3 to 5.1 %). No signal.`
fn sentence(figure: &CommitteeFigure<'_>, data: &CommitteeData<'_>) -> String {
    let name = words::figure(figure.measure);
    let signalled = data.signals.get(figure.measure);
    let short = signalled.map_or_else(String::new, |signalled| {
        format!(" {}.", verdict::begun(&verdict::short(signalled)))
    });
    let number = match figure.year_in_words(data) {
        None => "its numbers are too small to be shown".to_owned(),
        Some(cell) => {
            let interval = match cell.interval.is_empty() {
                true => String::new(),
                false => format!(" ({})", cell.interval),
            };
            format!("{}{interval} over twelve months", cell.value)
        }
    };
    let target = match figure.attention {
        Attention::TargetMissed => {
            let bound = figure.target.map(|target| target.bound_in_words()).unwrap_or_default();
            format!("; the target is {bound}")
        }
        _ => String::new(),
    };
    format!("{name}: {number}{target}.{short}")
}

/// What the meters show, without counts.
pub(super) fn agreement(data: &CommitteeData<'_>) -> Vec<String> {
    let mut sentences = Vec::new();
    if let Some(found) = data
        .agreed
        .headline
        .as_ref()
        .filter(|_| has_enough(data.agreed.pairs, data))
    {
        sentences.push(format!(
            "Screens read {} {} the serum on average; 95 of 100 differences are expected between {} and {}.",
            numbers::concentration(found.bias.abs()),
            if found.bias < 0.0 { "below" } else { "above" },
            numbers::whole(found.limits.lower),
            numbers::concentration(found.limits.upper)
        ));
    }
    sentences.extend(skin_tones(data));
    sentences
}

/// Skin tones on which the meters read otherwise than on all others.
pub(super) fn skin_tones(data: &CommitteeData<'_>) -> Vec<String> {
    let differing = data
        .agreed
        .groups
        .iter()
        .filter(|group| group.by == "skin_tone" && group.differs() && has_enough(group.pairs, data));
    let sentences = differing.map(|group| {
        let by = group.difference.map_or(0.0, |difference| difference.value);
        format!(
            "Skin tone {}: screens read {} {} than those of all others.",
            group.name,
            numbers::concentration(by.abs()),
            if by < 0.0 { "lower" } else { "higher" }
        )
    });
    sentences.collect()
}

/// A mean of so few pairs would be nearly one baby's.
fn has_enough(pairs: usize, data: &CommitteeData<'_>) -> bool {
    pairs as u64 >= 4 * u64::from(data.hide_below)
}

/// Verdicts that are others than those of the month before, by the same data.
pub(super) fn changes(figures: &[CommitteeFigure<'_>], data: &CommitteeData<'_>) -> Vec<String> {
    let before = data.month.plus(-1).in_words();
    let mut changed = Vec::new();
    for one in figures {
        let (Some(now), Some(then)) = (data.signals.get(one.measure), data.signals_before.get(one.measure)) else {
            continue;
        };
        let (short, earlier) = (verdict::short(now), verdict::short(then));
        let is_undecided =
            |verdict: Verdict| matches!(verdict, Verdict::Provisional | Verdict::NoData | Verdict::TooFew(_));
        if short != earlier && !is_undecided(now.verdict) && !is_undecided(then.verdict) {
            changed.push(format!(
                "{}: {short}; in {before}: {earlier}.",
                words::figure(one.measure)
            ));
        }
    }
    if changed.len() > MOST {
        let more = changed.len() - MOST;
        changed.truncate(MOST);
        changed.push(format!("{more} further verdicts changed; the table has them."));
    }
    if changed.is_empty() {
        changed.push(format!(
            "Of the figures that could be judged in both months none has another verdict than in {before}."
        ));
    }
    if !data.records.restated.is_empty() {
        let one = data.records.restated.len() == 1;
        changed.push(format!(
            "{} figure{} of {} moved since {} first told as final.",
            data.records.restated.len(),
            if one { "" } else { "s" },
            data.month.in_words(),
            if one { "it was" } else { "they were" }
        ));
    }
    changed
}

/// What the data cannot say.
pub(super) fn limits(data: &CommitteeData<'_>) -> Vec<String> {
    let mut limits = Vec::new();
    if data.about.ends_early {
        limits.push(format!(
            "The data ends before {} does: its figures cover only what happened by then.",
            data.month.in_words()
        ));
    }
    if data.about.protocol_changed {
        limits.push("The protocol changed within the month: earlier months were judged by other rules.".to_owned());
    }
    let half = super::super::records::half_delivered(&data.records.findings, None);
    if !half.is_empty() {
        let months: Vec<&str> = half.iter().map(String::as_str).collect();
        limits.push(format!(
            "An extract was delivered in part for {}: these months say too little.",
            months.join(", ")
        ));
    }
    let has_readmissions = |measures: &[String]| measures.iter().any(|name| name == "jaundice_readmission");
    if data.audience.is_none_or(has_readmissions) {
        limits.push("Readmissions are those within this network.".to_owned());
    }
    limits.push(
        "Figures marked provisional can still change. Numbers of a \
         quarter or a year show by how much they were restated between two reports."
            .to_owned(),
    );
    let looked = Looked::at(data.signals.values());
    limits.push(format!(
        "{} charts were looked at: were nothing changed, about {:.1} of them would show a signal in some month all \
         the same. Differences between units or groups can come from the babies they serve.",
        looked.charts, looked.expected_false
    ));
    limits
}
