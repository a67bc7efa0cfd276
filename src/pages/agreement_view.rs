//! How well the meters agree with the laboratory, as the page shows it.

use serde::Serialize;

use crate::charts::Format;
use crate::charts::difference::{Difference, Level};
use crate::charts::regression::{Fit, Regression};
use crate::signals::agreement::{Agreed, Group};
use crate::signals::drift::Drift;
use crate::statistics::Interval;
use crate::statistics::agreement::diagnostic::{Share, Table, by_clusters};
use crate::statistics::control::Side;

use super::numbers::{self, concentration, whole};
use super::verdict::begun;
use super::{PageError, words};

/// The section on agreement.
#[derive(Clone, Debug, Serialize)]
pub(super) struct AgreementView {
    /// `October 2025 to September 2026`.
    pub span: String,
    /// What was found, a sentence each.
    pub sentences: Vec<String>,
    /// The difference plot, an SVG element; empty without pairs.
    pub differences: String,
    /// The regression, an SVG element; empty without pairs.
    pub regression: String,
    /// Name, figure and interval of each statistic.
    pub statistics: Vec<Statistic>,
    /// The referral rule against serum above the line.
    pub rule: Vec<Statistic>,
    /// First pairs by group.
    pub groups: Vec<GroupRow>,
    /// How many groups were compared with the rest.
    pub compared: usize,
    /// Meters that were looked at for drift.
    pub meters: usize,
}

/// One statistic.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Statistic {
    pub name: String,
    pub value: String,
    pub interval: String,
}

/// One group.
#[derive(Clone, Debug, Serialize)]
pub(super) struct GroupRow {
    pub by: String,
    pub name: String,
    pub pairs: usize,
    pub bias: String,
    pub interval: String,
    pub limits: String,
    pub difference: String,
    /// The difference leaves out zero.
    pub differs: bool,
}

/// The view of what was compared.
///
/// # Errors
/// When a chart cannot be drawn.
pub(super) fn view(agreed: &Agreed) -> Result<AgreementView, PageError> {
    let has_pairs = agreed.headline.is_some();
    Ok(AgreementView {
        span: format!("{} to {}", agreed.first.in_words(), agreed.last.in_words()),
        sentences: sentences(agreed),
        differences: if has_pairs { differences(agreed)? } else { String::new() },
        regression: if has_pairs { regression(agreed)? } else { String::new() },
        statistics: statistics(agreed),
        rule: rule(agreed),
        groups: agreed.groups.iter().map(group_row).collect(),
        compared: agreed.groups.iter().filter(|group| group.difference.is_some()).count(),
        meters: agreed.drifts.judged,
    })
}

/// `-4 to 11`.
fn between(interval: Interval) -> String {
    format!("{} to {}", whole(interval.lower), whole(interval.upper))
}

fn sentences(agreed: &Agreed) -> Vec<String> {
    let mut sentences = Vec::new();
    match &agreed.headline {
        None => sentences.push("Fewer than two babies have a pair: nothing can be compared.".to_owned()),
        Some(found) => sentences.push(format!(
            "Screens read {} {} the serum on average ({}); 95 of 100 differences are expected between {} and {}.",
            concentration(found.bias.abs()),
            if found.bias < 0.0 { "below" } else { "above" },
            between(found.bias_interval),
            whole(found.limits.lower),
            concentration(found.limits.upper)
        )),
    }
    sentences.extend(agreed.drifts.found.iter().map(drift));
    if agreed.drifts.found.is_empty() && agreed.drifts.judged > 0 {
        sentences.push(format!(
            "No meter drifted away from the others ({} looked at).",
            agreed.drifts.judged
        ));
    }
    let differing = agreed
        .groups
        .iter()
        .filter(|group| group.differs() && group.by != "meter");
    sentences.extend(differing.map(|group| {
        let by = group.difference.map_or(0.0, |difference| difference.value);
        format!(
            "{} {}: screens read {} {} than those of all others.",
            begun(&words::column(group.by)),
            group.name,
            concentration(by.abs()),
            if by < 0.0 { "lower" } else { "higher" },
        )
    }));
    sentences
}

