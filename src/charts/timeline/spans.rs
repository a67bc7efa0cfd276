//! Obligations below the plot: a bracket from what began one to when it was due, and a dashed
//! tail to what ended it later. A dot ended it and it was kept, a hollow one ended it and it
//! was not; a tail without one when nothing did.

use super::super::axis::is_drawable;
use super::super::canvas::Canvas;
use super::super::lettering::{LEADING, widest, width_of, wrapped};
use super::super::pen::{Colour, Pen, Side, Type};
use super::data::Span;
use super::stretch::{Along, Stretch};

const GAP: f64 = 8.0;
const RADIUS: f64 = 5.0;
/// The uprights of a bracket.
const UPRIGHT: f64 = 6.0;
/// Lines that a label above its bracket may take.
const MOST_LINES: usize = 2;

/// An obligation, its top not yet known.
pub(super) struct Placed {
    size: f64,
    bracket: Stretch,
    /// Where the tail ends, beyond the bracket.
    tail: Option<Stretch>,
    /// What ended it, where the picture shows it.
    end: Option<f64>,
    is_kept: bool,
    label: Vec<String>,
    label_left: f64,
    is_above: bool,
}

/// `None` when it has no beginning or no due time.
pub(super) fn placed(span: &Span, along: &Along, size: f64) -> Option<Placed> {
    let bracket = Stretch::of(along, span.from_h, span.due_h)?;
    let ended = span.ended_h.filter(|hour| is_drawable(*hour));
    let tail = match ended {
        Some(hour) if hour > span.due_h => Stretch::of(along, span.due_h, hour),
        None if !span.is_kept && !bracket.is_cut.1 => Some(Stretch {
            left: bracket.right,
            right: (bracket.right + size * 1.8).min(along.right),
            is_cut: (false, false),
        }),
        _ => None,
    };
    let end = ended
        .and_then(|hour| Stretch::of(along, hour, hour))
        .filter(|end| end.is_cut == (false, false));
    let end = end.map(|end| end.left);
    let around = end.map_or((f64::INFINITY, f64::NEG_INFINITY), |x| (x - RADIUS, x + RADIUS));
    let left = bracket.outer_left().min(around.0) - GAP;
    let right = tail
        .map_or(bracket.outer_right(), |tail| {
            tail.outer_right().max(bracket.outer_right())
        })
        .max(around.1)
        + GAP;
    let width = width_of(&span.label, size);
    let (label, label_left, is_above) = if right + width <= along.width {
        (vec![span.label.clone()], right, false)
    } else if left - width >= 0.0 {
        (vec![span.label.clone()], left - width, false)
    } else {
        let lines = wrapped(&span.label, size, along.width, MOST_LINES);
        let left = bracket.left.min(along.width - widest(&lines, size)).max(0.0);
        (lines, left, true)
    };
    Some(Placed {
        size,
        bracket,
        tail,
        end,
        is_kept: span.is_kept,
        label,
        label_left,
        is_above: is_above && !span.label.is_empty(),
    })
}

impl Placed {
    pub(super) fn height(&self) -> f64 {
        let above = if self.is_above { self.label.len() } else { 0 };
        self.size * (LEADING * (1 + above) as f64 + 0.2)
    }

    pub(super) fn draw(&self, canvas: &mut Canvas, top: f64) {
        let line = self.size * LEADING;
        let middle = top + self.height() - line / 2.0;
        let Stretch { left, right, is_cut } = self.bracket;
        if let Some(tail) = self.tail {
            canvas.line(
                vec![(tail.left, middle), (tail.right, middle)],
                Pen::new(Colour::Ink, 1).dashed(),
            );
            tail.draw_cuts(canvas, middle);
        }
        let pen = Pen::new(Colour::Ink, 2);
        canvas.line(vec![(left, middle), (right, middle)], pen);
        for (x, is_cut) in [(left, is_cut.0), (right, is_cut.1)] {
            if !is_cut {
                canvas.line(vec![(x, middle - UPRIGHT), (x, middle + UPRIGHT)], pen);
            }
        }
        self.bracket.draw_cuts(canvas, middle);
        if let Some(x) = self.end {
            canvas.disc((x, middle), RADIUS + 1.0, Colour::Paper);
            canvas.disc((x, middle), RADIUS, Colour::Ink);
            if !self.is_kept {
                canvas.disc((x, middle), RADIUS - 2.0, Colour::Paper);
            }
        }
        let label_middle = if self.is_above {
            top + self.size * 0.2 + line * self.label.len() as f64 / 2.0
        } else {
            middle
        };
        canvas.lines(
            &self.label,
            (self.label_left, label_middle),
            Side::RightOf,
            Type::new(self.size, Colour::Ink),
        );
    }
}
