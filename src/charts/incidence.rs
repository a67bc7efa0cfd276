//! The share to whom something has happened, by the hours since: a curve of steps with a
//! band for its interval, and the number written at the hours that matter.
//!
//! A second curve, of another way of counting, is fainter, and labelled at its end like the
//! first. Steps must come in order of time; before the first the share is zero.
//!
//! Degenerate cases: no steps are a curve at zero; a step beyond the end of the axis is left
//! out; an hour without a number is only a tick.

use super::axis::{Range, Start, Write, both_drawable, is_drawable, level_height};
use super::beside::{BELOW_RIGHT, Beside};
use super::canvas::Canvas;
use super::format::Format;
use super::lettering::wrapped;
use super::line_ends::{self, GAP, LineEnd};
use super::pen::{Colour, Pen, Type};
use super::place::{Place, Rect};
use super::room::Room;
use super::svg::ChartError;

/// The share from an hour on.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Step {
    /// Since when.
    pub hours: f64,
    /// The share.
    pub share: f64,
    /// Its interval.
    pub interval: Option<(f64, f64)>,
}

/// A curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Curve<'a> {
    /// By growing time.
    pub steps: &'a [Step],
    /// Written at its end.
    pub label: &'a str,
}

/// An hour that matters.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// When.
    pub hours: f64,
    /// The number written there: `62 %`; may be empty.
    pub text: String,
}

/// What to draw.
#[derive(Clone, Debug)]
pub struct Incidence<'a> {
    /// Unique on the page.
    pub id: &'a str,
    /// The finding, for screen readers.
    pub title: &'a str,
    /// What is drawn, for screen readers.
    pub description: &'a str,
    /// The curve.
    pub curve: Curve<'a>,
    /// Another way of counting.
    pub other: Option<Curve<'a>>,
    /// Hours that matter; ticks of the axis, with zero.
    pub marks: &'a [Mark],
    /// Where the axis ends, in hours.
    pub to_hours: f64,
    /// How wide.
    pub format: Format,
    /// How a share is written at the axis.
    pub write: Write,
    /// Name of the level axis: `hours since admission`.
    pub since: &'a str,
}

/// Most of the picture's width for labels at line ends.
const MOST_RIGHT: f64 = 0.25;
const RADIUS: f64 = 4.0;

