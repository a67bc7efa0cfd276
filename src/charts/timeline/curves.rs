//! Thresholds, cut where the hours begin and end.

use super::super::axis::{Scale, is_drawable};
use super::super::canvas::Place;
use super::Curve;

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

/// All values of the pieces.
pub(super) fn values(pieces: &Pieces) -> impl Iterator<Item = f64> {
    pieces.iter().flatten().map(|point| point.1)
}

/// The pieces as lines on the picture, without points that nobody sees.
pub(super) fn laid(pieces: &Pieces, along: &Scale, up: &Scale) -> Vec<Vec<Place>> {
    let place = |point: &(f64, f64)| (along.at(point.0), up.at(point.1));
    let lines = pieces.iter().map(|piece| piece.iter().map(place).collect());
    lines.map(|line: Vec<Place>| thinned(&line)).collect()
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
