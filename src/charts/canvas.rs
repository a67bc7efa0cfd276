//! A picture as a list of shapes, drawn when it is complete.

use super::lettering::LEADING;
use super::pen::{Colour, Pen, Side, Type};
use super::place::{Place, Rect};
use super::svg::{self, ChartError, Shape};

/// A picture in the making; what comes later lies above.
#[derive(Clone, Debug)]
pub(super) struct Canvas {
    width: f64,
    height: f64,
    shapes: Vec<Shape>,
}

impl Canvas {
    pub(super) fn new(width: f64, height: f64) -> Self {
        Self {
            width,
            height,
            shapes: Vec::new(),
        }
    }

    pub(super) fn line(&mut self, points: Vec<Place>, pen: Pen) {
        if points.len() > 1 {
            self.shapes.push(Shape::Line(points, pen));
        }
    }

    /// A small square at each place, smaller where there are many; places that fall together
    /// are drawn once.
    pub(super) fn specks(&mut self, points: Vec<Place>, colour: Colour) {
        let width = match points.len() {
            0 => return,
            1..=150 => 5,
            151..=1000 => 3,
            _ => 2,
        };
        self.shapes
            .push(Shape::Specks(points, Pen::new(colour, width).fainter(0.8)));
    }

    pub(super) fn area(&mut self, points: Vec<Place>, colour: Colour, opacity: f64) {
        if points.len() > 2 {
            self.shapes.push(Shape::Area(points, colour, opacity));
        }
    }

    pub(super) fn rect(&mut self, rect: Rect, colour: Colour) {
        self.pale_rect(rect, colour, 1.0);
    }

    pub(super) fn pale_rect(&mut self, rect: Rect, colour: Colour, opacity: f64) {
        let (left, top, right, bottom) = (rect.left, rect.top, rect.right, rect.bottom);
        self.area(
            vec![(left, top), (right, top), (right, bottom), (left, bottom)],
            colour,
            opacity,
        );
    }

    pub(super) fn disc(&mut self, at: Place, radius: f64, colour: Colour) {
        self.shapes.push(Shape::Disc(at, radius, colour));
    }

    /// A point of the data, kept off the line by a rim. A signal is a larger diamond in ink;
    /// what may still change is hollow.
    pub(super) fn point(&mut self, at: Place, radius: f64, is_signal: bool, is_hollow: bool) {
        if is_signal {
            let radius = radius * 1.7;
            self.diamond(at, radius + 2.0, Colour::Paper);
            self.diamond(at, radius, Colour::Ink);
            if is_hollow {
                self.diamond(at, radius - (radius * 0.36).max(3.0), Colour::Paper);
            }
        } else {
            self.shapes.push(Shape::Disc(at, radius + 1.0, Colour::Paper));
            self.shapes.push(Shape::Disc(at, radius, Colour::Mark));
            if is_hollow {
                let inner = radius - (radius * 0.36).max(2.0);
                self.shapes.push(Shape::Disc(at, inner, Colour::Paper));
            }
        }
    }

    fn diamond(&mut self, (x, y): Place, radius: f64, colour: Colour) {
        let corners = vec![(x, y - radius), (x + radius, y), (x, y + radius), (x - radius, y)];
        self.area(corners, colour, 1.0);
    }

    pub(super) fn text(&mut self, text: &str, place: Place, side: Side, kind: Type) {
        if !text.is_empty() {
            self.shapes.push(Shape::Text(text.to_owned(), place, side, kind));
        }
    }

    /// Lines of text below each other; `middle` is halfway up the block.
    pub(super) fn lines(&mut self, lines: &[String], (x, middle): Place, side: Side, kind: Type) {
        let leading = kind.size * LEADING;
        let first = middle - leading * (lines.len().max(1) - 1) as f64 / 2.0;
        for (i, line) in lines.iter().enumerate() {
            self.text(line, (x, first + leading * i as f64), side, kind);
        }
    }

    /// The picture as an SVG element, title and description first.
    pub(super) fn finished(&self, id: &str, title: &str, description: &str) -> Result<String, ChartError> {
        let drawn = svg::drawn(&self.shapes, self.width, self.height)?;
        Ok(svg::element(&drawn, (self.width, self.height), id, title, description))
    }
}
