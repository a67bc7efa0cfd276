//! Time to serum as a curve, as the page shows it.

use serde::Serialize;

use crate::charts::Format;
use crate::charts::incidence::{Curve as Line, Incidence, Mark, Step};
use crate::signals::to_serum::{Curve, Night};
use crate::statistics::survival::aalen_johansen;

use super::{PageError, numbers};

const HOUR_S: f64 = 3600.0;

/// The curve with its sentences.
#[derive(Clone, Debug, Serialize)]
pub(super) struct TimeView {
    /// `October 2025 to September 2026`.
    pub span: String,
    /// The chart, an SVG element; empty without referrals.
    pub chart: String,
    /// What it shows, a sentence each.
    pub sentences: Vec<String>,
}

/// The view of a curve, with its shares at these hours.
///
/// # Errors
/// When the chart cannot be drawn.
pub(super) fn view(curve: &Curve, hours: &[u32]) -> Result<TimeView, PageError> {
    let n = curve.referrals as u64;
    let share_by = |hour: u32| aalen_johansen::by(&curve.drawn, i64::from(hour) * 3600);
    let marks: Vec<Mark> = hours
        .iter()
        .map(|hour| Mark {
            hours: f64::from(*hour),
            text: numbers::percent(share_by(*hour), n),
        })
        .collect();
    let drawn: Vec<Step> = curve
        .drawn
        .iter()
        .map(|step| Step {
            hours: step.time as f64 / HOUR_S,
            share: step.incidence,
            interval: step.interval().map(|i| (i.lower, i.upper)),
        })
        .collect();
    let overstated: Vec<Step> = curve
        .overstated
        .iter()
        .map(|(time_s, share)| Step {
            hours: *time_s as f64 / HOUR_S,
            share: *share,
            interval: None,
        })
        .collect();
    let last = |steps: &[Step]| steps.last().map_or(0.0, |step| step.share);
    let label = format!("drawn {}", numbers::percent(last(&drawn), n));
    let other = format!("overstated {}", numbers::percent(last(&overstated), n));
    let to_hours = hours.iter().copied().max().map_or(24.0, f64::from);
    let mut sentences = Vec::new();
    if n > 0 {
        sentences.push(format!(
            "Of {} referrals {} had a serum drawn in the stay by {to_hours:.0} h. One minus Kaplan-Meier, which takes babies who went home as still to be drawn, would say {}.",
            numbers::count(n),
            numbers::percent(last(&drawn), n),
            numbers::percent(last(&overstated), n)
        ));
    }
    sentences.extend(curve.night.as_ref().and_then(night));
    let chart = Incidence {
        id: "time-to-serum-curve",
        title: &format!("Share of referrals with a serum drawn, by hour: {label}"),
        description: "Cumulative share drawn with its 95 % interval, going home or dying without serum being a competing event; the shares by hour are in the table",
        curve: Line {
            steps: &drawn,
            label: &label,
        },
        other: Some(Line {
            steps: &overstated,
            label: &other,
        }),
        marks: &marks,
        to_hours,
        format: Format::Narrow,
        write: |share| format!("{:.0} %", share * 100.0),
        since: "hours since the screen",
    };
    Ok(TimeView {
        span: format!("{} to {}", curve.first.in_words(), curve.last.in_words()),
        chart: if n > 0 { chart.svg()? } else { String::new() },
        sentences,
    })
}

fn night(night: &Night) -> Option<String> {
    let p = night.p?;
    let median = |of: Option<i64>| of.map_or_else(|| "not reached".to_owned(), |s| numbers::hours(s as f64 / HOUR_S));
    Some(format!(
        "Half of the {} referrals by day were drawn by {}, of the {} by night by {}: {} (log-rank, p {}).",
        night.by_day,
        median(night.day_median_s),
        night.by_night,
        median(night.night_median_s),
        if p < 0.05 {
            "a difference beyond chance"
        } else {
            "no difference beyond chance"
        },
        numbers::p_value(p),
    ))
}
