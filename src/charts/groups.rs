//! A dot with its interval for each group, in the order given.
//!
//! The name stands to the left, the value as the page writes it to the right. A group whose
//! figure may not be shown has no dot, only the text. A signal is a diamond, its word
//! written behind the value. An upright dashed line is what the groups are compared with.
//!
//! Degenerate cases: no groups say "no data"; a group without a value is a row
//! without a dot.

use super::axis::{Range, Start, Write, both_drawable, is_drawable, level_height, level_name};
use super::canvas::Canvas;
use super::format::Format;
use super::lettering::{LEADING, shortened, widest, width_of, wrapped};
use super::pen::{Colour, Pen, Side, Type};
use super::place::Rect;
use super::svg::ChartError;

/// One group.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Group {
    /// Its name.
    pub name: String,
    /// The figure; `None` where there is none or it may not be shown.
    pub value: Option<f64>,
    /// Its interval.
    pub interval: Option<(f64, f64)>,
    /// The figure as the page writes it: `8 % of 112`, `< 5`.
    pub text: String,
    /// Why it stands out, in a word.
    pub signal: Option<String>,
}

/// What the groups are compared with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reference<'a> {
    /// Its value.
    pub value: f64,
    /// Written at its upper end: `network 6 %`.
    pub label: &'a str,
}

/// What to draw.
#[derive(Clone, Debug)]
pub struct Groups<'a> {
    /// Unique on the page.
    pub id: &'a str,
    /// The finding, for screen readers.
    pub title: &'a str,
    /// What is drawn, for screen readers.
    pub description: &'a str,
    /// In the order they are drawn.
    pub groups: &'a [Group],
    /// What they are compared with.
    pub reference: Option<Reference<'a>>,
    /// How wide.
    pub format: Format,
    /// Where the axis starts.
    pub start: Start,
    /// How a value is written at the axis.
    pub write: Write,
}

/// Most of the picture's width for names, and for values.
const MOST_NAME: f64 = 0.32;
const MOST_TEXT: f64 = 0.28;
const RADIUS: f64 = 5.0;
const GAP: f64 = 16.0;

impl Groups<'_> {
    /// The chart as an SVG element.
    ///
    /// # Errors
    /// When the picture cannot be made, which would be a fault of the program.
    pub fn svg(&self) -> Result<String, ChartError> {
        let (width, size) = (self.format.width(), self.format.type_size());
        let rows = self.rows();
        let names = rows.iter().map(|row| widest(&row.name, size)).fold(0.0, f64::max);
        let texts = rows.iter().map(|row| widest(&row.text, size)).fold(size, f64::max);
        let range = Range::of(self.values(), self.start, self.write);
        let half_label = range.label_width(size, self.write) / 2.0;
        let reference = self.reference.filter(|reference| is_drawable(reference.value));
        let top = if reference.is_some_and(|reference| !reference.label.is_empty()) {
            size * 1.7
        } else {
            size * 0.4
        };
        let rows_height = rows.iter().map(|row| row.height).sum::<f64>().max(size * 2.0);
        let plot = Rect {
            left: (names + GAP).max(half_label + 1.0),
            top,
            right: width - (texts + GAP).max(half_label + 1.0),
            bottom: (top + rows_height + size * 0.3).round(),
        };
        let scale = range.laid(plot.left, plot.right);
        let name = level_name("", range, self.write, size, plot.right);
        let mut canvas = Canvas::new(width, plot.bottom + level_height(size, &name));

        for tick in range.ticks() {
            let x = scale.at(tick);
            canvas.line(vec![(x, plot.top), (x, plot.bottom)], Pen::new(Colour::Pale, 1));
        }
        scale.draw_level(&mut canvas, &plot, size, self.write, &name);
        if let Some(reference) = reference {
            let x = scale.at(reference.value);
            canvas.line(
                vec![(x, plot.top - size * 0.3), (x, plot.bottom)],
                Pen::new(Colour::Quiet, 1).dashed(),
            );
            let label = shortened(reference.label, size, width);
            let half = width_of(&label, size) / 2.0;
            let x = x.min(width - half).max(half);
            let place = (x, plot.top - size);
            canvas.text(&label, place, Side::On, Type::new(size, Colour::Quiet));
        }
        if rows.is_empty() {
            canvas.text("no data", plot.middle(), Side::On, Type::new(size, Colour::Ink));
        }
        let mut row_top = plot.top;
        for row in &rows {
            row.draw(&mut canvas, row_top, &plot, size, |value| scale.at(value));
            row_top += row.height;
        }
        canvas.finished(self.id, self.title, self.description)
    }

    fn values(&self) -> impl Iterator<Item = f64> {
        let of_groups = self.groups.iter().flat_map(|group| {
            let interval = both_drawable(group.interval);
            [group.value, interval.map(|i| i.0), interval.map(|i| i.1)]
        });
        of_groups
            .flatten()
            .chain(self.reference.map(|reference| reference.value))
    }

    fn rows(&self) -> Vec<Row<'_>> {
        let (width, size) = (self.format.width(), self.format.type_size());
        self.groups
            .iter()
            .map(|group| {
                let text = match &group.signal {
                    Some(word) => format!("{}, {word}", group.text),
                    None => group.text.clone(),
                };
                let name = wrapped(&group.name, size, width * MOST_NAME, 5);
                let text = wrapped(&text, size, width * MOST_TEXT, 5);
                let lines = name.len().max(text.len()).max(1);
                Row {
                    group,
                    name,
                    text,
                    height: size * (LEADING * lines as f64 + 0.45),
                }
            })
            .collect()
    }
}

/// A group with its texts cut into lines.
struct Row<'a> {
    group: &'a Group,
    name: Vec<String>,
    text: Vec<String>,
    height: f64,
}

impl Row<'_> {
    fn draw(&self, canvas: &mut Canvas, top: f64, plot: &Rect, size: f64, at: impl Fn(f64) -> f64) {
        let y = (top + self.height / 2.0).round();
        let kind = Type::new(size, Colour::Ink);
        canvas.lines(&self.name, (plot.left - GAP, y), Side::LeftOf, kind);
        canvas.lines(&self.text, (plot.right + GAP, y), Side::RightOf, kind);
        if let Some((lower, upper)) = both_drawable(self.group.interval) {
            let pen = Pen::new(Colour::Mark, 2).fainter(0.55);
            canvas.line(vec![(at(lower), y), (at(upper), y)], pen);
        }
        if let Some(value) = self.group.value.filter(|value| is_drawable(*value)) {
            let is_signal = self.group.signal.is_some();
            canvas.point((at(value), y), RADIUS, is_signal, false);
        }
    }
}
