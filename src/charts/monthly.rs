//! One figure over months: a dot per month on a thin line, its interval as a fainter bar,
//! hollow while the month may still change, a gap that says "no data" where there is none.
//!
//! Behind it the expected range as a pale band with its centre, a step a month; both break
//! where a phase begins, and a dated note stands above the break. A signal is a diamond with
//! a word beside it; neighbours with the same word share one that counts them. The picture
//! grows by the rows it needs: for notes, and for words that find no room beside their month.
//! A hidden month is a gap that says "hidden"; its value moves neither axis nor band.
//!
//! Months stand for any periods in a row. With eight or fewer, long labels such as
//! `Jul–Sep 26` are set in lines so that none is left out.
//!
//! Degenerate cases: no months say "no data"; no values, or all zero, give an axis from 0 to
//! 1. A value that cannot be drawn is left out, and so is a signal of a month without a value.

mod data;
mod expected;
mod gaps;
mod labels;
mod layout;
mod phases;
mod row_above;
mod signals;

pub use data::{Monthly, Phase, Point};

use super::axis::{Range, below, draw_start, is_drawable};
use super::canvas::Canvas;
use super::line_ends::{self, LineEnd};
use super::pen::{Colour, Pen, Side, Type};
use super::place::{Place, Rect};
use super::room::Room;
use super::stretches::stretches;
use super::svg::ChartError;
use layout::{Layout, RADIUS};

