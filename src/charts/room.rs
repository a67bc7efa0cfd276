//! Where there is room for a text among what is drawn already.

use super::place::{Place, Rect};

/// A plane and what is taken of it.
#[derive(Clone, Debug)]
pub(super) struct Room {
    pub(super) bounds: Rect,
    taken: Vec<Rect>,
    /// What of it no hairline may cross: texts.
    texts: Vec<Rect>,
}

impl Room {
    pub(super) fn new(bounds: Rect) -> Self {
        Self {
            bounds,
            taken: Vec::new(),
            texts: Vec::new(),
        }
    }

    pub(super) fn take(&mut self, rect: Rect) {
        self.taken.push(rect);
    }

    /// Takes a line and two units to each side of it.
    pub(super) fn take_line(&mut self, points: &[Place]) {
        for pair in points.windows(2) {
            self.taken.extend(along(pair[0], pair[1]));
        }
    }

    pub(super) fn is_free(&self, rect: &Rect) -> bool {
        self.bounds.holds(rect) && !self.taken.iter().any(|taken| taken.overlaps(rect))
    }

    /// Whether a straight line crosses no text, besides those it starts in.
    pub(super) fn is_clear(&self, from: Place, to: Place) -> bool {
        let pieces = along(from, to);
        let mut others = self.texts.iter().filter(|text| !text.overlaps(&pieces[0]));
        !others.any(|text| pieces.iter().any(|piece| text.overlaps(piece)))
    }

    /// Takes it for a text.
    pub(super) fn take_text(&mut self, rect: Rect) {
        self.take(rect);
        self.texts.push(rect);
    }
}

/// Small squares along a line.
fn along(from: Place, to: Place) -> Vec<Rect> {
    let length = (to.0 - from.0).hypot(to.1 - from.1);
    let pieces = (length / 3.0).ceil().clamp(1.0, 400.0) as u32;
    let at = |piece: u32| {
        let part = f64::from(piece) / f64::from(pieces);
        (from.0 + part * (to.0 - from.0), from.1 + part * (to.1 - from.1))
    };
    (0..=pieces).map(|piece| Rect::around(at(piece), 4.0, 4.0)).collect()
}
