//! Units against their denominators, with the limits between which chance alone would keep
//! them: 95 % as a pale band, 99.8 % as a fainter one around it.
//!
//! Each dot has its name beside it, farther away and joined by a hairline where dots lie
//! close; names for which there is no room are listed below the axis. A unit beyond a limit is a diamond, its word behind its name. The limits come from
//! the caller, as curves over the denominator.
//!
//! Degenerate cases: no units say "no data"; one unit or equal denominators stand on
//! an axis from zero; a unit without a drawable value is left out.

use super::axis::{Range, Start, Write, draw_start, is_drawable, level_height, level_name};
use super::beside::{AROUND, Beside};
use super::canvas::Canvas;
use super::format::Format;
use super::lettering::{LEADING, wrapped};
use super::line_ends::{self, GAP, LineEnd};
use super::pen::{Colour, Pen, Side, Type};
use super::place::{Place, Rect};
use super::room::Room;
use super::svg::ChartError;

/// One unit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Unit {
    /// Its name.
    pub name: String,
    /// How many cases.
    pub denominator: f64,
    /// The figure.
    pub value: f64,
    /// The limit it lies beyond, in a word or two: `above 99.8 %`.
    pub signal: Option<String>,
}

/// The limits at one denominator.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Limits {
    /// How many cases.
    pub denominator: f64,
    /// Lower and upper 95 % limit.
    pub inner: (f64, f64),
    /// Lower and upper 99.8 % limit.
    pub outer: (f64, f64),
}

/// What to draw.
#[derive(Clone, Debug)]
pub struct Funnel<'a> {
    /// Unique on the page.
    pub id: &'a str,
    /// The finding, for screen readers.
    pub title: &'a str,
    /// What is drawn, for screen readers.
    pub description: &'a str,
    /// The units, in any order.
    pub units: &'a [Unit],
    /// The limits, by growing denominator.
    pub limits: &'a [Limits],
    /// The figure of all units together.
    pub centre: Option<f64>,
    /// At the end of its line: `network 6 %`; may be empty.
    pub centre_label: &'a str,
    /// How wide.
    pub format: Format,
    /// Where the upright axis starts.
    pub start: Start,
    /// How a value is written.
    pub write: Write,
    /// Name of the level axis: `referrals`.
    pub of: &'a str,
}

const RADIUS: f64 = 5.0;
/// Most of the picture's width for a name.
const MOST_NAME: f64 = 0.26;

