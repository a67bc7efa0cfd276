//! Labels at the ends of lines, to the right of a plot: moved apart where lines end close to
//! each other, and then joined to their line by a hairline.

use super::canvas::Canvas;
use super::lettering::{BOLD, LEADING, widest, wrapped};
use super::pen::{Colour, Pen, Side, Type};
use super::place::Place;

/// From the end of a line to its label.
pub(super) const GAP: f64 = 16.0;

/// A label and the end of the line it belongs to.
#[derive(Clone, Debug)]
pub(super) struct LineEnd {
    /// Where the line ends.
    pub(super) end: Place,
    lines: Vec<String>,
    kind: Type,
}

impl LineEnd {
    /// Cut into at most three lines of the given width.
    pub(super) fn new(end: Place, label: &str, width: f64, kind: Type) -> Self {
        let width = if kind.is_bold { width / BOLD } else { width };
        Self {
            end,
            lines: wrapped(label, kind.size, width, 3),
            kind,
        }
    }

    fn height(&self) -> f64 {
        self.lines.len() as f64 * self.kind.size * LEADING
    }
}

/// The width a label needs when it may take up to `most`.
pub(super) fn label_width(label: &str, most: f64, kind: Type) -> f64 {
    let bold = if kind.is_bold { BOLD } else { 1.0 };
    widest(&wrapped(label, kind.size, most / bold, 3), kind.size) * bold
}

/// Draws all labels at one distance from the left, between top and bottom.
pub(super) fn draw(canvas: &mut Canvas, left: f64, (top, bottom): (f64, f64), mut ends: Vec<LineEnd>) {
    ends.retain(|end| !end.lines.is_empty());
    ends.sort_by(|a, b| a.end.1.total_cmp(&b.end.1));
    let middles = moved_apart(&ends, top, bottom);
    for (end, middle) in ends.iter().zip(middles) {
        if (middle - end.end.1).abs() > 2.0 || left - end.end.0 > GAP * 2.0 {
            let hairline = vec![end.end, (left - GAP * 0.25, middle)];
            canvas.line(hairline, Pen::new(Colour::Quiet, 1).fainter(0.6));
        }
        canvas.lines(&end.lines, (left, middle), Side::RightOf, end.kind);
    }
}

/// Middles as near to the line ends as their heights allow, in the same order.
fn moved_apart(ends: &[LineEnd], top: f64, bottom: f64) -> Vec<f64> {
    let mut middles: Vec<f64> = Vec::new();
    let mut taken = top;
    for end in ends {
        let half = end.height() / 2.0;
        let middle = end.end.1.max(taken + half);
        taken = middle + half;
        middles.push(middle);
    }
    let mut free = bottom;
    for (end, middle) in ends.iter().zip(&mut middles).rev() {
        let half = end.height() / 2.0;
        *middle = middle.min(free - half);
        free = *middle - half;
    }
    middles
}