fn drift(drift: &Drift) -> String {
    format!(
        "Meter {} drifted: from {} on it read {} {} than the others ({} pairs; flagged in {}; last pair in {}).",
        drift.meter,
        drift.began.in_words(),
        concentration(drift.by.abs()),
        if drift.side == Side::Above { "more" } else { "less" },
        drift.pairs,
        drift.flagged.in_words(),
        drift.last.in_words()
    )
}

fn differences(agreed: &Agreed) -> Result<String, PageError> {
    let Some(found) = &agreed.headline else {
        return Ok(String::new());
    };
    let labels = [
        format!("bias {} ({})", whole(found.bias), between(found.bias_interval)),
        format!(
            "limit {} ({})",
            whole(found.limits.lower),
            between(found.lower_interval)
        ),
        format!(
            "limit {} ({})",
            whole(found.limits.upper),
            between(found.upper_interval)
        ),
    ];
    let chart = Difference {
        id: "agreement-differences",
        title: &format!("Screen minus serum: {}", labels[0]),
        description: "Difference of each baby's first pair against the mean of the two, with bias, limits of agreement and their intervals; the numbers are in the tables below",
        pairs: &agreed.points,
        bias: Some(level(found.bias, found.bias_interval, &labels[0])),
        limits: Some((
            level(found.limits.lower, found.lower_interval, &labels[1]),
            level(found.limits.upper, found.upper_interval, &labels[2]),
        )),
        format: Format::Narrow,
        write: whole,
        mean: "mean of screen and serum, umol/L",
        difference: "screen minus serum, umol/L",
    };
    Ok(chart.svg()?)
}

fn level(value: f64, interval: Interval, label: &str) -> Level<'_> {
    Level {
        value,
        interval: Some((interval.lower, interval.upper)),
        label,
    }
}

fn regression(agreed: &Agreed) -> Result<String, PageError> {
    let line = |name: &str, intercept: f64, slope: f64| format!("{name}: {} + {slope:.2} x", whole(intercept));
    let deming = agreed.deming.as_ref().map(|d| (d.intercept, d.slope));
    let ranks = agreed.passing_bablok.as_ref().map(|p| (p.intercept, p.slope));
    let lines: Vec<(f64, f64, String)> = [("Deming", deming), ("Passing-Bablok", ranks)]
        .into_iter()
        .filter_map(|(name, found)| found.map(|(intercept, slope)| (intercept, slope, line(name, intercept, slope))))
        .collect();
    let fits: Vec<Fit<'_>> = lines
        .iter()
        .map(|(intercept, slope, label)| Fit {
            intercept: *intercept,
            slope: *slope,
            label,
        })
        .collect();
    let chart = Regression {
        id: "agreement-regression",
        title: "Screen against serum",
        description: "Each baby's first pair with the line of equality and two regressions; the numbers are in the tables below",
        pairs: &agreed.compared,
        fits: &fits,
        format: Format::Narrow,
        write: whole,
        along: "serum, umol/L",
        up: "screen, umol/L",
    };
    Ok(chart.svg()?)
}

