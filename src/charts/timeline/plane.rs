//! The plane of hours and values: what both axes cover, and where they lie.

use super::super::axis::{Range, Scale, level_name};
use super::super::canvas::Canvas;
use super::super::lettering::{LEADING, wrapped};
use super::super::line_ends::{self, GAP};
use super::super::pen::{Colour, Side, Type};
use super::super::place::Rect;
use super::curves::{self, Threshold};
use super::data::{Bound, Kind, Test, Timeline};
use super::hours;
use super::stretch::Along;
use super::symbols::{self, Symbol};

/// Height for values, in parts of the type size.
const HEIGHT: f64 = 13.0;
/// Of the strip at the foot for what has no value, and for arrows down.
const STRIP: f64 = 1.5;
/// Most of the picture's width for labels at the ends of curves.
const MOST_RIGHT: f64 = 0.26;

/// The plane.
pub(super) struct Plane<'a> {
    /// Type size.
    pub(super) size: f64,
    pub(super) plot: Rect,
    pub(super) along: Along,
    up: Scale,
    /// Lines of the name of the axis of values.
    name: Vec<String>,
    tests: Vec<&'a Test>,
    pub(super) curves: Vec<Threshold<'a>>,
    /// How wide labels at the ends of curves may be.
    pub(super) most_right: f64,
}

impl<'a> Plane<'a> {
    pub(super) fn of(chart: &Timeline<'a>) -> Self {
        let (width, size) = (chart.format.width(), chart.format.type_size());
        let (from, to) = hours::covered(chart.from_h, chart.to_h);
        let tests = symbols::within(chart.tests, from, to);
        let pieces: Vec<_> = chart.curves.iter().map(|c| curves::within(c, from, to)).collect();
        let values = tests
            .iter()
            .filter(|test| test.kind != Kind::Cross)
            .map(|test| test.value);
        let range = Range::near(
            values.chain(pieces.iter().flatten().flatten().map(|p| p.1)),
            hours::written,
        );
        let name = level_name(chart.up, range, hours::written, size, width);

        let most_right = width * MOST_RIGHT;
        let reaching = chart
            .curves
            .iter()
            .zip(&pieces)
            .filter(|(_, pieces)| curves::reaches(pieces, to));
        let labels: Vec<&str> = reaching.map(|(curve, _)| curve.label).collect();
        let widths = labels
            .iter()
            .map(|label| line_ends::label_width(label, most_right, Type::new(size, Colour::Ink)));
        let right_width = widths.fold(size, f64::max);
        let lines: usize = labels
            .iter()
            .map(|label| wrapped(label, size, most_right, 3).len())
            .sum();
        let is_low = |test: &&Test| test.kind == Kind::Cross || test.bound == Bound::Below;
        let has_strip = tests.is_empty() || tests.iter().any(is_low);
        let strip = if has_strip { size * STRIP } else { 0.0 };
        let has_arrow = tests.iter().any(|test| test.bound == Bound::Above);
        let margin = if has_arrow { 1.5 } else { 0.8 };
        let top = (size * (margin + LEADING * name.len() as f64)).ceil();
        // The labels of many curves need more than usual.
        let height = (size * HEIGHT + strip).max(size * LEADING * lines as f64).ceil();
        let plot = Rect {
            left: range.label_width(size, hours::written) + 10.0,
            top,
            right: width - GAP - right_width,
            bottom: top + height,
        };
        let along = Along {
            scale: Range::exactly(from, to).laid(plot.left, plot.right),
            from,
            to,
            left: plot.left,
            right: plot.right,
            width,
        };
        let up = range.laid(plot.bottom - strip, plot.top);
        let curves = chart.curves.iter().zip(pieces);
        let curves = curves
            .map(|(curve, pieces)| Threshold::laid(curve, &pieces, &along, &up))
            .collect();
        Self {
            size,
            plot,
            along,
            up,
            name,
            tests,
            curves,
            most_right,
        }
    }

    /// Tests with their places.
    pub(super) fn symbols(&self) -> Vec<Symbol<'a>> {
        let place = |test: &&'a Test| {
            let height = match test.kind {
                Kind::Cross => self.strip_middle(),
                Kind::Round | Kind::Square => self.up.at(test.value),
            };
            Symbol::new(test, (self.along.scale.at(test.at_h), height))
        };
        self.tests.iter().map(place).collect()
    }

    fn strip_middle(&self) -> f64 {
        self.plot.bottom - self.size * STRIP / 2.0
    }

    /// The axis of values with its name above, and whether there are no tests.
    pub(super) fn draw(&self, canvas: &mut Canvas) {
        let quiet = Type::new(self.size, Colour::Quiet);
        self.up.draw_upright(canvas, &self.plot, self.size, hours::written);
        let middle = self.size * (0.2 + LEADING * self.name.len() as f64 / 2.0);
        canvas.lines(&self.name, (0.0, middle), Side::RightOf, quiet);
        if self.tests.is_empty() {
            let place = (self.plot.middle().0, self.strip_middle());
            canvas.text("no tests", place, Side::On, Type::new(self.size, Colour::Ink));
        }
    }
}