impl Incidence<'_> {
    /// The chart as an SVG element.
    ///
    /// # Errors
    /// When the picture cannot be made, which would be a fault of the program.
    pub fn svg(&self) -> Result<String, ChartError> {
        let (width, size) = (self.format.width(), self.format.type_size());
        let end = if is_drawable(self.to_hours) && self.to_hours > 0.0 {
            self.to_hours
        } else {
            1.0
        };
        let steps = before(self.curve.steps, end);
        let others = self.other.map_or(Vec::new(), |other| before(other.steps, end));
        let shares = steps.iter().chain(&others).flat_map(|step| {
            let upper = both_drawable(step.interval).map(|interval| interval.1);
            [Some(step.share), upper]
        });
        let up = Range::of(shares.flatten(), Start::Zero, self.write);
        let end_width = width * MOST_RIGHT;
        let (ink, quiet) = (Type::new(size, Colour::Ink), Type::new(size, Colour::Quiet));
        let labels = [Some(self.curve.label), self.other.map(|other| other.label)];
        let right_width = labels
            .into_iter()
            .flatten()
            .map(|label| line_ends::label_width(label, end_width, ink))
            .fold(size, f64::max);
        let plot = Rect {
            left: up.label_width(size, self.write) + 10.0,
            top: (size * 0.6).round(),
            right: width - GAP - right_width,
            bottom: (size * 14.6).round(),
        };
        let along = Range::exactly(0.0, end);
        let (x, y) = (along.laid(plot.left, plot.right), up.laid(plot.bottom, plot.top));
        let at = |hours: f64, share: f64| (x.at(hours), y.at(share));
        let (line, marks) = (staircase(&steps, end, at), self.marks(end, &steps));
        let other = self.other.map(|other| (staircase(&others, end, at), other.label));
        let mut room = Room::new(plot);
        room.take_line(&line);
        if let Some((line, _)) = &other {
            room.take_line(line);
        }
        for (mark, share) in &marks {
            room.take(Rect::around(at(mark.hours, *share), RADIUS * 3.0, RADIUS * 3.0));
        }
        let mut since = self.since.to_owned();
        let mut numbers = Vec::new();
        for (mark, share) in &marks {
            let lines = vec![mark.text.clone()];
            match Beside::placed(&mut room, at(mark.hours, *share), RADIUS, lines, size, &BELOW_RIGHT) {
                Some(number) => numbers.push(number),
                None => since = format!("{since}; {} h: {}", mark.hours, mark.text),
            }
        }
        let since = wrapped(&since, size, plot.right, usize::MAX);
        let mut canvas = Canvas::new(width, plot.bottom + level_height(size, &since));

        canvas.area(band(&steps, end, at), Colour::Pale, 1.0);
        y.draw_upright(&mut canvas, &plot, size, self.write);
        x.draw_ticks(&mut canvas, &plot, size, &self.ticks(end), &since);
        let label =
            |line: &[Place], label: &str, kind: Type| line.last().map(|end| LineEnd::new(*end, label, end_width, kind));
        let mut ends = Vec::new();
        if let Some((line, other_label)) = other {
            ends.extend(label(&line, other_label, quiet));
            canvas.line(line, Pen::new(Colour::Quiet, 1).fainter(0.7));
        }
        for (mark, share) in &marks {
            let foot = vec![at(mark.hours, 0.0), at(mark.hours, *share)];
            canvas.line(foot, Pen::new(Colour::Quiet, 1).fainter(0.4));
        }
        ends.extend(label(&line, self.curve.label, ink));
        canvas.line(line, Pen::new(Colour::Mark, 2));
        for number in &numbers {
            number.draw_hairline(&mut canvas);
        }
        for (mark, share) in &marks {
            canvas.point(at(mark.hours, *share), RADIUS, false, false);
        }
        for number in &numbers {
            number.draw(&mut canvas, size);
        }
        line_ends::draw(&mut canvas, plot.right + GAP, (0.0, plot.bottom), ends);
        canvas.finished(self.id, self.title, self.description)
    }

    /// Zero, the hours that matter, and the end.
    fn ticks(&self, end: f64) -> Vec<(f64, String)> {
        let mut hours: Vec<f64> = self.marks.iter().map(|mark| mark.hours).collect();
        hours.extend([0.0, end]);
        hours.retain(|hour| (0.0..=end).contains(hour));
        hours.sort_by(f64::total_cmp);
        hours.dedup();
        hours.into_iter().map(|hour| (hour, hour.to_string())).collect()
    }

    /// Hours that have a number, with the share by then.
    fn marks(&self, end: f64, steps: &[Step]) -> Vec<(&Mark, f64)> {
        let labelled = self.marks.iter().filter(|mark| !mark.text.is_empty());
        labelled
            .filter(|mark| (0.0..=end).contains(&mark.hours))
            .map(|mark| {
                let by_then = steps.iter().rev().find(|step| step.hours <= mark.hours);
                (mark, by_then.map_or(0.0, |step| step.share))
            })
            .collect()
    }
}

fn before(steps: &[Step], end: f64) -> Vec<Step> {
    let drawable = |step: &&Step| (0.0..=end).contains(&step.hours) && is_drawable(step.share);
    steps.iter().filter(drawable).copied().collect()
}

/// From zero at the start to the end of the axis.
fn staircase(steps: &[Step], end: f64, at: impl Fn(f64, f64) -> Place) -> Vec<Place> {
    let mut line = vec![at(0.0, 0.0)];
    let mut share = 0.0;
    for step in steps {
        line.extend([at(step.hours, share), at(step.hours, step.share)]);
        share = step.share;
    }
    line.push(at(end, share));
    line.dedup_by(|a, b| same_pixel(*a, *b));
    line
}

/// Upper limits from left to right, lower ones back; where a step has no interval the band
/// is as thin as the curve.
fn band(steps: &[Step], end: f64, at: impl Fn(f64, f64) -> Place) -> Vec<Place> {
    let ends: Vec<(f64, f64, f64)> = steps
        .iter()
        .map(|step| {
            let (lower, upper) = both_drawable(step.interval).unwrap_or((step.share, step.share));
            (step.hours, lower, upper)
        })
        .collect();
    let with = |pick: fn(&(f64, f64, f64)) -> f64| {
        let steps: Vec<Step> = ends
            .iter()
            .map(|e| Step {
                hours: e.0,
                share: pick(e),
                interval: None,
            })
            .collect();
        staircase(&steps, end, &at)
    };
    let mut outline = with(|e| e.2);
    let mut lower = with(|e| e.1);
    lower.reverse();
    outline.extend(lower);
    outline
}

fn same_pixel(a: Place, b: Place) -> bool {
    a.0.round() == b.0.round() && a.1.round() == b.1.round()
}
