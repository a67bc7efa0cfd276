//! The axis of hours: what it covers, its ticks, and its days.

use super::super::axis::is_drawable;
use super::super::canvas::Canvas;
use super::super::lettering::width_of;
use super::super::pen::{Colour, Pen};
use super::super::place::Rect;
use super::stretch::Along;

const DAY: f64 = 24.0;
const WEEK: f64 = 168.0;
/// Days closer than this are not marked, but weeks.
const CLOSEST: f64 = 8.0;
/// From tick to tick; above a day whole days, above a week whole weeks.
const STEPS: [f64; 11] = [1.0, 2.0, 3.0, 6.0, 12.0, DAY, 48.0, 72.0, 96.0, WEEK, 336.0];
const MOST_TICKS: f64 = 12.0;

/// First and last hour; a day where they make no axis.
pub(super) fn covered(from: f64, to: f64) -> (f64, f64) {
    match (is_drawable(from), is_drawable(to)) {
        (true, true) if to > from => (from, to),
        (true, _) => (from, from + DAY),
        (false, true) => (to - DAY, to),
        _ => (0.0, DAY),
    }
}

/// A number without needless decimals.
pub(super) fn written(value: f64) -> String {
    // Ticks are sums of steps: 0.30000000000000004.
    let rounded = (value * 1e6).round() / 1e6;
    if rounded == 0.0 {
        "0".to_owned()
    } else {
        rounded.to_string()
    }
}

/// As many as have room for their hours.
pub(super) fn ticks(along: &Along, size: f64) -> Vec<(f64, String)> {
    let Along { from, to, .. } = *along;
    let (length, width) = (to - from, along.right - along.left);
    let label = [from, to]
        .map(|hour| width_of(&written(hour.round()), size))
        .into_iter()
        .fold(0.0, f64::max);
    let has_room = |step: &f64| length / step <= MOST_TICKS && width * step / length >= label + size * 0.8;
    let longer = (1..60).map(|power| 336.0 * 2f64.powi(power));
    let step = STEPS.into_iter().chain(longer).find(has_room);
    multiples(step.unwrap_or(length), from, to)
        .into_iter()
        .map(|hour| (hour, written(hour)))
        .collect()
}

/// A pale line at each day, or each week where days lie too close.
pub(super) fn draw_days(canvas: &mut Canvas, along: &Along, whole: &Rect) {
    let Along { from, to, .. } = *along;
    let pitch = |step: f64| whole.width() * step / (to - from);
    let Some(step) = [DAY, WEEK].into_iter().find(|step| pitch(*step) >= CLOSEST) else {
        return;
    };
    for hour in multiples(step, from, to) {
        let x = along.scale.at(hour);
        canvas.line(vec![(x, whole.top), (x, whole.bottom)], Pen::new(Colour::Pale, 1));
    }
}

/// All multiples of a step from one hour to another.
fn multiples(step: f64, from: f64, to: f64) -> Vec<f64> {
    let (first, last) = ((from / step - 1e-9).ceil() as i64, (to / step + 1e-9).floor() as i64);
    (first..=last).map(|n| n as f64 * step).collect()
}
