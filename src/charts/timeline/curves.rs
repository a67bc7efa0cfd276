//! Thresholds, cut where the hours begin and end.

use super::super::axis::{Scale, is_drawable};
use super::super::beside::{AROUND, Beside};
use super::super::canvas::Canvas;
use super::super::lettering::wrapped;
use super::super::line_ends::{self, GAP, LineEnd};
use super::super::pen::{Colour, Pen, Type};
use super::super::place::{Place, Rect};
use super::super::room::Room;
use super::data::Curve;
use super::stretch::Along;

/// Pieces of a curve between the hours; more than one where a point is not a number.
pub(super) type Pieces = Vec<Vec<(f64, f64)>>;

/// Points left out change the drawn curve by less than this.
const TOLERANCE: f64 = 0.4;

/// The pieces of a curve that lie between the hours.
pub(super) fn within(curve: &Curve<'_>, from: f64, to: f64) -> Pieces {
    let mut pieces = Pieces::new();
    for pair in curve.points.windows(2) {
        let Some((start, end)) = cut(pair[0], pair[1], from, to) else {
            continue;
        };
        match pieces.last_mut() {
            Some(piece) if piece.last() == Some(&start) => piece.push(end),
            _ => pieces.push(vec![start, end]),
        }
    }
    pieces
}

/// Whether a curve goes on to the last hour, so that its label can stand to the right.
pub(super) fn reaches(pieces: &Pieces, to: f64) -> bool {
    pieces
        .last()
        .and_then(|piece| piece.last())
        .is_some_and(|end| end.0 >= to)
}

/// A curve on the picture.
pub(super) struct Threshold<'a> {
    curve: &'a Curve<'a>,
    lines: Vec<Vec<Place>>,
    is_at_right: bool,
}

impl<'a> Threshold<'a> {
    /// Without points that nobody sees.
    pub(super) fn laid(curve: &'a Curve<'a>, pieces: &Pieces, along: &Along, up: &Scale) -> Self {
        let place = |point: &(f64, f64)| (along.scale.at(point.0), up.at(point.1));
        let lines = pieces.iter().map(|piece| piece.iter().map(place).collect());
        Self {
            curve,
            lines: lines.map(|line: Vec<Place>| thinned(&line)).collect(),
            is_at_right: reaches(pieces, along.to),
        }
    }

    pub(super) fn take(&self, room: &mut Room) {
        self.lines.iter().for_each(|line| room.take_line(line));
    }

    pub(super) fn draw(&self, canvas: &mut Canvas) {
        let width = if self.curve.is_strong { 2 } else { 1 };
        for line in &self.lines {
            canvas.line(line.clone(), Pen::new(self.colour(), width));
        }
    }

    fn colour(&self) -> Colour {
        if self.curve.is_strong {
            Colour::Ink
        } else {
            Colour::Quiet
        }
    }

    fn end(&self) -> Option<Place> {
        self.lines.last()?.last().copied()
    }
}

/// Labels of curves that end before the last hour, near their ends; no wider than `most_right`.
pub(super) fn labels(curves: &[Threshold<'_>], size: f64, most_right: f64, room: &mut Room) -> Vec<Beside> {
    let mut labels = Vec::new();
    for threshold in curves.iter().filter(|threshold| !threshold.is_at_right) {
        let lines = wrapped(threshold.curve.label, size, most_right, 3);
        if let Some(end) = threshold.end().filter(|_| !lines.is_empty()) {
            labels.extend(Beside::placed(room, end, 0.0, lines, size, &AROUND));
        }
    }
    labels
}

/// Labels of the others, to the right of the plot; no wider than `most_right`.
pub(super) fn draw_ends(curves: &[Threshold<'_>], plot: &Rect, size: f64, most_right: f64, canvas: &mut Canvas) {
    let at_right = curves.iter().filter(|threshold| threshold.is_at_right);
    let ends = at_right.filter_map(|threshold| {
        let kind = Type::new(size, threshold.colour());
        Some(LineEnd::new(threshold.end()?, threshold.curve.label, most_right, kind))
    });
    let between = (plot.top - size * 0.6, plot.bottom);
    line_ends::draw(canvas, plot.right + GAP, between, ends.collect());
}

/// A straight line between two points, cut at both hours; `None` when nothing is left.
fn cut(start: (f64, f64), end: (f64, f64), from: f64, to: f64) -> Option<((f64, f64), (f64, f64))> {
    if ![start.0, start.1, end.0, end.1].into_iter().all(is_drawable) || end.0 < start.0 {
        return None;
    }
    if end.0 < from || start.0 > to {
        return None;
    }
    let at = |hour: f64| {
        let part = (hour - start.0) / (end.0 - start.0);
        (hour, start.1 + part * (end.1 - start.1))
    };
    let first = if start.0 < from { at(from) } else { start };
    let last = if end.0 > to { at(to) } else { end };
    Some((first, last))
}

/// Each point kept is the farthest from the one before to which a straight line holds.
fn thinned(line: &[Place]) -> Vec<Place> {
    let mut kept: Vec<Place> = line.first().copied().into_iter().collect();
    let mut last = 0;
    for end in 1..line.len() {
        let is_last = end + 1 == line.len();
        if is_last || !holds(&line[last..=end + 1]) {
            kept.push(line[end]);
            last = end;
        }
    }
    kept
}

/// Whether the straight line from the first to the last point stays near all between.
fn holds(line: &[Place]) -> bool {
    let (Some(first), Some(last)) = (line.first(), line.last()) else {
        return true;
    };
    let length = (last.0 - first.0).hypot(last.1 - first.1).max(1e-9);
    line.iter().all(|point| {
        let across = (last.0 - first.0) * (point.1 - first.1) - (last.1 - first.1) * (point.0 - first.0);
        (across / length).abs() <= TOLERANCE
    })
}
