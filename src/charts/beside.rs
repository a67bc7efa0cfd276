//! A text beside its point, joined to it by a hairline where it cannot stand close.

use super::canvas::Canvas;
use super::lettering::{LEADING, widest};
use super::pen::{Colour, Pen, Side, Type};
use super::place::{Place, Rect};
use super::room::Room;

/// From one attempt to the next when a text finds no room.
const RING: f64 = 9.0;
/// Attempts before a text may stand anywhere.
const MOST_RINGS: u32 = 40;
/// From a point to the text beside it.
const OFF: f64 = 5.0;

/// Right, left, above, below, then between.
pub(super) const AROUND: [Place; 12] = [
    (1.0, 0.0),
    (-1.0, 0.0),
    (0.0, -1.0),
    (0.0, 1.0),
    (1.0, -1.0),
    (1.0, 1.0),
    (-1.0, -1.0),
    (-1.0, 1.0),
    (0.5, -1.0),
    (0.5, 1.0),
    (-0.5, -1.0),
    (-0.5, 1.0),
];

/// Below a rising curve first.
pub(super) const BELOW_RIGHT: [Place; 14] = [
    (1.0, 0.6),
    (1.0, 1.0),
    (0.5, 1.0),
    (1.0, 0.0),
    (0.0, 1.0),
    (-0.5, 1.0),
    (-1.0, 0.6),
    (-1.0, 1.0),
    (-1.0, 0.0),
    (-0.5, -1.0),
    (-1.0, -1.0),
    (0.0, -1.0),
    (0.5, -1.0),
    (1.0, -1.0),
];

/// A text and where it stands.
pub(super) struct Beside {
    lines: Vec<String>,
    rect: Rect,
    point: Place,
    /// Farther from the point than this it needs a hairline.
    close: f64,
}

impl Beside {
    /// Takes room on one of the sides in their order, then farther and farther away, at last
    /// wherever there is any; `None` when there is none. Hairlines cross no text.
    pub(super) fn placed(
        room: &mut Room,
        point: Place,
        radius: f64,
        lines: Vec<String>,
        size: f64,
        sides: &[Place],
    ) -> Option<Self> {
        let size_of_text = size_of(&lines, size);
        let rect = on_rings(room, point, radius, size_of_text, sides, MOST_RINGS).or_else(|| {
            let places = anywhere(&room.bounds, point, size_of_text.0, size_of_text.1);
            places.into_iter().find(|rect| fits(room, point, rect))
        })?;
        Some(Self::taken(room, point, radius, lines, rect))
    }

    /// The same, but only within so many steps from the point.
    pub(super) fn near(
        room: &mut Room,
        point: Place,
        radius: f64,
        lines: Vec<String>,
        size: f64,
        steps: u32,
    ) -> Option<Self> {
        let rect = on_rings(room, point, radius, size_of(&lines, size), &AROUND, steps)?;
        Some(Self::taken(room, point, radius, lines, rect))
    }

    fn taken(room: &mut Room, point: Place, radius: f64, lines: Vec<String>, rect: Rect) -> Self {
        room.take_text(rect);
        let beside = Self {
            lines,
            rect,
            point,
            close: radius + OFF + 2.0,
        };
        if let Some(hairline) = beside.hairline() {
            room.take_line(&hairline);
        }
        beside
    }

    fn hairline(&self) -> Option<Vec<Place>> {
        let end = self.rect.nearest_to(self.point);
        let length = (end.0 - self.point.0).hypot(end.1 - self.point.1);
        (length > self.close).then(|| vec![self.point, end])
    }

    pub(super) fn draw_hairline(&self, canvas: &mut Canvas) {
        if let Some(hairline) = self.hairline() {
            canvas.line(hairline, Pen::new(Colour::Quiet, 1));
        }
    }

    pub(super) fn draw(&self, canvas: &mut Canvas, size: f64) {
        let middle = self.rect.middle();
        let (x, side) = if self.rect.left > self.point.0 {
            (self.rect.left, Side::RightOf)
        } else if self.rect.right < self.point.0 {
            (self.rect.right, Side::LeftOf)
        } else {
            (middle.0, Side::On)
        };
        canvas.lines(&self.lines, (x, middle.1), side, Type::new(size, Colour::Ink));
    }
}

fn size_of(lines: &[String], size: f64) -> (f64, f64) {
    (widest(lines, size), size * LEADING * lines.len() as f64)
}

/// There is room, and the way from the point crosses no text.
fn fits(room: &Room, point: Place, rect: &Rect) -> bool {
    room.is_free(rect) && room.is_clear(point, rect.nearest_to(point))
}

/// The first free place on the sides, close to the point, then step by step farther away.
fn on_rings(
    room: &Room,
    point: Place,
    radius: f64,
    (width, height): (f64, f64),
    sides: &[Place],
    steps: u32,
) -> Option<Rect> {
    let mut places = (0..steps).flat_map(|ring| {
        let away = radius + OFF + f64::from(ring) * RING;
        sides.iter().map(move |(x, y)| {
            let middle = (point.0 + x * (away + width / 2.0), point.1 + y * (away + height / 2.0));
            Rect::around(middle, width, height)
        })
    });
    places.find(|rect| fits(room, point, rect))
}

/// Places all over the plane, the nearest first.
fn anywhere(bounds: &Rect, point: Place, width: f64, height: f64) -> Vec<Rect> {
    let steps = |from: f64, to: f64| {
        let count = ((to - from) / RING).floor().clamp(-1.0, 200.0) as i32;
        (0..=count).map(move |step| from + f64::from(step) * RING)
    };
    let mut places: Vec<(f64, Rect)> = Vec::new();
    for left in steps(bounds.left, bounds.right - width) {
        for top in steps(bounds.top, bounds.bottom - height) {
            let rect = Rect::around((left + width / 2.0, top + height / 2.0), width, height);
            let near = rect.nearest_to(point);
            places.push(((near.0 - point.0).hypot(near.1 - point.1), rect));
        }
    }
    places.sort_by(|a, b| a.0.total_cmp(&b.0));
    places.into_iter().map(|(_, rect)| rect).collect()
}
