//! Places and rectangles of a picture.

/// From the left, and from the top.
pub(super) type Place = (f64, f64);

/// An upright rectangle; `top` is the smaller ordinate, as on a screen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Rect {
    pub(super) left: f64,
    pub(super) top: f64,
    pub(super) right: f64,
    pub(super) bottom: f64,
}

impl Rect {
    /// Around its middle.
    pub(super) fn around(middle: Place, width: f64, height: f64) -> Self {
        Self {
            left: middle.0 - width / 2.0,
            top: middle.1 - height / 2.0,
            right: middle.0 + width / 2.0,
            bottom: middle.1 + height / 2.0,
        }
    }

    pub(super) fn width(&self) -> f64 {
        self.right - self.left
    }

    pub(super) fn middle(&self) -> Place {
        ((self.left + self.right) / 2.0, (self.top + self.bottom) / 2.0)
    }

    pub(super) fn lowered(&self, by: f64) -> Self {
        Self {
            top: self.top + by,
            bottom: self.bottom + by,
            ..*self
        }
    }

    /// Moved sideways until it lies between the sides of `bounds`, if it can.
    pub(super) fn between_sides_of(&self, bounds: &Self) -> Self {
        let by = (bounds.right - self.right).min(0.0);
        let by = by.max(bounds.left - self.left);
        Self {
            left: self.left + by,
            right: self.right + by,
            ..*self
        }
    }

    /// The point of it that is nearest.
    pub(super) fn nearest_to(&self, (x, y): Place) -> Place {
        (x.max(self.left).min(self.right), y.max(self.top).min(self.bottom))
    }

    pub(super) fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right && other.left < self.right && self.top < other.bottom && other.top < self.bottom
    }

    pub(super) fn holds(&self, other: &Self) -> bool {
        self.left <= other.left && other.right <= self.right && self.top <= other.top && other.bottom <= self.bottom
    }
}
