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
//! day; no tests say so, and without curves the axis is from 0 to 1; a test outside the hours is counted
//! at the foot, a bar or bracket that leaves them is cut with an arrow; what is not a number
//! is left out.

mod curves;
mod feet;
mod hours;
mod plane;
mod rows;
mod spans;
mod stretch;
mod symbols;

use super::axis::level_height;
use super::canvas::Canvas;
use super::lettering::wrapped;
use super::room::{Rect, Room};
use super::{ChartError, Format};
use feet::Feet;
use plane::Plane;

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

impl Timeline<'_> {
    /// The chart as an SVG element.
    ///
    /// ```
    /// use siskin::charts::Format;
    /// use siskin::charts::timeline::{Kind, Test, Timeline};
    /// let test = Test { at_h: 30.0, value: 212.0, kind: Kind::Square, label: "S 212".to_owned(), ..Test::default() };
    /// let timeline = Timeline {
    ///     id: "a", title: "One test", description: "over two days", from_h: 0.0, to_h: 48.0,
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
        let plane = Plane::of(self);
        let size = plane.size;
        let symbols = plane.symbols();
        let mut room = Room::new(plane.plot);
        symbols::take(&symbols, &mut room);
        plane.curves.iter().for_each(|threshold| threshold.take(&mut room));
        let names = curves::labels(&plane, &mut room);
        let labels = symbols::labels(&symbols, &mut room, size);
        let feet = Feet::of(self, &plane);

        let across = wrapped(&self.across_name(&plane), size, plane.plot.right, 3);
        let whole = Rect {
            bottom: (plane.plot.bottom + feet.height()).ceil(),
            ..plane.plot
        };
        let mut canvas = Canvas::new(plane.along.width, whole.bottom + level_height(size, &across));
        hours::draw_days(&mut canvas, &plane.along, &whole);
        plane.draw(&mut canvas);
        let ticks = hours::ticks(&plane.along, size);
        let scale = plane.along.scale;
        scale.draw_ticks(&mut canvas, &whole, size, &ticks, &across);
        plane.curves.iter().for_each(|threshold| threshold.draw(&mut canvas));
        curves::draw_ends(&plane, &mut canvas);
        let labels = || names.iter().chain(&labels);
        labels().for_each(|label| label.draw_hairline(&mut canvas));
        symbols.iter().for_each(|symbol| symbol.draw(&mut canvas));
        labels().for_each(|label| label.draw(&mut canvas, size));
        feet.draw(&mut canvas, plane.plot.bottom);
        canvas.finished(self.id, self.title, self.description)
    }

    /// The name of the axis of hours, with how many tests lie beyond it.
    fn across_name(&self, plane: &Plane<'_>) -> String {
        match symbols::outside(self.tests, &plane.along) {
            0 => self.across.to_owned(),
            1 => format!("{}; 1 test outside", self.across),
            n => format!("{}; {n} tests outside", self.across),
        }
    }
}
