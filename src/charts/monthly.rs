//! One figure over months: a dot per month on a thin line, its interval as a
//! bar, hollow while the month may still change, a gap where there is no data.

use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

use super::{ChartError, INK, MARK, PALE, PAPER, finished};

/// One month.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// Written under the axis.
    pub label: String,
    /// Written below that, quietly: the denominator.
    pub below: String,
    /// The figure; `None` where it is not defined.
    pub value: Option<f64>,
    /// Its interval.
    pub interval: Option<(f64, f64)>,
    /// The month may still change: the dot is hollow.
    pub is_provisional: bool,
    /// Nothing was delivered for the month.
    pub is_no_data: bool,
}

/// What to draw.
#[derive(Clone, Debug)]
pub struct Monthly<'a> {
    /// Unique on the page.
    pub id: &'a str,
    /// The finding, for screen readers.
    pub title: &'a str,
    /// What is drawn, for screen readers.
    pub description: &'a str,
    /// The months, in order.
    pub points: &'a [Point],
    /// Top of the axis; the largest value or interval when `None`.
    pub top: Option<f64>,
    /// How a value is written at the axis.
    pub write: fn(f64) -> String,
    /// The last value as the page writes it.
    pub latest: &'a str,
}

const WIDTH: u32 = 440;
const HEIGHT: u32 = 240;
const LEFT: i32 = 56;
const RIGHT: i32 = 62;
const TOP: i32 = 14;
const BOTTOM: i32 = 58;
/// More labels than this would run into each other.
const MOST_LABELS: usize = 6;

type Area<'a> = DrawingArea<SVGBackend<'a>, Shift>;

impl Monthly<'_> {
    /// The chart as an SVG element. The axis starts at zero.
    ///
    /// # Errors
    /// When the picture cannot be made, which would be a fault of the program.
    pub fn svg(&self) -> Result<String, ChartError> {
        let mut text = String::new();
        {
            let area = SVGBackend::with_string(&mut text, (WIDTH, HEIGHT)).into_drawing_area();
            self.draw(&area).map_err(|e| ChartError(e.to_string()))?;
            area.present().map_err(|e| ChartError(e.to_string()))?;
        }
        Ok(finished(&text, self.id, self.title, self.description))
    }

    fn draw(&self, area: &Area<'_>) -> Result<(), DrawingAreaErrorKind<<SVGBackend<'_> as DrawingBackend>::ErrorType>> {
        let step = tick_step(self.largest());
        let top = step * (self.largest() / step).ceil().max(1.0);
        let y = |value: f64| {
            let height = f64::from(HEIGHT as i32 - TOP - BOTTOM);
            HEIGHT as i32 - BOTTOM - (value / top * height).round() as i32
        };
        let ticks = (top / step).round() as i32;
        for tick in 0..=ticks {
            let value = f64::from(tick) * step;
            let line = vec![(LEFT, y(value)), (WIDTH as i32 - RIGHT, y(value))];
            area.draw(&PathElement::new(line, PALE.stroke_width(1)))?;
            area.draw(&Text::new(
                (self.write)(value),
                (LEFT - 8, y(value)),
                label(INK, HPos::Right),
            ))?;
        }
        let every = self.points.len().div_ceil(MOST_LABELS).max(1);
        for (i, point) in self.points.iter().enumerate() {
            // Counted from the last month, which always has its label.
            if (self.points.len() - 1 - i).is_multiple_of(every) {
                let under = |text: &str, from_foot: i32| {
                    let place = (self.x(i), HEIGHT as i32 - from_foot);
                    Text::new(text.to_owned(), place, label(INK, HPos::Center))
                };
                area.draw(&under(&point.label, 36))?;
                area.draw(&under(&point.below, 14))?;
            }
            if point.is_no_data {
                area.draw(&Text::new(
                    "no data",
                    (self.x(i), y(0.0) - 12),
                    label(INK, HPos::Center),
                ))?;
            }
        }
        for run in self.unbroken() {
            let line: Vec<(i32, i32)> = run.iter().map(|(i, value)| (self.x(*i), y(*value))).collect();
            area.draw(&PathElement::new(line, MARK.stroke_width(1)))?;
        }
        for (i, point) in self.points.iter().enumerate() {
            let x = self.x(i);
            if let Some((lower, upper)) = point.interval {
                area.draw(&PathElement::new(
                    vec![(x, y(lower)), (x, y(upper))],
                    MARK.stroke_width(2),
                ))?;
            }
            if let Some(value) = point.value {
                area.draw(&Circle::new((x, y(value)), 6, PAPER.filled()))?;
                let style = if point.is_provisional {
                    MARK.stroke_width(2)
                } else {
                    MARK.filled()
                };
                area.draw(&Circle::new((x, y(value)), 5, style))?;
            }
        }
        if let Some((i, value)) = self.last() {
            let place = (self.x(i) + 14, y(value));
            area.draw(&Text::new(self.latest.to_owned(), place, label(INK, HPos::Left)))?;
        }
        Ok(())
    }

    fn x(&self, i: usize) -> i32 {
        let width = WIDTH as i32 - LEFT - RIGHT;
        let n = self.points.len().max(1) as i32;
        LEFT + width * (2 * i as i32 + 1) / (2 * n)
    }

    fn last(&self) -> Option<(usize, f64)> {
        let last = self.points.iter().enumerate().next_back()?;
        Some((last.0, last.1.value?))
    }

    fn largest(&self) -> f64 {
        let of_points = self.points.iter().flat_map(|p| [p.value, p.interval.map(|i| i.1)]);
        let largest = of_points.flatten().fold(0.0, f64::max);
        self.top.unwrap_or(if largest > 0.0 { largest } else { 1.0 })
    }

    /// Months in a row that have a value: the line breaks where one has none.
    fn unbroken(&self) -> Vec<Vec<(usize, f64)>> {
        let mut runs = vec![Vec::new()];
        for (i, point) in self.points.iter().enumerate() {
            match (point.value, runs.last_mut()) {
                (Some(value), Some(run)) => run.push((i, value)),
                _ => runs.push(Vec::new()),
            }
        }
        runs.retain(|run| run.len() > 1);
        runs
    }
}

/// A round step that gives two to five ticks.
fn tick_step(largest: f64) -> f64 {
    let magnitude = 10f64.powf(largest.log10().floor());
    let steps = [0.2, 0.25, 0.5, 1.0, 2.0];
    let fits = |step: &&f64| largest / (**step * magnitude) <= 5.0;
    steps.iter().find(fits).unwrap_or(&2.0) * magnitude
}

fn label<'a>(colour: RGBColor, side: HPos) -> TextStyle<'a> {
    ("sans-serif", 15)
        .into_font()
        .color(&colour)
        .pos(Pos::new(side, VPos::Center))
}
