//! Differences between two methods against their mean (Bland and Altman), with the bias and
//! the limits of agreement, each with a band for its interval and its number at its end.
//!
//! Up to some thousand pairs are one path of small squares. The zero line is dashed. Pairs
//! that cannot be drawn are left out.
//!
//! Degenerate cases: no pairs say "no data", with whatever lines there are; one pair is one
//! square.

use super::axis::{Range, Start, Write, both_drawable, is_drawable, level_height, level_name};
use super::canvas::Canvas;
use super::format::Format;
use super::lettering::{LEADING, shortened};
use super::line_ends::{self, GAP, LineEnd};
use super::pen::{Colour, Pen, Side, Type};
use super::place::{Place, Rect};
use super::svg::ChartError;

/// A level line with its number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Level<'a> {
    /// Where it lies.
    pub value: f64,
    /// Its interval, drawn as a band.
    pub interval: Option<(f64, f64)>,
    /// Written at its end: `bias -12 (-14 to -10)`.
    pub label: &'a str,
}

/// What to draw.
#[derive(Clone, Debug)]
pub struct Difference<'a> {
    /// Unique on the page.
    pub id: &'a str,
    /// The finding, for screen readers.
    pub title: &'a str,
    /// What is drawn, for screen readers.
    pub description: &'a str,
    /// Mean and difference of each pair.
    pub pairs: &'a [(f64, f64)],
    /// The mean difference.
    pub bias: Option<Level<'a>>,
    /// Lower and upper limit of agreement.
    pub limits: Option<(Level<'a>, Level<'a>)>,
    /// How wide.
    pub format: Format,
    /// How values are written at both axes.
    pub write: Write,
    /// Name of the level axis with its unit: `mean of both, mmol/L`.
    pub mean: &'a str,
    /// Name of the upright axis with its unit: `meter minus laboratory, mmol/L`.
    pub difference: &'a str,
}

/// Most of the picture's width for labels at line ends.
const MOST_RIGHT: f64 = 0.3;

impl Difference<'_> {
    /// The chart as an SVG element.
    ///
    /// # Errors
    /// When the picture cannot be made, which would be a fault of the program.
    pub fn svg(&self) -> Result<String, ChartError> {
        let (width, size) = (self.format.width(), self.format.type_size());
        let levels: Vec<Level<'_>> = self.levels().collect();
        let of_levels = levels.iter().flat_map(|level| {
            let interval = both_drawable(level.interval);
            [Some(level.value), interval.map(|i| i.0), interval.map(|i| i.1)]
        });
        let differences = self.pairs().map(|pair| pair.1).chain(of_levels.flatten());
        let up = Range::of(differences, Start::Zero, self.write);
        let along = Range::of(self.pairs().map(|pair| pair.0), Start::Data, self.write);
        let end_width = width * MOST_RIGHT;
        let kind = Type::new(size, Colour::Ink);
        let right_width = levels
            .iter()
            .map(|level| line_ends::label_width(level.label, end_width, kind))
            .fold(size, f64::max);
        let top = size * (0.6 + LEADING);
        let plot = Rect {
            left: up.label_width(size, self.write) + 10.0,
            top: top.round(),
            right: width - GAP - right_width,
            bottom: (top + size * 15.0).round(),
        };
        let (x, y) = (along.laid(plot.left, plot.right), up.laid(plot.bottom, plot.top));
        let name = level_name(self.mean, along, self.write, size, plot.right);
        let mut canvas = Canvas::new(width, plot.bottom + level_height(size, &name));

        for level in &levels {
            if let Some((lower, upper)) = both_drawable(level.interval) {
                let (top, bottom) = (y.at(upper), y.at(lower));
                canvas.rect(Rect { top, bottom, ..plot }, Colour::Pale);
            }
        }
        y.draw_upright(&mut canvas, &plot, size, self.write);
        x.draw_level(&mut canvas, &plot, size, self.write, &name);
        let quiet = Type::new(size, Colour::Quiet);
        let name = shortened(self.difference, size, width);
        canvas.text(&name, (0.0, size * 0.6), Side::RightOf, quiet);
        let specks: Vec<Place> = self.pairs().map(|(mean, d)| (x.at(mean), y.at(d))).collect();
        let is_empty = specks.is_empty();
        canvas.specks(specks, Colour::Mark);
        let zero = vec![(plot.left, y.at(0.0)), (plot.right, y.at(0.0))];
        canvas.line(zero, Pen::new(Colour::Quiet, 1).dashed());
        if is_empty {
            canvas.text("no data", plot.middle(), Side::On, kind);
        }
        let mut ends = Vec::new();
        for (i, level) in levels.iter().enumerate() {
            let end = (plot.right, y.at(level.value));
            let thick = if i == 0 && self.bias.is_some() { 2 } else { 1 };
            canvas.line(vec![(plot.left, end.1), end], Pen::new(Colour::Ink, thick));
            ends.push(LineEnd::new(end, level.label, end_width, kind));
        }
        line_ends::draw(
            &mut canvas,
            plot.right + GAP,
            (size * 1.6, plot.bottom + size * 0.3),
            ends,
        );
        canvas.finished(self.id, self.title, self.description)
    }

    /// Bias first.
    fn levels(&self) -> impl Iterator<Item = Level<'_>> {
        let limits = self.limits.map(|(lower, upper)| [lower, upper]);
        let levels = self.bias.into_iter().chain(limits.into_iter().flatten());
        levels.filter(|level| is_drawable(level.value))
    }

    fn pairs(&self) -> impl Iterator<Item = (f64, f64)> {
        self.pairs
            .iter()
            .copied()
            .filter(|(mean, difference)| is_drawable(*mean) && is_drawable(*difference))
    }
}