fn statistics(agreed: &Agreed) -> Vec<Statistic> {
    let row = |name: &str, value: String, interval: Option<String>| Statistic {
        name: name.to_owned(),
        value,
        interval: interval.unwrap_or_default(),
    };
    let two = |interval: Interval| {
        let number = numbers::two_decimals;
        format!("{} to {}", number(interval.lower), number(interval.upper))
    };
    let mut rows = Vec::new();
    if let Some(found) = &agreed.headline {
        let babies = format!("first pairs of {} babies", found.pairs);
        rows.push(row(
            &format!("Bias, {babies}"),
            concentration(found.bias),
            Some(between(found.bias_interval)),
        ));
        rows.push(row(
            "Lower limit of agreement",
            concentration(found.limits.lower),
            Some(between(found.lower_interval)),
        ));
        rows.push(row(
            "Upper limit of agreement",
            concentration(found.limits.upper),
            Some(between(found.upper_interval)),
        ));
        if let Some(line) = &found.proportional {
            rows.push(row(
                "Proportional bias: difference for each umol/L of the mean",
                numbers::two_decimals(line.slope),
                Some(two(line.slope_interval)),
            ));
        }
    }
    if let Some(found) = &agreed.nearer {
        rows.push(row(
            &format!("Bias of the {} taken within 30 minutes", found.pairs),
            concentration(found.bias),
            Some(between(found.bias_interval)),
        ));
    }
    if let Some(found) = &agreed.repeated {
        rows.push(row(
            &format!("Bias, all {} pairs of {} babies", found.pairs, found.babies),
            concentration(found.bias),
            Some(between(found.bias_interval)),
        ));
        let spread = |sd: Option<f64>| sd.map_or_else(|| "\u{2013}".to_owned(), concentration);
        rows.push(row("Spread between babies (SD)", spread(found.between_sd), None));
        rows.push(row("Spread within a baby (SD)", spread(found.within_sd), None));
    }
    if let Some(found) = &agreed.deming {
        rows.push(row(
            "Deming slope, equal errors",
            format!("{:.2}", found.slope),
            found.slope_interval.map(two),
        ));
    }
    if let Some(found) = &agreed.passing_bablok {
        rows.push(row(
            "Passing-Bablok slope",
            format!("{:.2}", found.slope),
            found.slope_interval.map(two),
        ));
    }
    if let Some(found) = &agreed.concordance {
        rows.push(row(
            "Concordance (Lin)",
            format!("{:.2}", found.value),
            found.interval.map(two),
        ));
    }
    rows
}

fn rule(agreed: &Agreed) -> Vec<Statistic> {
    // Pairs of one baby are not independent: the interval goes by babies.
    let share = |name: &str, of: fn(&Table) -> Option<Share>| {
        let found = of(&agreed.rule)?;
        let interval = by_clusters(&agreed.rule_of_babies, of)?;
        Some(Statistic {
            name: name.to_owned(),
            value: format!(
                "{}, {} of {}",
                numbers::percent(found.value, found.of),
                found.events,
                found.of
            ),
            interval: numbers::percent_interval(interval, found.of),
        })
    };
    let mut rows: Vec<Statistic> = [
        share(
            "Sensitivity: serum above the line, screen called for it",
            Table::sensitivity,
        ),
        share(
            "Specificity: serum not above, screen called for none",
            Table::specificity,
        ),
        share(
            "Of screens that called, serum above the line",
            Table::positive_predictive_value,
        ),
        share(
            "Of screens that did not call, serum not above",
            Table::negative_predictive_value,
        ),
    ]
    .into_iter()
    .flatten()
    .collect();
    if let Some(area) = &agreed.area {
        rows.push(Statistic {
            name: "Area under the curve, by how far the screen lies from the line".to_owned(),
            value: format!("{:.2}", area.value),
            interval: area
                .interval
                .map_or_else(String::new, |i| format!("{:.2} to {:.2}", i.lower, i.upper)),
        });
    }
    rows
}

fn group_row(group: &Group) -> GroupRow {
    GroupRow {
        by: words::column(group.by),
        name: group.name.clone(),
        pairs: group.pairs,
        bias: concentration(group.bias),
        interval: group.bias_interval.map_or_else(String::new, between),
        limits: group.limits.map_or_else(String::new, between),
        difference: group.difference.map_or_else(String::new, |difference| {
            format!("{} ({})", whole(difference.value), between(difference.interval))
        }),
        differs: group.differs(),
    }
}
