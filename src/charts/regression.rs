//! Two methods against each other: the pairs, the line of identity, and one or two fitted
//! lines, each labelled at its end.
//!
//! Both axes cover the same range, so that identity runs from corner to corner. A fitted
//! line is drawn over the pairs only, never beyond them. The first is thick, the second thin
//! and dashed.
//!
//! Degenerate cases: no pairs say "no data" and have no lines; a line that
//! cannot be drawn is left out.

use super::axis::{Range, Start, Write, is_drawable, level_height, level_name};
use super::canvas::Canvas;
use super::format::Format;
use super::lettering::{LEADING, shortened};
use super::line_ends::{self, GAP, LineEnd};
use super::pen::{Colour, Pen, Side, Type};
use super::place::{Place, Rect};
use super::svg::ChartError;

/// A fitted line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fit<'a> {
    /// At zero of the level axis.
    pub intercept: f64,
    /// Up for one along.
    pub slope: f64,
    /// Written at its end: `Deming: 4 + 0.95 x`.
    pub label: &'a str,
}

/// What to draw.
#[derive(Clone, Debug)]
pub struct Regression<'a> {
    /// Unique on the page.
    pub id: &'a str,
    /// The finding, for screen readers.
    pub title: &'a str,
    /// What is drawn, for screen readers.
    pub description: &'a str,
    /// Level and upright value of each pair.
    pub pairs: &'a [(f64, f64)],
    /// One or two lines; more are left out.
    pub fits: &'a [Fit<'a>],
    /// How wide.
    pub format: Format,
    /// How values are written at both axes.
    pub write: Write,
    /// Name of the level axis with its unit.
    pub along: &'a str,
    /// Name of the upright axis with its unit.
    pub up: &'a str,
}

/// Most of the picture's width for labels at line ends.
const MOST_RIGHT: f64 = 0.3;
const IDENTITY: &str = "equal";

impl Regression<'_> {
    /// The chart as an SVG element.
    ///
    /// # Errors
    /// When the picture cannot be made, which would be a fault of the program.
    pub fn svg(&self) -> Result<String, ChartError> {
        let (width, size) = (self.format.width(), self.format.type_size());
        let pairs: Vec<(f64, f64)> = self.pairs().collect();
        let range = Range::of(pairs.iter().flat_map(|pair| [pair.0, pair.1]), Start::Data, self.write);
        let end_width = width * MOST_RIGHT;
        let (ink, quiet) = (Type::new(size, Colour::Ink), Type::new(size, Colour::Quiet));
        let labels = self.fits.iter().map(|fit| fit.label).chain([IDENTITY]);
        let right_width = labels
            .map(|label| line_ends::label_width(label, end_width, ink))
            .fold(0.0, f64::max);
        let top = size * (0.6 + LEADING);
        let plot = Rect {
            left: range.label_width(size, self.write) + 10.0,
            top: top.round(),
            right: width - GAP - right_width,
            bottom: (top + size * 18.0).round(),
        };
        let (x, y) = (range.laid(plot.left, plot.right), range.laid(plot.bottom, plot.top));
        let name = level_name(self.along, range, self.write, size, plot.right);
        let mut canvas = Canvas::new(width, plot.bottom + level_height(size, &name));

        y.draw_upright(&mut canvas, &plot, size, self.write);
        x.draw_level(&mut canvas, &plot, size, self.write, &name);
        let up = shortened(self.up, size, width);
        canvas.text(&up, (0.0, size * 0.6), Side::RightOf, quiet);

        let at = |(along, up): (f64, f64)| (x.at(along), y.at(up));
        canvas.specks(pairs.iter().map(|pair| at(*pair)).collect(), Colour::Mark);
        let mut ends = Vec::new();
        if pairs.is_empty() {
            canvas.text("no data", plot.middle(), Side::On, ink);
        } else {
            let identity = [at((range.from, range.from)), at((range.to, range.to))];
            canvas.line(identity.to_vec(), Pen::new(Colour::Quiet, 1));
            ends.push(LineEnd::new(identity[1], IDENTITY, end_width, quiet));
        }
        for (i, fit) in self.fits.iter().take(2).enumerate() {
            let Some((from, to)) = fit.within(&pairs, range.from, range.to) else {
                continue;
            };
            let pen = if i == 0 {
                Pen::new(Colour::Ink, 3)
            } else {
                Pen::new(Colour::Ink, 2).dashed()
            };
            canvas.line(vec![at(from), at(to)], pen);
            ends.push(LineEnd::new(at(to), fit.label, end_width, ink));
        }
        line_ends::draw(&mut canvas, plot.right + GAP, (size * 1.6, plot.bottom), ends);
        canvas.finished(self.id, self.title, self.description)
    }

    fn pairs(&self) -> impl Iterator<Item = (f64, f64)> {
        self.pairs
            .iter()
            .copied()
            .filter(|(along, up)| is_drawable(*along) && is_drawable(*up))
    }
}

impl Fit<'_> {
    /// Both ends of the line over the pairs, inside what the upright axis covers.
    fn within(&self, pairs: &[(f64, f64)], low: f64, high: f64) -> Option<(Place, Place)> {
        if !is_drawable(self.intercept) || !is_drawable(self.slope) {
            return None;
        }
        let mut from = pairs.iter().map(|pair| pair.0).fold(f64::INFINITY, f64::min);
        let mut to = pairs.iter().map(|pair| pair.0).fold(f64::NEG_INFINITY, f64::max);
        if self.slope != 0.0 {
            let crossings = [low, high].map(|y| (y - self.intercept) / self.slope);
            from = from.max(crossings[0].min(crossings[1]));
            to = to.min(crossings[0].max(crossings[1]));
        } else if self.intercept < low || self.intercept > high {
            return None;
        }
        let on = |x: f64| (x, self.intercept + self.slope * x);
        (from < to).then(|| (on(from), on(to)))
    }
}
