//! What the month shows, in at most five sentences, gravest first.

use std::collections::BTreeSet;

use serde::Serialize;

use crate::month::Month;
use crate::queries::figures::Figure;
use crate::signals::Signals;
use crate::statistics::Interval;

use super::figure_view::Series;
use super::{numbers, verdict, words};

/// One finding.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Finding {
    /// The fact with its number.
    pub fact: String,
    /// Its comparison and its sureness.
    pub beside: String,
    /// Where the page tells more.
    pub anchor: String,
}

/// The findings of a month; `follow_up` is how long a referral is followed, in words.
pub(super) fn findings(
    figures: &[Figure],
    month: Month,
    gaps: &BTreeSet<String>,
    signals: &Signals,
    follow_up: &str,
) -> Vec<Finding> {
    let series = |measure| Series {
        measure,
        figures,
        month,
        gaps,
        signalled: signals.get(measure),
        target: None,
        units: None,
    };
    let mut found = Vec::new();
    found.extend(proportion(&series("missed_referral"), |n, of| {
        format!("{} had no serum within {follow_up}", n_of(n, of, "referral"))
    }));
    found.extend(proportion(&series("referral_in_time"), |n, of| {
        format!(
            "{} had a serum in time{}",
            n_of(n, of, "referral"),
            half_by(figures, month)
        )
    }));
    let longest = last_of(figures, "jaundice_readmission_");
    if let Some(measure) = &longest {
        found.extend(proportion(&series(measure), |n, of| {
            let by = words::figure(measure).to_lowercase();
            format!(
                "{} {}",
                n_of(n, of, "baby sent home"),
                by.replacen(
                    "readmitted",
                    if n == 1 { "was readmitted" } else { "were readmitted" },
                    1
                )
            )
        }));
    }
    let weakest = weakest_rules(figures, month);
    for measure in weakest.iter().take(2) {
        found.extend(proportion(&series(measure), |n, of| {
            format!("{}: {} on time", words::figure(measure), n_of(n, of, ""))
        }));
    }
    found
}

/// `; half were drawn by 2.1 h`: the median beside the share in time.
fn half_by(figures: &[Figure], month: Month) -> String {
    let series = Series {
        measure: "time_to_serum_median",
        figures,
        month,
        gaps: &BTreeSet::new(),
        signalled: None,
        target: None,
        units: None,
    };
    let median = series.now().and_then(|f| f.value);
    median.map_or_else(String::new, |h| format!("; half were drawn by {}", numbers::hours(h)))
}

fn proportion(series: &Series<'_>, told: impl Fn(u64, u64) -> String) -> Option<Finding> {
    let now = series.now()?;
    let (n, of) = (now.numerator?, now.denominator?);
    if of == 0 {
        return None;
    }
    Some(Finding {
        fact: told(n, of),
        beside: beside(now, series),
        anchor: series.measure.to_owned(),
    })
}

fn beside(now: &Figure, series: &Series<'_>) -> String {
    let cases = now.denominator.unwrap_or(0);
    let mut text = String::new();
    if let (Some(value), Some(lower), Some(upper)) = (now.value, now.lower, now.upper) {
        let interval = numbers::percent_interval(Interval { lower, upper }, cases);
        text.push_str(&format!("{}, {interval}", numbers::percent(value, cases)));
        // A figure that can still rise is no match for months that are complete.
        if let Some((n, of)) = series.pooled_before().filter(|_| !now.provisional) {
            let months = match series.counted_before().len() {
                1 => "month".to_owned(),
                n => format!("{n} months"),
            };
            let share = numbers::percent(n as f64 / of as f64, of);
            text.push_str(&format!("; the {months} before: {share}"));
        }
        text.push('.');
    }
    if now.provisional {
        text.push_str(" Provisional: some babies are younger than that, the figure can still rise.");
        return text;
    }
    if let Some(signalled) = series.signalled {
        text.push_str(&format!(" {}.", verdict::begun(&verdict::short(signalled))));
    }
    if now.open > 0 {
        text.push_str(&format!(" {} not yet decidable.", numbers::count(now.open)));
    }
    text
}

/// `9 of 112 referrals`; `Neither of 2` and the like read worse than the numbers.
fn n_of(n: u64, of: u64, one: &str) -> String {
    let many = match one {
        "" => String::new(),
        "baby sent home" => " babies sent home".to_owned(),
        _ if of == 1 => format!(" {one}"),
        _ => format!(" {one}s"),
    };
    format!("{} of {}{many}", numbers::count(n), numbers::count(of))
}

/// The last figure whose name begins so, as the protocol orders them.
fn last_of(figures: &[Figure], stem: &str) -> Option<String> {
    let mut named = figures.iter().filter(|f| f.measure.starts_with(stem));
    named.next_back().map(|f| f.measure.clone())
}

/// Fewer cases of a rule in a month are listed, and are no finding.
const FEWEST_CASES: u64 = 10;

/// Recheck rules with enough cases in the month, the lowest share on time first.
fn weakest_rules(figures: &[Figure], month: Month) -> Vec<String> {
    let month = month.to_string();
    let mut rules: Vec<&Figure> = figures
        .iter()
        .filter(|f| f.split == "all" && f.month == month && f.measure.starts_with("recheck_adherence_"))
        .filter(|f| f.value.is_some() && f.denominator >= Some(FEWEST_CASES))
        .collect();
    rules.sort_by(|a, b| a.value.partial_cmp(&b.value).unwrap_or(std::cmp::Ordering::Equal));
    rules.iter().map(|f| f.measure.clone()).collect()
}
