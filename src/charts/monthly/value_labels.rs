//! Values in words beside their dots: above or below, then aside, then farther away. One that
//! finds no room is left out; the table has it.

use super::super::canvas::Canvas;
use super::super::lettering::width_of;
use super::super::pen::{Colour, Side, Type};
use super::super::place::Rect;
use super::super::room::Room;
use super::data::Monthly;
use super::layout::{Layout, RADIUS};
use super::signals;

/// From a dot or interval to its value.
const GAP: f64 = 4.0;
/// Steps away from the near end, by half sizes.
const FARTHEST: u32 = 3;

/// A value and where it stands.
pub(super) struct ValueLabel {
    text: String,
    rect: Rect,
}

/// Later periods first.
pub(super) fn placed(chart: &Monthly<'_>, layout: &Layout, room: &mut Room) -> Vec<ValueLabel> {
    let mut labels = Vec::new();
    let has_words = |i: usize| {
        let is_elsewhere = chart.is_written_at_end(i) || signals::carries_value(chart, i);
        !is_elsewhere && !chart.points[i].written.is_empty() && chart.value(i).is_some()
    };
    for i in (0..chart.points.len()).rev().filter(|i| has_words(*i)) {
        let text = chart.points[i].written.clone();
        let free = around(chart, layout, i, &text)
            .into_iter()
            .find(|rect| room.is_free(rect) && !crosses_hairline(chart, layout, rect));
        if let Some(rect) = free {
            room.take(rect);
            labels.push(ValueLabel { text, rect });
        }
    }
    labels
}

/// Places for a value, the best first.
fn around(chart: &Monthly<'_>, layout: &Layout, month: usize, text: &str) -> Vec<Rect> {
    let (width, height) = (width_of(text, layout.size), layout.size);
    let value = chart.value(month).unwrap_or_default();
    let (x, y) = layout.place(month, value);
    let (over, under) = (
        signals::upper_end(chart, layout, month),
        signals::lower_end(chart, layout, month),
    );
    let level = |steps: u32| {
        let away = GAP + height * (0.5 + f64::from(steps) * 0.5);
        [over.1 - away, under.1 + away].map(|y| (x, y))
    };
    let aside = RADIUS * 1.8 + GAP + width / 2.0;
    let slants = [
        (1.0, 0.0),
        (-1.0, 0.0),
        (1.0, -0.7),
        (-1.0, -0.7),
        (1.0, 0.7),
        (-1.0, 0.7),
    ];
    let slants = slants.map(|(across, up)| (x + across * aside, y + up * height));
    let near = level(0).into_iter().chain(slants);
    let places = near.chain((1..=FARTHEST).flat_map(level));
    places
        .map(|middle| Rect::around(middle, width, height).between_sides_of(&layout.plot))
        .collect()
}

/// Whether it would stand in the way from a signal to a word above the plot.
fn crosses_hairline(chart: &Monthly<'_>, layout: &Layout, rect: &Rect) -> bool {
    (0..chart.points.len()).any(|i| {
        let is_signal = chart.points[i].signal.is_some() && chart.value(i).is_some();
        let (x, y) = signals::upper_end(chart, layout, i);
        is_signal && rect.left - 2.0 < x && x < rect.right + 2.0 && rect.top < y
    })
}

pub(super) fn draw(labels: &[ValueLabel], layout: &Layout, canvas: &mut Canvas) {
    for label in labels {
        let middle = label.rect.lowered(layout.lowered).middle();
        canvas.text(&label.text, middle, Side::On, Type::new(layout.size, Colour::Ink));
    }
}
