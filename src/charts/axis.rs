//! What an axis covers, its few round ticks, and how it is drawn.

use super::canvas::Canvas;
use super::lettering::{LEADING, width_of, wrapped};
use super::pen::{Colour, Pen, Side, Type};
use super::place::Rect;

/// Where an axis starts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Start {
    /// At zero; below it only when a value is.
    #[default]
    Zero,
    /// Near the smallest value when all lie far from zero, as shares near 100 % do, and the
    /// chart says so; else at zero.
    Data,
}

/// How a value is written at an axis.
pub type Write = fn(f64) -> String;

/// More steps than this are not few.
const MOST_STEPS: f64 = 4.0;
/// Beyond this a value is no figure of anything that is drawn here.
const ABSURD: f64 = 1e15;

/// Whether a number can be drawn.
pub(super) fn is_drawable(value: f64) -> bool {
    value.abs() < ABSURD
}

/// Drawable values of an optional interval.
pub(super) fn both_drawable(interval: Option<(f64, f64)>) -> Option<(f64, f64)> {
    interval.filter(|(lower, upper)| is_drawable(*lower) && is_drawable(*upper))
}

/// What an axis covers, from a multiple of its step to another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Range {
    pub(super) from: f64,
    pub(super) to: f64,
    step: f64,
}

impl Range {
    /// Covers all values with at most four steps whose labels differ; zero to one when there
    /// is no value, or only zero.
    pub(super) fn of(values: impl IntoIterator<Item = f64>, start: Start, write: Write) -> Self {
        let (low, high) = ends(values, start);
        Self::stepped(low, high, write)
    }

    fn stepped(low: f64, high: f64, write: Write) -> Self {
        let magnitude = ((high - low).log10().floor() as i32 - 1).max(-300);
        let mut last = Self {
            from: low,
            to: high,
            step: high - low,
        };
        for step in (magnitude..18).flat_map(|power| [1.0, 2.0, 5.0].map(|n| n * 10f64.powi(power))) {
            // A hair less, so that 0.6 is three steps of 0.2.
            let first = (low / step + 1e-9).floor();
            let after = (high / step - 1e-9).ceil();
            if after - first > MOST_STEPS {
                continue;
            }
            last = Self {
                from: first * step,
                to: after * step,
                step,
            };
            let labels: Vec<String> = last.ticks().iter().map(|tick| write(*tick)).collect();
            if labels.windows(2).all(|pair| pair[0] != pair[1]) {
                break;
            }
        }
        last
    }

    /// Covers all values with at most four steps, from a round value below the smallest, be it
    /// near zero or far from it.
    pub(super) fn near(values: impl IntoIterator<Item = f64>, write: Write) -> Self {
        let drawable = values.into_iter().filter(|value| is_drawable(*value));
        let ends = drawable.fold(None, |ends: Option<(f64, f64)>, value| {
            Some(ends.map_or((value, value), |(low, high)| (low.min(value), high.max(value))))
        });
        match ends {
            // A lone value stands in the middle.
            Some((low, high)) if high - low <= high.abs() * 0.05 => {
                let half = (high.abs() * 0.1).max(0.5);
                let least = if low < 0.0 { low - half } else { (low - half).max(0.0) };
                Self::stepped(least, high + half, write)
            }
            Some((low, high)) => Self::stepped(low, high, write),
            None => Self::stepped(0.0, 1.0, write),
        }
    }

    /// Covers all values and no more, for a drawing without ticks.
    pub(super) fn close_to(values: impl IntoIterator<Item = f64>, start: Start) -> Self {
        let (low, high) = ends(values, start);
        Self::exactly(low, high)
    }

    /// Exactly this, for an axis whose ticks the caller knows.
    pub(super) fn exactly(from: f64, to: f64) -> Self {
        Self {
            from,
            to,
            step: to - from,
        }
    }

    pub(super) fn ticks(&self) -> Vec<f64> {
        let first = (self.from / self.step).round() as i64;
        let last = (self.to / self.step).round() as i64;
        (first..=last).map(|tick| tick as f64 * self.step).collect()
    }

    /// The widest label.
    pub(super) fn label_width(&self, size: f64, write: Write) -> f64 {
        let widths = self.ticks().into_iter().map(|tick| width_of(&write(tick), size));
        widths.fold(0.0, f64::max)
    }

    /// Laid from one place to another.
    pub(super) fn laid(self, at_from: f64, at_to: f64) -> Scale {
        Scale {
            range: self,
            at_from,
            at_to,
        }
    }
}

