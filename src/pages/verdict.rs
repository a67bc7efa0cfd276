//! Verdicts of the charts in words.

use serde::Serialize;

use crate::month::Month;
use crate::queries::figures::Quantity;
use crate::signals::Signalled;
use crate::signals::phases::Compared;
use crate::signals::verdict::{FoundBy, Verdict, Way, way};
use crate::statistics::control::Side;
use crate::statistics::control::chart::{Kind, Why};
use crate::statistics::regression::segmented::Segmented;

use super::{figure_row, numbers};

/// A verdict as the page shows it.
#[derive(Clone, Debug, Default, Serialize)]
pub struct VerdictView {
    /// A few words: `no signal`, `better since Oct 25`.
    pub short: String,
    /// The same as the beginning of a sentence.
    pub title: String,
    /// The rule that says so, as a sentence.
    pub rule: String,
    /// Before and after a documented change, as a sentence; empty without one.
    pub compared: String,
    /// Which chart, as a sentence, and what a regression makes of a documented change.
    pub chart: String,
}

/// The verdict on a figure.
pub(super) fn view(signalled: &Signalled) -> VerdictView {
    let short = short(signalled);
    VerdictView {
        title: begun(&short),
        short,
        rule: rule(signalled),
        compared: signalled.compared.as_ref().map_or_else(String::new, |compared| {
            let measure = &signalled.charted.measure;
            in_words(measure, compared)
        }),
        chart: {
            let measure = &signalled.charted.measure;
            let trend = signalled.compared.as_ref().and_then(|compared| compared.trend);
            chart(signalled) + &trend.map_or_else(String::new, |trend| step(measure, &trend))
        },
    }
}

/// The verdict in a few words.
pub(super) fn short(signalled: &Signalled) -> String {
    match signalled.verdict {
        Verdict::NoData => "no data".to_owned(),
        Verdict::Provisional => "provisional".to_owned(),
        Verdict::TooFew(_) => "too few data".to_owned(),
        Verdict::NoSignal => "no signal".to_owned(),
        Verdict::UnusualMonth(side) => format!("unusual month, {}", side_word(side)),
        Verdict::Shift { since, side, .. } => {
            let word = match way(side, signalled.better) {
                Way::Better => "better",
                Way::Worse => "worse",
                Way::Neither if side == Side::Above => "higher",
                Way::Neither => "lower",
            };
            format!("{word} since {}", since.short_with_year())
        }
    }
}

/// Words as the beginning of a sentence.
pub(super) fn begun(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().collect::<String>() + letters.as_str()
    })
}

fn side_word(side: Side) -> &'static str {
    match side {
        Side::Above => "above",
        Side::Below => "below",
    }
}

fn rule(signalled: &Signalled) -> String {
    let documented = "the phase since a documented change differs from the one before by more than chance";
    match signalled.verdict {
        Verdict::NoData => "The month has no data.".to_owned(),
        Verdict::Provisional => "The month may still change and is not judged.".to_owned(),
        Verdict::TooFew(why) if signalled.charted.chart.phases.len() > 1 => {
            format!("Since the documented change: {}.", why_in_words(why))
        }
        Verdict::TooFew(why) => format!("{}.", why_in_words(why)),
        Verdict::NoSignal => "No rule fired for this month.".to_owned(),
        Verdict::UnusualMonth(side) => format!("The month alone is {} its limits.", side_word(side)),
        Verdict::Shift { found_by, .. } => {
            let finding = match found_by {
                FoundBy::Phases => documented,
                FoundBy::Level => {
                    "two levels explain the months better than one (p under 0.01 for any month of change)"
                }
                FoundBy::LongRun => "too many months in a row, the last among them, lie on one side of the median",
            };
            format!("{}.", begun(finding))
        }
    }
}

fn why_in_words(why: Why) -> String {
    match why {
        Why::FewMonths { found: 1 } => "1 month is too few for limits or runs".to_owned(),
        Why::FewMonths { found } => format!("{found} months are too few for limits or runs"),
        Why::NoSpread => "All months of the baseline are alike: there is no spread to set limits by".to_owned(),
    }
}

