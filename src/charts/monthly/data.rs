//! What a chart over months shows: the months, their phases, and the words around them.

use super::super::axis::{Start, Write, both_drawable, is_drawable};
use super::super::format::Format;

/// One month.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Point {
    /// Written under the axis.
    pub label: String,
    /// Written below that, quietly: the denominator.
    pub below: String,
    /// The figure; `None` where it is not defined.
    pub value: Option<f64>,
    /// Its interval.
    pub interval: Option<(f64, f64)>,
    /// What the months before lead one to expect.
    pub centre: Option<f64>,
    /// The range in which a month is expected to lie.
    pub expected: Option<(f64, f64)>,
    /// What was aimed at in this month.
    pub target: Option<f64>,
    /// Why the month stands out, in a word: `above`, `run`.
    pub signal: Option<String>,
    /// The month may still change: the dot is hollow.
    pub is_provisional: bool,
    /// Nothing was delivered for the month: value and interval are not drawn.
    pub is_no_data: bool,
    /// The month has a figure that must not be shown: of all above, only label, denominator
    /// as given, centre and target are drawn.
    pub is_hidden: bool,
}

impl Point {
    pub(super) fn shown_interval(&self) -> Option<(f64, f64)> {
        both_drawable(self.interval).filter(|_| self.gap().is_none())
    }

    /// Left out for a hidden month, whose denominator it would give away.
    pub(super) fn shown_expected(&self) -> Option<(f64, f64)> {
        both_drawable(self.expected).filter(|_| !self.is_hidden)
    }

    pub(super) fn shown_value(&self) -> Option<f64> {
        self.value.filter(|value| is_drawable(*value) && self.gap().is_none())
    }

    /// Why there is a gap, in words.
    pub(super) fn gap(&self) -> Option<&'static str> {
        match (self.is_hidden, self.is_no_data) {
            (true, _) => Some("hidden"),
            (false, true) => Some("no data"),
            (false, false) => None,
        }
    }
}

/// A stretch of months with a band and a centre of its own.
#[derive(Clone, Debug, PartialEq)]
pub struct Phase {
    /// Its first month, counted from zero.
    pub from: usize,
    /// What began: `Oct 2025: double check agreed`.
    pub note: String,
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
    /// Phases after the first; one that begins after the last month is left out.
    pub phases: &'a [Phase],
    /// How wide.
    pub format: Format,
    /// Where the axis starts.
    pub start: Start,
    /// A value the axis must reach; the largest drawn when `None`.
    pub top: Option<f64>,
    /// How a value is written at the axis.
    pub write: Write,
    /// The last value as the page writes it.
    pub latest: &'a str,
    /// At the end of the centre: `usual 5 %`; may be empty.
    pub usual: &'a str,
    /// At the end of the target: `target 95 %`; may be empty.
    pub target: &'a str,
    /// At the end of the row of denominators: `births`; may be empty.
    pub of: &'a str,
}

impl Monthly<'_> {
    pub(super) fn value(&self, i: usize) -> Option<f64> {
        self.points.get(i)?.shown_value()
    }
}
