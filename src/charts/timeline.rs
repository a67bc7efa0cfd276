//! One subject over hours: tests by their shape, thresholds as curves with their label at
//! the end, courses and stays as bars below, and each obligation as a bracket from what
//! began it to when it was due.
//!
//! Round is hollow, square is filled, a cross is an attempt without a value and stands at the
//! foot of the plot; a marked test has a ring. A label that finds no room near its test is
//! left out, the others first: the table beside the picture tells all. The axis of values
//! starts at a round value below the smallest drawn, and says so when that is not zero.
//!
//! Hours may be any, also below zero. Degenerate cases: hours that make no axis give one of a
//! day; no tests and no curves give an axis from 0 to 1; a test outside the hours is counted
//! at the foot, a bar or bracket that leaves them is cut with an arrow; what is not a number
//! is left out.

mod curves;
mod hours;
mod rows;
mod spans;
mod stretch;
mod symbols;

use super::axis::{Range, is_drawable, level_height, level_name};
use super::canvas::Canvas;
use super::lettering::{LEADING, wrapped};
use super::line_ends::{self, GAP, LineEnd};
use super::pen::{Colour, Pen, Type};
use super::room::{Rect, Room};
use super::{ChartError, Format};
use stretch::Along;

/// The shape of a test.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Kind {
    /// A hollow circle.
    #[default]
    Round,
    /// A filled square.
    Square,
    /// A cross at the foot of the plot: tried, without a value.
    Cross,
}

/// Whether the value is only known to lie beyond what is drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Bound {
    /// The value is known.
    #[default]
    None,
    /// It is this or more: an arrow up.
    Above,
    /// It is this or less: an arrow down.
    Below,
}

/// One test.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Test {
    /// When, in hours.
    pub at_h: f64,
    /// The value; without meaning for a cross.
    pub value: f64,
    /// Its shape.
    pub kind: Kind,
    /// Written beside it: `T 262`; may be empty.
    pub label: String,
    /// Whether the value is a bound.
    pub bound: Bound,
    /// It matters more than others: a ring, and its label goes first.
    pub is_marked: bool,
}

/// A threshold.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Curve<'a> {
    /// Hours and values, by growing hours.
    pub points: &'a [(f64, f64)],
    /// Written at its end.
    pub label: &'a str,
    /// Drawn thicker and darker.
    pub is_strong: bool,
}

/// A row of bars below the plot.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Row<'a> {
    /// At the left: `phototherapy`.
    pub name: &'a str,
    /// By growing hours.
    pub bars: &'a [Bar],
}

/// Something that lasted.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Bar {
    /// Its beginning, in hours.
    pub from_h: f64,
    /// Its end; `None` when no end is known: the bar stays open there.
    pub to_h: Option<f64>,
    /// Written in it, or beside it; may be empty.
    pub label: String,
}

/// Something that was due.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Span {
    /// What began it, in hours.
    pub from_h: f64,
    /// When it was due.
    pub due_h: f64,
    /// What ended it: a dot when it was kept, else a hollow one; `None` when nothing did.
    pub ended_h: Option<f64>,
    /// What was due and what became of it, in words.
    pub label: String,
    /// Whether it was kept.
    pub is_kept: bool,
}

/// What to draw.
#[derive(Clone, Debug)]
pub struct Timeline<'a> {
    /// Unique on the page.
    pub id: &'a str,
    /// The finding, for screen readers.
    pub title: &'a str,
    /// What is drawn, for screen readers.
    pub description: &'a str,
    /// Where the axis of hours begins.
    pub from_h: f64,
    /// Where it ends.
    pub to_h: f64,
    /// The name of the axis of hours: `hours of age (days marked)`.
    pub across: &'a str,
    /// The name of the axis of values, with its unit.
    pub up: &'a str,
    /// Tests, by growing hours.
    pub tests: &'a [Test],
    /// Thresholds.
    pub curves: &'a [Curve<'a>],
    /// Bars below the plot, a row for each name.
    pub rows: &'a [Row<'a>],
    /// Obligations, a row each below those.
    pub spans: &'a [Span],
    /// How wide.
    pub format: Format,
}

/// Height of the plot, in parts of the type size.
const PLOT_HEIGHT: f64 = 13.0;
/// Of the strip for crosses.
const CROSSES: f64 = 1.5;
/// Most of the picture's width for labels at the ends of curves.
const MOST_RIGHT: f64 = 0.24;

