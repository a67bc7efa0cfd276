//! What a timeline shows: tests, thresholds, what lasted, and what was due.

use super::super::format::Format;

/// The shape of a test.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Kind {
    /// A hollow circle.
    #[default]
    Round,
    /// A filled square.
    Square,
    /// A cross at the foot of the plot: tried, without a value.
    Cross,
}

/// Whether the value is only known to lie beyond what is drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Bound {
    /// The value is known.
    #[default]
    None,
    /// It is this or more: an arrow up.
    Above,
    /// It is this or less: an arrow down.
    Below,
}

/// One test.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Test {
    /// When, in hours.
    pub at_h: f64,
    /// The value; without meaning for a cross.
    pub value: f64,
    /// Its shape.
    pub kind: Kind,
    /// Written beside it: `T 262`; may be empty.
    pub label: String,
    /// Whether the value is a bound.
    pub bound: Bound,
    /// It matters more than others: a ring, and its label goes first.
    pub is_marked: bool,
}

/// A threshold.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Curve<'a> {
    /// Hours and values, by growing hours.
    pub points: &'a [(f64, f64)],
    /// Written at its end.
    pub label: &'a str,
    /// Drawn thicker and darker.
    pub is_strong: bool,
}

/// A row of bars below the plot.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Row<'a> {
    /// At the left: `phototherapy`.
    pub name: &'a str,
    /// By growing hours.
    pub bars: &'a [Bar],
}

/// Something that lasted.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Bar {
    /// Its beginning, in hours.
    pub from_h: f64,
    /// Its end; `None` when no end is known: the bar stays open there.
    pub to_h: Option<f64>,
    /// Written in it, or beside it; may be empty.
    pub label: String,
}

/// Something that was due.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Span {
    /// What began it, in hours.
    pub from_h: f64,
    /// When it was due.
    pub due_h: f64,
    /// What ended it: a dot when it was kept, else a hollow one; `None` when nothing did.
    pub ended_h: Option<f64>,
    /// What was due and what became of it, in words.
    pub label: String,
    /// Whether it was kept.
    pub is_kept: bool,
}

/// What to draw.
#[derive(Clone, Debug)]
pub struct Timeline<'a> {
    /// Unique on the page.
    pub id: &'a str,
    /// The finding, for screen readers.
    pub title: &'a str,
    /// What is drawn, for screen readers.
    pub description: &'a str,
    /// Where the axis of hours begins.
    pub from_h: f64,
    /// Where it ends.
    pub to_h: f64,
    /// The name of the axis of hours: `hours of age (days marked)`.
    pub across: &'a str,
    /// The name of the axis of values, with its unit.
    pub up: &'a str,
    /// Tests, by growing hours.
    pub tests: &'a [Test],
    /// Thresholds.
    pub curves: &'a [Curve<'a>],
    /// Bars below the plot, a row for each name.
    pub rows: &'a [Row<'a>],
    /// Obligations, a row each below those.
    pub spans: &'a [Span],
    /// How wide.
    pub format: Format,
}