impl Funnel<'_> {
    /// The chart as an SVG element.
    ///
    /// # Errors
    /// When the picture cannot be made, which would be a fault of the program.
    pub fn svg(&self) -> Result<String, ChartError> {
        let (width, size) = (self.format.width(), self.format.type_size());
        let up = Range::of(self.values(), self.start, self.write);
        let denominators = self.units().map(|unit| unit.denominator);
        let along = Range::of(
            denominators.chain(self.limits().map(|l| l.denominator)),
            Start::Zero,
            whole,
        );
        let quiet = Type::new(size, Colour::Quiet);
        let end_width = width * 0.22;
        let labels = [self.centre_label, INNER, OUTER].map(|l| line_ends::label_width(l, end_width, quiet));
        let note = if up.from > 0.0 { size * LEADING } else { 0.0 };
        let top = (note + size * 0.6).round();
        let plot = Rect {
            left: up.label_width(size, self.write) + 10.0,
            top,
            right: width - GAP - labels.into_iter().fold(0.0, f64::max),
            bottom: (top + size * 15.0).round(),
        };
        let (x, y) = (along.laid(plot.left, plot.right), up.laid(plot.bottom, plot.top));
        let name = level_name(self.of, along, whole, size, plot.right);
        let at = |denominator: f64, value: f64| (x.at(denominator), y.at(value));
        let (names, unplaced) = self.names(&plot, at);
        let also = wrapped(&unplaced, size, width, usize::MAX);
        let axis_foot = plot.bottom + level_height(size, &name);
        let also_height = size * LEADING * also.len() as f64;
        let mut canvas = Canvas::new(width, axis_foot + also_height);

        let inner: Vec<_> = self.limits().map(|l| (l.denominator, l.inner)).collect();
        let outer: Vec<_> = self.limits().map(|l| (l.denominator, l.outer)).collect();
        canvas.area(outline(&outer, at), Colour::Pale, 0.5);
        canvas.area(outline(&inner, at), Colour::Pale, 1.0);
        y.draw_upright(&mut canvas, &plot, size, self.write);
        x.draw_level(&mut canvas, &plot, size, whole, &name);
        if up.from > 0.0 {
            draw_start(&mut canvas, up, self.write, size, 0.0);
        }
        let mut ends = Vec::new();
        if let Some(centre) = self.centre.filter(|centre| is_drawable(*centre)) {
            let end = (plot.right, y.at(centre));
            canvas.line(vec![(plot.left, end.1), end], Pen::new(Colour::Quiet, 1));
            ends.push(LineEnd::new(end, self.centre_label, end_width, quiet));
        }
        if let Some(last) = self.limits().last() {
            let inner = at(last.denominator, last.inner.1);
            let outer = at(last.denominator, last.outer.1);
            ends.push(LineEnd::new(inner, INNER, end_width, quiet));
            ends.push(LineEnd::new(outer, OUTER, end_width, quiet));
        }
        line_ends::draw(&mut canvas, plot.right + GAP, (0.0, plot.bottom), ends);
        for name in &names {
            name.draw_hairline(&mut canvas);
        }
        for unit in self.units() {
            let place = at(unit.denominator, unit.value);
            canvas.point(place, RADIUS, unit.signal.is_some(), false);
        }
        for name in &names {
            name.draw(&mut canvas, size);
        }
        let middle = (0.0, axis_foot + also_height / 2.0 - size * 0.1);
        canvas.lines(&also, middle, Side::RightOf, Type::new(size, Colour::Ink));
        if self.units().next().is_none() {
            canvas.text("no data", plot.middle(), Side::On, Type::new(size, Colour::Ink));
        }
        canvas.finished(self.id, self.title, self.description)
    }

    /// Names beside their dots, signals and lone dots first; then the names for which there
    /// was no room.
    fn names(&self, plot: &Rect, at: impl Fn(f64, f64) -> Place) -> (Vec<Beside>, String) {
        let size = self.format.type_size();
        let mut room = Room::new(*plot);
        if let Some(centre) = self.centre {
            let y = at(0.0, centre).1;
            room.take(Rect::around(((plot.left + plot.right) / 2.0, y), plot.width(), 2.0));
        }
        let mut units: Vec<&Unit> = self.units().collect();
        for unit in &units {
            let dot = at(unit.denominator, unit.value);
            room.take(Rect::around(dot, RADIUS * 3.4, RADIUS * 3.4));
        }
        let alone = |unit: &Unit| {
            let (x, y) = at(unit.denominator, unit.value);
            let others = self.units().map(|other| at(other.denominator, other.value));
            let away = others.map(|other| (other.0 - x).hypot(other.1 - y));
            away.filter(|away| *away > 0.0).fold(f64::INFINITY, f64::min)
        };
        units.sort_by(|a, b| {
            let first = a.signal.is_none().cmp(&b.signal.is_none());
            first.then(alone(b).total_cmp(&alone(a)))
        });
        let (mut names, mut unplaced) = (Vec::new(), Vec::new());
        for unit in units {
            let label = match &unit.signal {
                Some(word) => format!("{}, {word}", unit.name),
                None => unit.name.clone(),
            };
            let dot = at(unit.denominator, unit.value);
            let lines = wrapped(&label, size, self.format.width() * MOST_NAME, 5);
            match Beside::placed(&mut room, dot, RADIUS, lines, size, &AROUND) {
                Some(name) => names.push(name),
                None => unplaced.push(format!("{label} ({})", (self.write)(unit.value))),
            }
        }
        if unplaced.is_empty() {
            return (names, String::new());
        }
        (names, format!("Without a name above: {}", unplaced.join("; ")))
    }

    fn units(&self) -> impl Iterator<Item = &Unit> {
        self.units
            .iter()
            .filter(|unit| is_drawable(unit.denominator) && is_drawable(unit.value))
    }

    fn limits(&self) -> impl Iterator<Item = &Limits> {
        self.limits.iter().filter(|limits| {
            let (inner, outer) = (limits.inner, limits.outer);
            [limits.denominator, inner.0, inner.1, outer.0, outer.1]
                .into_iter()
                .all(is_drawable)
        })
    }

    /// All that the upright axis must cover: limits only from the smallest unit on, as they
    /// widen without end towards zero.
    fn values(&self) -> impl Iterator<Item = f64> {
        let smallest = self.units().map(|u| u.denominator).fold(f64::INFINITY, f64::min);
        let near = self.limits().filter(move |limits| limits.denominator >= smallest);
        let limits = near.flat_map(|limits| [limits.outer.0, limits.outer.1]);
        self.units().map(|u| u.value).chain(limits).chain(self.centre)
    }
}

const INNER: &str = "95 %";
const OUTER: &str = "99.8 %";

/// Upper limits from left to right, lower ones back.
fn outline(limits: &[(f64, (f64, f64))], at: impl Fn(f64, f64) -> Place) -> Vec<Place> {
    let upper = limits.iter().map(|(n, (_, upper))| at(*n, *upper));
    let lower = limits.iter().rev().map(|(n, (lower, _))| at(*n, *lower));
    upper.chain(lower).collect()
}

fn whole(count: f64) -> String {
    format!("{count:.0}")
}
