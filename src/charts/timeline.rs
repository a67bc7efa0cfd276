//! One subject over hours: tests by their shape, thresholds as curves with their label at
//! the end, courses and stays as bars below, and each obligation as a bracket from what
//! began it to when it was due.
//!
//! Round is hollow, square is filled, a cross is an attempt without a value and stands at the
//! foot of the plot; a marked test has a ring. A label that finds no room near its test is
//! left out, the others first: the table beside the picture has them all. The axis of values
//! starts at a round value below the smallest drawn, and says so when that is not zero.
//!
//! Hours may be any, also below zero. Degenerate cases: hours that make no axis give one of a
//! day; no tests say so, and without curves the axis is from 0 to 1; a test outside the hours is counted
//! at the foot, a bar or bracket that leaves them is cut with an arrow; what is not a number
//! is left out.

mod curves;
mod data;
mod feet;
mod hours;
mod plane;
mod rows;
mod spans;
mod stretch;
mod symbols;

pub use data::{Bar, Bound, Curve, Kind, Row, Span, Test, Timeline};

use super::axis::level_height;
use super::canvas::Canvas;
use super::lettering::wrapped;
use super::place::Rect;
use super::room::Room;
use super::svg::ChartError;
use feet::Feet;
use plane::Plane;

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
        let names = curves::labels(&plane.curves, size, plane.most_right, &mut room);
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
        curves::draw_ends(&plane.curves, &plane.plot, size, plane.most_right, &mut canvas);
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
