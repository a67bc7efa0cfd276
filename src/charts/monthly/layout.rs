//! Where the parts of a chart over months lie.

use super::super::axis::{Range, Scale};
use super::super::lettering::{LEADING, shortened, width_of, wrapped};
use super::super::line_ends::{self, GAP};
use super::super::pen::{Colour, Type};
use super::super::place::{Place, Rect};
use super::data::{Monthly, Point};
use super::labels::{self, Broken};

/// A dot of a month.
pub(super) const RADIUS: f64 = 5.0;
/// Height of the plot, in parts of its type size.
const PLOT_HEIGHT: f64 = 10.2;
/// Most of the picture that labels at line ends may take.
const MOST_RIGHT: f64 = 0.24;

/// From label to label, in parts of their size, of many months and of few.
const APART: f64 = 0.6;
const CLOSE: f64 = 0.35;

/// Where the parts lie. The plot begins near the top and is lowered by the rows above it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Layout {
    /// Type size.
    pub(super) size: f64,
    pub(super) plot: Rect,
    pub(super) scale: Scale,
    /// Every how many months there is a label, and a denominator.
    pub(super) every: usize,
    pub(super) every_below: usize,
    /// How labels are broken, and the most lines of one.
    broken: Broken,
    pub(super) label_lines: usize,
    /// Labels at line ends: where they start, and how wide they may be.
    pub(super) right_left: f64,
    pub(super) right_width: f64,
    /// Where the name of the denominators starts behind them; `None` when it stands below.
    pub(super) of_left: Option<f64>,
    /// By how much the plot was lowered.
    pub(super) lowered: f64,
    months: usize,
}

impl Layout {
    pub(super) fn of(chart: &Monthly<'_>, range: Range) -> Self {
        let size = chart.format.type_size();
        let width = chart.format.width();
        let margin = (size * 0.6).ceil();
        let left = (range.label_width(size, chart.write) + 10.0).max(size * 1.5);

        let most = width * MOST_RIGHT;
        let quiet = Type::new(size, Colour::Quiet);
        let bold = Type::new(size, Colour::Ink).bold();
        let right_width = [(chart.latest, bold), (chart.usual, quiet), (chart.target, quiet)]
            .map(|(label, kind)| line_ends::label_width(label, most, kind))
            .into_iter()
            .fold(0.0, f64::max);
        let foot_width = |text: &String| width_of(text, size).min(most);
        let overhang = chart.points.last().map_or(0.0, |p| foot_width(&p.below)) / 2.0;
        let of_width = overhang + 8.0 + width_of(chart.of, size);
        let is_of_behind = of_width <= most;
        let of_width = if is_of_behind { of_width } else { overhang };
        let right = width - (GAP + right_width).max(of_width).max(size);

        let plot = Rect {
            left,
            top: margin,
            right,
            bottom: (margin + size * PLOT_HEIGHT).round(),
        };
        let months = chart.points.len().max(1);
        let pitch = plot.width() / months as f64;
        let every = |widest: f64, apart: f64| (((widest + size * apart) / pitch).ceil() as usize).max(1);
        let label_width = |broken: Broken| {
            let lines = chart.points.iter().flat_map(|p| broken.lines(&p.label));
            lines.map(|line| foot_width(&line)).fold(0.0, f64::max)
        };
        let below_width = chart.points.iter().map(|p| foot_width(&p.below)).fold(0.0, f64::max);
        // Many months keep label and denominator together; few have each where it fits.
        let is_few = labels::are_few(chart.points.len());
        let broken = if is_few {
            Broken::for_most(|broken| every(label_width(broken), CLOSE))
        } else {
            Broken::Nowhere
        };
        let (every, every_below) = if is_few {
            (every(label_width(broken), CLOSE), every(below_width, CLOSE))
        } else {
            let both = every(label_width(broken).max(below_width), APART);
            (both, both)
        };
        let lines = chart.points.iter().map(|p| broken.lines(&p.label).len());
        Self {
            size,
            plot,
            scale: range.laid(plot.bottom, plot.top),
            every,
            every_below,
            broken,
            label_lines: lines.max().unwrap_or(1).max(1),
            right_left: right + GAP,
            right_width,
            of_left: is_of_behind.then_some(right + overhang + 8.0),
            lowered: 0.0,
            months,
        }
    }

    /// Makes room for rows above the plot.
    pub(super) fn lower(&mut self, by: f64) {
        let by = by.ceil();
        self.plot = self.plot.lowered(by);
        self.lowered += by;
        self.scale = self.scale.range.laid(self.plot.bottom, self.plot.top);
    }

    /// From one line of text to the next.
    pub(super) fn leading(&self) -> f64 {
        self.size * LEADING
    }

    /// Of the whole picture, with the rows of months and denominators.
    pub(super) fn height(&self, chart: &Monthly<'_>) -> f64 {
        let rows = 1.0 + self.label_lines as f64;
        let rows = match self.of_left {
            Some(_) => rows,
            None => rows + self.of_lines(chart).len() as f64,
        };
        self.plot.bottom + self.size * (0.8 + LEADING * rows)
    }

    /// The name of the denominators when it stands below them.
    pub(super) fn of_lines(&self, chart: &Monthly<'_>) -> Vec<String> {
        wrapped(chart.of, self.size, chart.format.width() - self.plot.left, 2)
    }

    /// A label under the axis, no longer than there is room for.
    pub(super) fn fitting(&self, label: &str) -> String {
        shortened(label, self.size, (self.right_left + self.right_width) * MOST_RIGHT)
    }

    /// The label of a month in lines.
    pub(super) fn label_of(&self, point: &Point) -> Vec<String> {
        let lines = self.broken.lines(&point.label);
        lines.iter().map(|line| self.fitting(line)).collect()
    }

    fn pitch(&self) -> f64 {
        self.plot.width() / self.months as f64
    }

    /// Where a month begins.
    pub(super) fn start_of(&self, month: usize) -> f64 {
        self.plot.left + self.pitch() * month as f64
    }

    pub(super) fn middle_of(&self, month: usize) -> f64 {
        self.start_of(month) + self.pitch() / 2.0
    }

    pub(super) fn place(&self, month: usize, value: f64) -> Place {
        (self.middle_of(month), self.scale.at(value))
    }
}