/// `Since October 2025 (text): 9 % of all, before 20 %; difference -11 points (-15 to -7).`
fn in_words(measure: &str, compared: &Compared) -> String {
    let level = |value: f64| figure_row::value(measure, value, 200);
    let (scale, unit) = match Quantity::of(measure) {
        Quantity::Share => (100.0, "percentage points"),
        Quantity::Hours => (1.0, "h"),
        Quantity::PerThousandBirths => (1.0, "per 1\u{202f}000"),
        Quantity::Concentration => (1.0, "umol/L"),
    };
    let number = |value: f64| numbers::signed(value * scale);
    let widened = match compared.is_widened {
        true => ", wider as months differ by more than chance",
        false => "",
    };
    format!(
        "Since {} ({}): {}, in the {} months before {}; difference {} {unit} ({} to {}{widened}). What else changed then is not known.",
        compared.since.in_words(),
        compared.text,
        level(compared.after),
        compared.months_before,
        level(compared.before),
        number(compared.difference),
        number(compared.interval.lower),
        number(compared.interval.upper),
    )
}

/// ` A regression with a trend puts the step at an odds ratio of 0.48 (0.30 to 0.77).`
fn step(measure: &str, trend: &Segmented) -> String {
    let (what, digits) = match Quantity::of(measure) {
        Quantity::Share => ("an odds ratio of ", 2),
        Quantity::PerThousandBirths => ("a rate ratio of ", 2),
        Quantity::Hours | Quantity::Concentration => ("", 1),
    };
    let unit = match Quantity::of(measure) {
        Quantity::Hours => " h",
        Quantity::Concentration => " umol/L",
        _ => "",
    };
    let number = |value: f64| match what.is_empty() {
        true => numbers::signed(value),
        false => format!("{value:.digits$}"),
    };
    let interval = trend.level.interval;
    let ratio = trend.slope_change.interval;
    let none = if what.is_empty() { 0.0 } else { 1.0 };
    let turned = match ratio.lower > none || ratio.upper < none {
        true => "the trend turned as well",
        false => "no turn of the trend",
    };
    format!(
        " A regression with a trend puts the step at {what}{}{unit} ({} to {}), {turned}.",
        number(trend.level.value),
        number(interval.lower),
        number(interval.upper)
    )
}

fn chart(signalled: &Signalled) -> String {
    let Some(phase) = signalled.charted.chart.phases.last() else {
        return String::new();
    };
    let month = |index: Option<&usize>| index.and_then(|index| signalled.charted.months.get(*index));
    let span = match (month(phase.baseline.first()), month(phase.baseline.last())) {
        (Some(first), Some(last)) => format!("{} to {}", first.in_words(), last.in_words()),
        _ => String::new(),
    };
    let kind = match phase.kind {
        Kind::P => "p-chart",
        Kind::PExact => "p-chart with exact binomial limits where few are expected",
        Kind::LaneyP => "Laney p\u{2032}-chart, as the months of the baseline differ by more than chance",
        Kind::U => "u-chart",
        Kind::UExact => "u-chart with exact Poisson limits where few are expected",
        Kind::LaneyU => "Laney u\u{2032}-chart, as the months of the baseline differ by more than chance",
        Kind::Individuals => "individuals chart",
        Kind::G => "g-chart",
        Kind::RunOnly(_) => "runs about the median only",
        Kind::TooFew(_) => "no limits and no runs",
    };
    match (phase.kind, span.is_empty()) {
        (Kind::RunOnly(why), _) => format!("Chart: {kind}. {}.", why_in_words(why).replace(" or runs", "")),
        (Kind::TooFew(_), _) => String::new(),
        (_, true) => format!("Chart: {kind}."),
        (_, false) => format!("Chart: {kind}; limits from {span}."),
    }
}

/// `Oct 2025: text` of a note.
pub(super) fn note(month: Month, text: &str) -> String {
    format!("{}: {text}", month.short_with_year())
}
