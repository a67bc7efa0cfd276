//! Bars below the plot, in a row with its name: beside the first bar where there is room for
//! it, else above. A bar without a known end is open, its sides running out in dashes.

use super::super::canvas::Canvas;
use super::super::lettering::{LEADING, shortened, width_of};
use super::super::pen::{Colour, Pen, Side, Type};
use super::super::place::Rect;
use super::data::{Bar, Row};
use super::stretch::{Along, Stretch};

/// Between texts and bars.
const GAP: f64 = 6.0;
/// A bar is no narrower.
const NARROWEST: f64 = 3.0;
/// So much of an open bar is drawn in dashes, or the larger part of a short one.
const OPEN_END: f64 = 40.0;
/// Fewer letters than these say nothing.
const FEWEST: usize = 8;

struct PlacedBar {
    stretch: Stretch,
    is_open: bool,
    label: Option<(String, f64)>,
}

/// A row, its top not yet known.
pub(super) struct Placed {
    size: f64,
    name: String,
    is_name_above: bool,
    bars: Vec<PlacedBar>,
}

pub(super) fn placed(row: &Row<'_>, along: &Along, size: f64) -> Placed {
    let name = shortened(row.name, size, along.width);
    let mut bars: Vec<(Stretch, &Bar)> = row
        .bars
        .iter()
        .filter_map(|bar| Some((stretch(bar, along)?, bar)))
        .collect();
    bars.sort_by(|a, b| a.0.left.total_cmp(&b.0.left));
    // An open bar ends at the latest where the next begins.
    for i in 1..bars.len() {
        if bars[i - 1].1.to_h.is_none() {
            bars[i - 1].0.right = bars[i - 1].0.right.min(bars[i].0.left).max(bars[i - 1].0.left);
        }
    }
    let name_right = width_of(&name, size) + GAP;
    let is_name_above = !name.is_empty() && bars.first().is_some_and(|bar| bar.0.outer_left() < name_right);
    let mut taken = if is_name_above || name.is_empty() {
        0.0
    } else {
        name_right
    };
    let mut placed_bars = Vec::new();
    for (i, (stretch, bar)) in bars.iter().enumerate() {
        let next = bars.get(i + 1).map_or(along.width, |next| next.0.outer_left() - GAP);
        let label = label(&bar.label, size, stretch, taken, next);
        let label_right = label.as_ref().map_or(0.0, |(text, left)| left + width_of(text, size));
        taken = stretch.outer_right().max(label_right).max(taken) + GAP;
        placed_bars.push(PlacedBar {
            stretch: *stretch,
            is_open: bar.to_h.is_none(),
            label,
        });
    }
    Placed {
        size,
        name,
        is_name_above,
        bars: placed_bars,
    }
}

/// Where a bar lies. Without an end it goes on to the last hour.
fn stretch(bar: &Bar, along: &Along) -> Option<Stretch> {
    let mut stretch = Stretch::of(along, bar.from_h, bar.to_h.unwrap_or(bar.from_h))?;
    let least = if bar.to_h.is_none() { along.right } else { NARROWEST };
    stretch.right = stretch.right.max((stretch.left + least).min(along.right));
    stretch.left = stretch.left.min(stretch.right - NARROWEST).max(along.left);
    Some(stretch)
}

/// In the bar, behind it or before it, whichever has room; cut in the roomiest, unless too
/// little would be left. With its left side.
fn label(text: &str, size: f64, bar: &Stretch, taken: f64, next: f64) -> Option<(String, f64)> {
    let places = [
        (bar.left + GAP, bar.right - GAP),
        (bar.outer_right() + GAP, next),
        (taken, bar.outer_left() - GAP),
    ];
    let width = width_of(text, size);
    let found = places.into_iter().position(|(left, right)| width <= right - left);
    let roomiest = (0..3).max_by(|a, b| {
        let room = |i: &usize| places[*i].1 - places[*i].0;
        room(a).total_cmp(&room(b))
    })?;
    let (left, right) = places[found.unwrap_or(roomiest)];
    let label = shortened(text, size, (right - left).max(0.0));
    let has_room = found.is_some() || (label.chars().count() >= FEWEST && width_of(&label, size) <= right - left);
    // Before the bar it ends close to it.
    let left = if found == Some(2) { right - width } else { left };
    (has_room && !label.is_empty()).then_some((label, left))
}

impl Placed {
    pub(super) fn height(&self) -> f64 {
        let lines = if self.is_name_above { 2.0 } else { 1.0 };
        self.size * (LEADING * lines + 0.5)
    }

    pub(super) fn draw(&self, canvas: &mut Canvas, top: f64) {
        let half = self.size * LEADING / 2.0;
        let name_middle = top + self.size * 0.4 + half;
        let middle = top + self.height() - half;
        canvas.text(
            &self.name,
            (0.0, if self.is_name_above { name_middle } else { middle }),
            Side::RightOf,
            Type::new(self.size, Colour::Quiet),
        );
        for bar in &self.bars {
            bar.draw(canvas, middle, half - 1.0);
            if let Some((text, left)) = &bar.label {
                canvas.text(text, (*left, middle), Side::RightOf, Type::new(self.size, Colour::Ink));
            }
        }
    }
}

impl PlacedBar {
    fn draw(&self, canvas: &mut Canvas, middle: f64, half: f64) {
        let Stretch { left, right, is_cut } = self.stretch;
        let (top, bottom) = (middle - half, middle + half);
        let solid = if self.is_open {
            (right - OPEN_END).max(left + (right - left) * 0.4)
        } else {
            right
        };
        let fill = Rect {
            left,
            top,
            right: solid,
            bottom,
        };
        canvas.pale_rect(fill, Colour::Mark, 0.22);
        let pen = Pen::new(Colour::Mark, 1);
        canvas.line(vec![(left, top), (solid, top)], pen);
        canvas.line(vec![(left, bottom), (solid, bottom)], pen);
        if !is_cut.0 {
            canvas.line(vec![(left, top), (left, bottom)], pen);
        }
        if self.is_open {
            for y in [top, bottom] {
                canvas.line(vec![(solid, y), (right, y)], pen.dashed());
            }
        } else if !is_cut.1 {
            canvas.line(vec![(right, top), (right, bottom)], pen);
        }
        self.stretch.draw_cuts(canvas, middle);
    }
}
