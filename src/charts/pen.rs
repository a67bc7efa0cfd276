//! The colours of the page, and how lines and texts are drawn.

/// A colour of the page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Colour {
    /// What is most important, and its text.
    Ink,
    /// The data's own hue.
    Mark,
    /// Axes, denominators and lines that are only there for reference.
    Quiet,
    /// Areas that are only there for reference.
    Pale,
    /// The background.
    Paper,
}

/// Names on the page, and the numbers they are drawn as.
pub(super) const COLOURS: [(Colour, &str, u8); 5] = [
    (Colour::Ink, "ink", 1),
    (Colour::Mark, "mark", 2),
    (Colour::Quiet, "quiet", 3),
    (Colour::Pale, "pale", 4),
    (Colour::Paper, "paper", 5),
];
/// How a line is drawn.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pen {
    pub(super) colour: Colour,
    pub(super) width: u32,
    pub(super) is_dashed: bool,
    pub(super) opacity: f64,
}

impl Pen {
    pub(super) fn new(colour: Colour, width: u32) -> Self {
        Self {
            colour,
            width,
            is_dashed: false,
            opacity: 1.0,
        }
    }

    pub(super) fn dashed(self) -> Self {
        Self {
            is_dashed: true,
            ..self
        }
    }

    pub(super) fn fainter(self, opacity: f64) -> Self {
        Self { opacity, ..self }
    }
}

/// Where a text stands from its place, halfway up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    RightOf,
    LeftOf,
    On,
}

/// How a text is set.
#[derive(Clone, Copy, Debug)]
pub(super) struct Type {
    pub(super) size: f64,
    pub(super) colour: Colour,
    pub(super) is_bold: bool,
    /// Read from below.
    pub(super) is_turned: bool,
}

impl Type {
    pub(super) fn new(size: f64, colour: Colour) -> Self {
        Self {
            size,
            colour,
            is_bold: false,
            is_turned: false,
        }
    }

    pub(super) fn bold(self) -> Self {
        Self { is_bold: true, ..self }
    }

    pub(super) fn turned(self) -> Self {
        Self {
            is_turned: true,
            ..self
        }
    }
}
