//! Tests: their shapes, and a label near each where there is room.

use super::super::axis::is_drawable;
use super::super::beside::Beside;
use super::super::canvas::Canvas;
use super::super::pen::{Colour, Pen};
use super::super::place::{Place, Rect};
use super::super::room::Room;
use super::data::{Bound, Kind, Test};
use super::stretch::Along;

const RADIUS: f64 = 5.0;
/// Of the ring around a marked test.
const RING: f64 = 9.0;
/// From the middle of a test to the tip of its arrow.
const ARROW: f64 = 16.0;
/// Steps away from a test, beyond which its label is left out.
const FARTHEST: u32 = 5;

/// A test and its place.
pub(super) struct Symbol<'a> {
    test: &'a Test,
    at: Place,
}

/// Tests between the hours that can be drawn.
pub(super) fn within(tests: &[Test], from: f64, to: f64) -> Vec<&Test> {
    let between = tests.iter().filter(|test| (from..=to).contains(&test.at_h));
    between.filter(|test| has_place(test)).collect()
}

/// How many tests could be drawn but for their hour.
pub(super) fn outside(tests: &[Test], along: &Along) -> usize {
    let is_outside = |test: &&Test| is_drawable(test.at_h) && !(along.from..=along.to).contains(&test.at_h);
    tests.iter().filter(is_outside).filter(|test| has_place(test)).count()
}

fn has_place(test: &Test) -> bool {
    is_drawable(test.value) || test.kind == Kind::Cross
}

/// No label covers a test, and no hairline crosses one.
pub(super) fn take(symbols: &[Symbol<'_>], room: &mut Room) {
    for symbol in symbols {
        room.take_text(symbol.rect());
        if let Some(arrow) = symbol.arrow() {
            room.take_line(&arrow);
        }
    }
}

/// Labels of marked tests first, then by time.
pub(super) fn labels(symbols: &[Symbol<'_>], room: &mut Room, size: f64) -> Vec<Beside> {
    let (marked, others): (Vec<_>, Vec<_>) = symbols.iter().partition(|symbol| symbol.test.is_marked);
    let labelled = marked
        .into_iter()
        .chain(others)
        .filter(|symbol| !symbol.test.label.is_empty());
    let mut labels = Vec::new();
    for symbol in labelled {
        let lines = vec![symbol.test.label.clone()];
        labels.extend(Beside::near(room, symbol.at, symbol.radius(), lines, size, FARTHEST));
    }
    labels
}

impl<'a> Symbol<'a> {
    pub(super) fn new(test: &'a Test, at: Place) -> Self {
        Self { test, at }
    }

    fn radius(&self) -> f64 {
        if self.test.is_marked { RING } else { RADIUS }
    }

    fn rect(&self) -> Rect {
        let side = 2.0 * (self.radius() + 1.0);
        Rect::around(self.at, side, side)
    }

    /// From the edge to the tip.
    fn arrow(&self) -> Option<[Place; 2]> {
        let up = match self.test.bound {
            Bound::None => return None,
            Bound::Above => -1.0,
            Bound::Below => 1.0,
        };
        let (x, y) = self.at;
        Some([(x, y + up * RADIUS), (x, y + up * ARROW)])
    }

    pub(super) fn draw(&self, canvas: &mut Canvas) {
        let (x, y) = self.at;
        if self.test.is_marked {
            canvas.disc(self.at, RING, Colour::Ink);
            canvas.disc(self.at, RING - 1.0, Colour::Paper);
        }
        if let Some([from, tip]) = self.arrow() {
            let pen = Pen::new(Colour::Mark, 2);
            let back = tip.1 + (from.1 - tip.1).signum() * 5.0;
            canvas.line(vec![from, tip], pen);
            canvas.line(vec![(x - 4.0, back), tip, (x + 4.0, back)], pen);
        }
        match self.test.kind {
            Kind::Round => canvas.point(self.at, RADIUS, false, true),
            Kind::Square => {
                canvas.rect(Rect::around(self.at, 12.0, 12.0), Colour::Paper);
                canvas.rect(Rect::around(self.at, 10.0, 10.0), Colour::Mark);
            }
            Kind::Cross => {
                let pen = Pen::new(Colour::Mark, 2);
                canvas.line(vec![(x - 5.0, y - 5.0), (x + 5.0, y + 5.0)], pen);
                canvas.line(vec![(x - 5.0, y + 5.0), (x + 5.0, y - 5.0)], pen);
            }
        }
    }
}