/// Smallest and largest value, with zero unless the axis may start elsewhere.
fn ends(values: impl IntoIterator<Item = f64>, start: Start) -> (f64, f64) {
    let mut ends: Option<(f64, f64)> = None;
    for value in values.into_iter().filter(|value| is_drawable(*value)) {
        ends = Some(ends.map_or((value, value), |(low, high)| (low.min(value), high.max(value))));
    }
    match ends {
        Some((low, high)) if start == Start::Data && low > high / 2.0 => (low.min(high * 0.95), high),
        Some((low, high)) if low < 0.0 || high > 0.0 => (low.min(0.0), high.max(0.0)),
        _ => (0.0, 1.0),
    }
}

/// A range laid onto the picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Scale {
    pub(super) range: Range,
    at_from: f64,
    at_to: f64,
}

impl Scale {
    /// Where a value lies; at the end of the axis when it lies beyond.
    pub(super) fn at(&self, value: f64) -> f64 {
        let part = (value - self.range.from) / (self.range.to - self.range.from);
        let part = if part.is_finite() { part.clamp(0.0, 1.0) } else { 0.0 };
        self.at_from + part * (self.at_to - self.at_from)
    }

    /// Ticks as pale lines across the plot with labels to its left; zero is a darker line
    /// when the axis goes below it.
    pub(super) fn draw_upright(&self, canvas: &mut Canvas, plot: &Rect, size: f64, write: Write) {
        for tick in self.range.ticks() {
            let y = self.at(tick);
            let is_zero = tick == 0.0 && self.range.from < 0.0;
            let colour = if is_zero { Colour::Quiet } else { Colour::Pale };
            canvas.line(vec![(plot.left, y), (plot.right, y)], Pen::new(colour, 1));
            canvas.text(
                &write(tick),
                (plot.left - 8.0, y),
                Side::LeftOf,
                Type::new(size, Colour::Quiet),
            );
        }
    }

    /// A line along the foot of the plot with ticks and labels below it, and the name of the
    /// axis at the right in rows below. A label that would touch the one before is left out.
    pub(super) fn draw_level(&self, canvas: &mut Canvas, plot: &Rect, size: f64, write: Write, name: &[String]) {
        let ticks: Vec<(f64, String)> = self.range.ticks().into_iter().map(|tick| (tick, write(tick))).collect();
        self.draw_ticks(canvas, plot, size, &ticks, name);
    }

    /// The same with ticks where the caller wants them.
    pub(super) fn draw_ticks(
        &self,
        canvas: &mut Canvas,
        plot: &Rect,
        size: f64,
        ticks: &[(f64, String)],
        name: &[String],
    ) {
        let foot = plot.bottom;
        canvas.line(vec![(plot.left, foot), (plot.right, foot)], Pen::new(Colour::Quiet, 1));
        let kind = Type::new(size, Colour::Quiet);
        let mut taken = f64::NEG_INFINITY;
        for (tick, label) in ticks {
            let x = self.at(*tick);
            let half = width_of(label, size) / 2.0;
            canvas.line(vec![(x, foot), (x, foot + 5.0)], Pen::new(Colour::Quiet, 1));
            if x - half > taken {
                canvas.text(label, (x, below(foot, size)), Side::On, kind);
                taken = x + half + size * 0.3;
            }
        }
        let middle = below(foot, size) + size * LEADING * (name.len() as f64 + 1.0) / 2.0;
        canvas.lines(name, (plot.right, middle), Side::LeftOf, kind);
    }
}

/// The name of a level axis in lines that end at the right of the plot; it says where the
/// axis starts when that is not zero.
pub(super) fn level_name(name: &str, range: Range, write: Write, size: f64, right: f64) -> Vec<String> {
    let from = write(range.from);
    let name = match (name.is_empty(), range.from > 0.0) {
        (_, false) => name.to_owned(),
        (true, true) => format!("axis starts at {from}"),
        (false, true) => format!("{name}; axis starts at {from}"),
    };
    wrapped(&name, size, right, 3)
}

/// What a level axis takes below the foot of the plot, by the lines of its name.
pub(super) fn level_height(size: f64, name: &[String]) -> f64 {
    size * (0.8 + LEADING * (1.0 + name.len() as f64))
}

/// Says above a plot that its upright axis does not start at zero; `top` is that of the row.
pub(super) fn draw_start(canvas: &mut Canvas, range: Range, write: Write, size: f64, top: f64) {
    let text = format!("axis starts at {}, not at zero", write(range.from));
    canvas.text(
        &text,
        (0.0, top + size * 0.6),
        Side::RightOf,
        Type::new(size, Colour::Quiet),
    );
}

/// Height of the first row of labels below the foot of a plot.
pub(super) fn below(foot: f64, size: f64) -> f64 {
    foot + size * 0.6 + 8.0
}
