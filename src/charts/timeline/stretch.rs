//! A stretch of hours below the plot, cut where the hours of the picture begin and end.

use super::super::axis::{Scale, is_drawable};
use super::super::canvas::Canvas;
use super::super::pen::{Colour, Pen};

/// What an arrow takes at a cut end.
const ARROW: f64 = 8.0;

/// The hours along the picture, and its sides.
pub(super) struct Along {
    pub(super) scale: Scale,
    /// First and last hour.
    pub(super) from: f64,
    pub(super) to: f64,
    /// Sides of the plot.
    pub(super) left: f64,
    pub(super) right: f64,
    /// Of the whole picture.
    pub(super) width: f64,
}

/// A stretch on the picture.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stretch {
    pub(super) left: f64,
    pub(super) right: f64,
    /// It begins or ends beyond the hours of the picture.
    pub(super) is_cut: (bool, bool),
}

impl Stretch {
    /// From an hour to another; `None` when these are no hours.
    pub(super) fn of(along: &Along, from: f64, to: f64) -> Option<Self> {
        if !is_drawable(from) || !is_drawable(to) {
            return None;
        }
        let (from, to) = (from, to.max(from));
        Some(Self {
            left: along.scale.at(from),
            right: along.scale.at(to),
            is_cut: (from < along.from, to > along.to),
        })
    }

    /// Its left side with the arrow there.
    pub(super) fn outer_left(&self) -> f64 {
        self.left - if self.is_cut.0 { ARROW } else { 0.0 }
    }

    pub(super) fn outer_right(&self) -> f64 {
        self.right + if self.is_cut.1 { ARROW } else { 0.0 }
    }

    /// Arrows at cut ends, pointing out of the picture.
    pub(super) fn draw_cuts(&self, canvas: &mut Canvas, y: f64) {
        let mut arrow = |x: f64, out: f64| {
            let corners = vec![(x + out * 3.0, y - 4.0), (x + out * 7.0, y), (x + out * 3.0, y + 4.0)];
            canvas.line(corners, Pen::new(Colour::Ink, 2));
        };
        if self.is_cut.0 {
            arrow(self.left, -1.0);
        }
        if self.is_cut.1 {
            arrow(self.right, 1.0);
        }
    }
}
