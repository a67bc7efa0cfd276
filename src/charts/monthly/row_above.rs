//! Words above the plot, for which there is no room beside their month: level when they do
//! not touch each other, else upright and as small as they must be. A single month is joined
//! by a hairline, months in a row by a bracket over them.

use super::super::canvas::Canvas;
use super::super::lettering::width_of;
use super::super::pen::{Colour, Pen, Side, Type};
use super::super::place::{Place, Rect};
use super::layout::{Layout, RADIUS};

/// Upright words shrink to stand close to each other, to this and no further; closer than
/// that, an earlier month keeps only its diamond.
const SMALLEST: f64 = 9.0;

/// A word, and where the first and the last month it holds for end upwards.
pub(super) struct Word {
    pub(super) text: String,
    pub(super) months: (Place, Place),
}

impl Word {
    fn x(&self) -> f64 {
        (self.months.0.0 + self.months.1.0) / 2.0
    }

    /// Level, between the sides of the picture; `middle` is halfway up.
    fn level(&self, size: f64, width: f64, middle: f64) -> Rect {
        let picture = Rect {
            left: 0.0,
            top: middle,
            right: width,
            bottom: middle,
        };
        Rect::around((self.x(), middle), width_of(&self.text, size), size).between_sides_of(&picture)
    }
}

/// The row.
pub(super) struct RowAbove {
    /// By growing month.
    words: Vec<Word>,
    is_upright: bool,
    size: f64,
    /// Of the whole picture.
    width: f64,
    /// What the row takes.
    pub(super) height: f64,
}

impl RowAbove {
    pub(super) fn of(words: Vec<Word>, layout: &Layout, width: f64) -> Self {
        let mut row = Self {
            words,
            is_upright: false,
            size: layout.size,
            width,
            height: 0.0,
        };
        if row.words.is_empty() {
            return row;
        }
        row.height = row.size * 1.4;
        let level: Vec<Rect> = row.words.iter().map(|word| word.level(row.size, width, 0.0)).collect();
        if level
            .windows(2)
            .all(|pair| pair[0].right + row.size * 0.6 <= pair[1].left)
        {
            return row;
        }
        row.is_upright = true;
        let away = row.words.windows(2).map(|pair| pair[1].x() - pair[0].x());
        row.size = (away.fold(f64::INFINITY, f64::min) * 0.92).clamp(SMALLEST, layout.size);
        let mut free = f64::INFINITY;
        let mut kept = Vec::new();
        for word in row.words.into_iter().rev() {
            if word.x() <= free {
                free = word.x() - row.size;
                kept.push(word);
            }
        }
        kept.reverse();
        row.words = kept;
        let longest = row.words.iter().map(|word| width_of(&word.text, row.size));
        row.height = longest.fold(0.0, f64::max) + layout.size * 0.6;
        row
    }

    /// From the words to their months; `top` is that of the row.
    pub(super) fn draw_hairlines(&self, canvas: &mut Canvas, layout: &Layout, top: f64) {
        let foot = top + self.height;
        for word in &self.words {
            let (first, last) = word.months;
            if first.0 == last.0 {
                let hairline = vec![(last.0, foot - 2.0), (last.0, last.1 + layout.lowered)];
                canvas.line(hairline, Pen::new(Colour::Quiet, 1).fainter(0.7));
            } else {
                let (left, right) = (first.0 - RADIUS, last.0 + RADIUS);
                let bracket = [(left, foot + 5.0), (left, foot), (right, foot), (right, foot + 5.0)];
                canvas.line(bracket.to_vec(), Pen::new(Colour::Ink, 1));
            }
        }
    }

    pub(super) fn draw(&self, canvas: &mut Canvas, layout: &Layout, top: f64) {
        let kind = Type::new(self.size, Colour::Ink);
        for word in &self.words {
            if self.is_upright {
                let foot = top + self.height - layout.size * 0.4;
                canvas.text(&word.text, (word.x(), foot), Side::RightOf, kind.turned());
            } else {
                let middle = top + self.size * 0.5;
                let place = word.level(self.size, self.width, middle).middle();
                canvas.text(&word.text, place, Side::On, kind);
            }
        }
    }
}