impl Timeline<'_> {
    /// The chart as an SVG element.
    ///
    /// ```
    /// use siskin::charts::Format;
    /// use siskin::charts::timeline::{Kind, Test, Timeline};
    /// let test = Test { at_h: 30.0, value: 212.0, kind: Kind::Square, label: "S 212".to_owned(), ..Test::default() };
    /// let timeline = Timeline {
    ///     id: "a", title: "One serum", description: "over two days", from_h: 0.0, to_h: 48.0,
    ///     across: "hours", up: "value", tests: &[test], curves: &[], rows: &[], spans: &[],
    ///     format: Format::Wide,
    /// };
    /// assert!(timeline.svg()?.contains("S 212"));
    /// # Ok::<(), siskin::charts::ChartError>(())
    /// ```
    ///
    /// # Errors
    /// When the picture cannot be made, which would be a fault of the program.
    pub fn svg(&self) -> Result<String, ChartError> {
        let (width, size) = (self.format.width(), self.format.type_size());
        let (from, to) = hours::covered(self.from_h, self.to_h);
        let tests = symbols::within(self.tests, from, to);
        let curves: Vec<_> = self
            .curves
            .iter()
            .map(|curve| curves::within(curve, from, to))
            .collect();
        let values = tests
            .iter()
            .filter(|test| test.kind != Kind::Cross)
            .map(|test| test.value);
        let up = Range::near(values.chain(curves.iter().flat_map(curves::values)), hours::written);
        let name = level_name(self.up, up, hours::written, size, width);
        let has_cross = tests.iter().any(|test| test.kind == Kind::Cross);
        let plot = self.plot(up, &name, has_cross);
        let along = Along::new(
            Range::exactly(from, to).laid(plot.left, plot.right),
            from,
            to,
            &plot,
            width,
        );
        let crosses = if has_cross { size * CROSSES } else { 0.0 };
        let y = up.laid(plot.bottom - crosses, plot.top);

        let lines = curves.iter().map(|curve| curves::laid(curve, &along.scale, &y));
        let lines: Vec<_> = lines.collect();
        let symbols = symbols::placed(&tests, |test| {
            let foot = plot.bottom - size * 0.65;
            let height = if test.kind == Kind::Cross {
                foot
            } else {
                y.at(test.value)
            };
            (along.scale.at(test.at_h), height)
        });
        let mut room = Room::new(plot);
        lines.iter().flatten().for_each(|line| room.take_line(line));
        let labels = symbols::labels(&symbols, &mut room, size);
        let rows: Vec<_> = self.rows.iter().map(|row| rows::placed(row, &along, size)).collect();
        let spans: Vec<_> = self
            .spans
            .iter()
            .filter_map(|span| spans::placed(span, &along, size))
            .collect();

        let below = rows
            .iter()
            .map(rows::Placed::height)
            .chain(spans.iter().map(spans::Placed::height));
        let foot = (plot.bottom + below.sum::<f64>() + size * 0.3).ceil();
        let whole = Rect { bottom: foot, ..plot };
        let outside = self.tests.iter().filter(|test| is_drawable(test.at_h)).count() - tests.len();
        let across = self.across_name(outside);
        let across = wrapped(&across, size, plot.right, 3);
        let mut canvas = Canvas::new(width, foot + level_height(size, &across));

        hours::draw_days(&mut canvas, &along.scale, &whole, from, to);
        y.draw_upright(&mut canvas, &plot, size, hours::written);
        let middle = size * (0.2 + LEADING * name.len() as f64 / 2.0);
        canvas.lines(
            &name,
            (0.0, middle),
            super::pen::Side::RightOf,
            Type::new(size, Colour::Quiet),
        );
        let ticks = hours::ticks(from, to, plot.width(), size);
        along.scale.draw_ticks(&mut canvas, &whole, size, &ticks, &across);
        let mut ends = Vec::new();
        for (curve, pieces) in self.curves.iter().zip(lines) {
            let (colour, thick) = if curve.is_strong {
                (Colour::Ink, 2)
            } else {
                (Colour::Quiet, 1)
            };
            let end = pieces.last().and_then(|line| line.last());
            let kind = Type::new(size, colour);
            ends.extend(end.map(|end| LineEnd::new(*end, curve.label, width * MOST_RIGHT, kind)));
            pieces
                .into_iter()
                .for_each(|line| canvas.line(line, Pen::new(colour, thick)));
        }
        line_ends::draw(
            &mut canvas,
            plot.right + GAP,
            (plot.top - size * 0.6, plot.bottom),
            ends,
        );
        labels.iter().for_each(|label| label.draw_hairline(&mut canvas));
        symbols.iter().for_each(|symbol| symbol.draw(&mut canvas));
        labels.iter().for_each(|label| label.draw(&mut canvas, size));
        let mut top = plot.bottom;
        for row in &rows {
            row.draw(&mut canvas, top);
            top += row.height();
        }
        for span in &spans {
            span.draw(&mut canvas, top);
            top += span.height();
        }
        canvas.finished(self.id, self.title, self.description)
    }

    /// Where values lie; higher than usual when the labels of many curves need it.
    fn plot(&self, up: Range, name: &[String], has_cross: bool) -> Rect {
        let (width, size) = (self.format.width(), self.format.type_size());
        let most = width * MOST_RIGHT;
        let kind = Type::new(size, Colour::Ink);
        let labels = self
            .curves
            .iter()
            .map(|curve| line_ends::label_width(curve.label, most, kind));
        let right_width = labels.fold(size, f64::max);
        let lines: usize = self
            .curves
            .iter()
            .map(|curve| wrapped(curve.label, size, most, 3).len())
            .sum();
        let top = (size * (0.8 + LEADING * name.len() as f64)).ceil();
        let crosses = if has_cross { CROSSES } else { 0.0 };
        let height = size * (PLOT_HEIGHT + crosses).max(LEADING * lines as f64);
        Rect {
            left: up.label_width(size, hours::written) + 10.0,
            top,
            right: width - GAP - right_width,
            bottom: top + height.ceil(),
        }
    }

    /// The name of the axis of hours, with how many tests lie beyond it.
    fn across_name(&self, outside: usize) -> String {
        match outside {
            0 => self.across.to_owned(),
            1 => format!("{}; 1 test outside", self.across),
            n => format!("{}; {n} tests outside", self.across),
        }
    }
}
