//! A small line for a strip of all measures: months in order, the last one marked.
//!
//! No text fits; the row it stands in says the number. A month without a value is a gap.
//! The last month is a dot, hollow while it may still change, a diamond when it is a
//! signal; a short dash when it has no value.
//!
//! Degenerate cases: no values give an empty strip, one value a lone dot; values that are
//! all the same give a level line.

use super::axis::{Range, Start, both_drawable, is_drawable};
use super::canvas::Canvas;
use super::pen::{Colour, Pen};
use super::place::Place;
use super::stretches::stretches;
use super::svg::ChartError;

/// One month.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Point {
    /// The figure; `None` where there is none.
    pub value: Option<f64>,
    /// The range in which the month is expected to lie.
    pub expected: Option<(f64, f64)>,
    /// The month may still change.
    pub is_provisional: bool,
    /// The month stands out.
    pub is_signal: bool,
}

/// What to draw.
#[derive(Clone, Debug)]
pub struct Strip<'a> {
    /// Unique on the page.
    pub id: &'a str,
    /// The finding, for screen readers.
    pub title: &'a str,
    /// What is drawn, for screen readers.
    pub description: &'a str,
    /// The months, in order.
    pub points: &'a [Point],
    /// Where the invisible axis starts.
    pub start: Start,
}

// Four units to a pixel of 160 by 36, as places are whole units.
const WIDTH: f64 = 640.0;
const HEIGHT: f64 = 144.0;
const MARGIN: f64 = 26.0;
const RADIUS: f64 = 14.0;

impl Strip<'_> {
    /// The strip as an SVG element, to be shown about 160 pixels wide and 36 high.
    ///
    /// ```
    /// use siskin::charts::axis::Start;
    /// use siskin::charts::strip::{Point, Strip};
    /// let month = |value| Point { value, ..Point::default() };
    /// let strip = Strip {
    ///     id: "coverage-strip",
    ///     title: "97 % in the last month",
    ///     description: "by month, one without data",
    ///     points: &[month(Some(0.95)), month(None), month(Some(0.97))],
    ///     start: Start::Data,
    /// };
    /// assert!(strip.svg()?.contains("var(--mark)"));
    /// # Ok::<(), siskin::charts::ChartError>(())
    /// ```
    ///
    /// # Errors
    /// When the picture cannot be made, which would be a fault of the program.
    pub fn svg(&self) -> Result<String, ChartError> {
        let values = self.points.iter().flat_map(|p| {
            let expected = both_drawable(p.expected);
            [p.value, expected.map(|e| e.0), expected.map(|e| e.1)]
        });
        let range = Range::close_to(values.flatten(), self.start);
        let scale = range.laid(HEIGHT - MARGIN, MARGIN);
        let mut canvas = Canvas::new(WIDTH, HEIGHT);
        let months = self.points.len().max(1) as f64;
        let pitch = (WIDTH - 2.0 * MARGIN) / months;
        let start_of = |i: usize| MARGIN + pitch * i as f64;
        let middle_of = |i: usize| start_of(i) + pitch / 2.0;

        for months in stretches(self.points.iter().map(|p| both_drawable(p.expected)), |_| false) {
            let mut band: Vec<Place> = Vec::new();
            for (i, (_, upper)) in &months {
                band.extend([(start_of(*i), scale.at(*upper)), (start_of(i + 1), scale.at(*upper))]);
            }
            for (i, (lower, _)) in months.iter().rev() {
                band.extend([(start_of(i + 1), scale.at(*lower)), (start_of(*i), scale.at(*lower))]);
            }
            canvas.area(band, Colour::Pale, 1.0);
        }
        for run in stretches(self.points.iter().map(value_of), |_| false) {
            let line: Vec<Place> = run.iter().map(|(i, v)| (middle_of(*i), scale.at(*v))).collect();
            if let [(x, y)] = line[..] {
                canvas.line(vec![(x - 5.0, y), (x + 5.0, y)], Pen::new(Colour::Mark, 10));
            }
            canvas.line(line, Pen::new(Colour::Mark, 6));
        }
        if let Some(last) = self.points.last() {
            let x = middle_of(self.points.len() - 1);
            match value_of(last) {
                Some(value) => canvas.point((x, scale.at(value)), RADIUS, last.is_signal, last.is_provisional),
                None => canvas.line(
                    vec![(x - 12.0, HEIGHT / 2.0), (x + 12.0, HEIGHT / 2.0)],
                    Pen::new(Colour::Quiet, 6),
                ),
            }
        }
        canvas.finished(self.id, self.title, self.description)
    }
}

fn value_of(point: &Point) -> Option<f64> {
    point.value.filter(|value| is_drawable(*value))
}