impl Monthly<'_> {
    /// The chart as an SVG element.
    ///
    /// # Errors
    /// When the picture cannot be made, which would be a fault of the program.
    pub fn svg(&self) -> Result<String, ChartError> {
        let range = Range::of(self.values(), self.start, self.write);
        let mut layout = Layout::of(self, range);
        let notes = phases::placed(self, &layout);
        let mut room = self.taken(&layout);
        let gaps = gaps::placed(self, &layout, &mut room);
        let words = signals::placed(self, &layout, &room);

        let axis_note = if range.from > 0.0 { layout.leading() } else { 0.0 };
        let note_rows = notes.iter().map(|note| note.rect.bottom).fold(0.0, f64::max);
        let words_top = note_rows + axis_note;
        layout.lower(words_top + words.above.height);

        let mut canvas = Canvas::new(self.format.width(), layout.height(self));
        expected::draw(self, &layout, &mut canvas);
        layout
            .scale
            .draw_upright(&mut canvas, &layout.plot, layout.size, self.write);
        if range.from > 0.0 {
            draw_start(&mut canvas, range, self.write, layout.size, note_rows);
        }
        self.draw_feet(&layout, &mut canvas);
        expected::draw_lines(self, &layout, &mut canvas);
        phases::draw(&notes, &layout, &mut canvas);
        gaps::draw(&gaps, &layout, &mut canvas);
        words.draw_hairlines(&mut canvas, &layout, words_top);
        self.draw_points(&layout, &mut canvas);
        words.draw(&mut canvas, &layout, words_top);
        self.draw_ends(&layout, &mut canvas);
        canvas.finished(self.id, self.title, self.description)
    }

    /// All that the axis must cover.
    fn values(&self) -> impl Iterator<Item = f64> {
        let of_points = self.points.iter().flat_map(|p| {
            let interval = p.shown_interval();
            let expected = p.shown_expected();
            [
                p.shown_value(),
                interval.map(|i| i.0),
                interval.map(|i| i.1),
                p.centre,
                expected.map(|i| i.0),
                expected.map(|i| i.1),
                p.target,
            ]
        });
        of_points.flatten().chain(self.top)
    }

    /// Months in a row that have a value: the line breaks where one has none.
    fn unbroken(&self) -> Vec<Vec<(usize, f64)>> {
        stretches((0..self.points.len()).map(|i| self.value(i)), |_| false)
    }

    /// What a word may not cover: dots, intervals, the line and the target.
    fn taken(&self, layout: &Layout) -> Room {
        let mut room = Room::new(layout.plot);
        for run in self.unbroken() {
            let line: Vec<Place> = run.iter().map(|(i, v)| layout.place(*i, *v)).collect();
            room.take_line(&line);
            for (i, value) in run {
                room.take(Rect::around(layout.place(i, value), RADIUS * 3.6, RADIUS * 3.6));
            }
        }
        for (i, point) in self.points.iter().enumerate() {
            if let Some((lower, upper)) = point.shown_interval() {
                room.take_line(&[layout.place(i, lower), layout.place(i, upper)]);
            }
        }
        for line in expected::targets(self, layout) {
            room.take_line(&line);
        }
        for phase in self.phases.iter().filter(|phase| phase.from < self.points.len()) {
            let x = layout.start_of(phase.from);
            room.take_line(&[(x, layout.plot.top), (x, layout.plot.bottom)]);
        }
        room
    }

    /// Months and denominators, as many as do not touch, counted from the last.
    fn draw_feet(&self, layout: &Layout, canvas: &mut Canvas) {
        let first_row = below(layout.plot.bottom, layout.size);
        let second_row = first_row + layout.leading() * layout.label_lines as f64;
        let kind = Type::new(layout.size, Colour::Quiet);
        for (i, point) in self.points.iter().enumerate() {
            let (x, foot) = (layout.middle_of(i), layout.plot.bottom);
            let from_last = self.points.len() - 1 - i;
            if from_last.is_multiple_of(layout.every) {
                canvas.line(vec![(x, foot), (x, foot + 4.0)], Pen::new(Colour::Quiet, 1));
                let lines = layout.label_of(point);
                let middle = first_row + layout.leading() * (lines.len().max(1) - 1) as f64 / 2.0;
                canvas.lines(&lines, (x, middle), Side::On, kind);
            }
            if from_last.is_multiple_of(layout.every_below) {
                canvas.text(&layout.fitting(&point.below), (x, second_row), Side::On, kind);
            }
        }
        match layout.of_left {
            Some(left) => canvas.text(self.of, (left, second_row), Side::RightOf, kind),
            None => {
                let lines = layout.of_lines(self);
                let middle = second_row + layout.leading() * (lines.len() as f64 + 1.0) / 2.0;
                canvas.lines(&lines, (layout.plot.left, middle), Side::RightOf, kind);
            }
        }
    }

    fn draw_points(&self, layout: &Layout, canvas: &mut Canvas) {
        for (i, point) in self.points.iter().enumerate() {
            if let Some((lower, upper)) = point.shown_interval() {
                let bar = vec![layout.place(i, lower), layout.place(i, upper)];
                canvas.line(bar, Pen::new(Colour::Mark, 2).fainter(0.55));
            }
        }
        for run in self.unbroken() {
            let line = run.iter().map(|(i, v)| layout.place(*i, *v)).collect();
            canvas.line(line, Pen::new(Colour::Mark, 1));
        }
        for (i, point) in self.points.iter().enumerate() {
            if let Some(value) = self.value(i) {
                let is_signal = point.signal.is_some();
                canvas.point(layout.place(i, value), RADIUS, is_signal, point.is_provisional);
            }
        }
    }

    fn draw_ends(&self, layout: &Layout, canvas: &mut Canvas) {
        let mut ends = Vec::new();
        let quiet = Type::new(layout.size, Colour::Quiet);
        let right = layout.plot.right;
        let mut end = |at: Option<Place>, label: &str, kind: Type| {
            ends.extend(at.map(|at| LineEnd::new(at, label, layout.right_width, kind)));
        };
        let last = self.points.len().saturating_sub(1);
        let latest = self.value(last).map(|value| layout.place(last, value));
        end(
            latest.map(|(x, y)| (x + RADIUS * 2.0, y)),
            self.latest,
            Type::new(layout.size, Colour::Ink).bold(),
        );
        let mut from_last = self.points.iter().rev();
        let centre = from_last.find_map(|point| {
            let middle = point.shown_expected().map(|(lower, upper)| (lower + upper) / 2.0);
            point.centre.filter(|centre| is_drawable(*centre)).or(middle)
        });
        end(centre.map(|value| (right, layout.scale.at(value))), self.usual, quiet);
        let target = self.points.iter().rev().find_map(|point| point.target);
        end(target.map(|value| (right, layout.scale.at(value))), self.target, quiet);
        let between = (0.0, layout.plot.bottom + layout.size * 0.65);
        line_ends::draw(canvas, layout.right_left, between, ends);
    }
}
