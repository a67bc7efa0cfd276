//! Pure drawing: numbers in, SVG out. Knows nothing of jaundice, files or SQL.
//!
//! Colours are named, not fixed: `var(--ink)`, `var(--mark)`, `var(--quiet)`, `var(--pale)`
//! and `var(--paper)` come from the page, so a chart follows its theme and print. The data
//! is darkest, its uncertainty lighter, what it is compared with lightest. What matters has
//! a shape and a word, never a colour alone. Every chart carries a title and a description
//! for screen readers; a number that cannot be drawn (not a number, infinite) is left out.

pub mod axis;
mod beside;
mod canvas;
pub mod difference;
pub mod funnel;
pub mod groups;
pub mod incidence;
mod lettering;
mod line_ends;
pub mod monthly;
mod pen;
pub mod regression;
mod room;
mod stretches;
pub mod strip;
mod svg;
pub mod timeline;

/// The drawing could not be made; only when a size makes no sense.
#[derive(Debug, thiserror::Error)]
#[error("a chart could not be drawn: {0}")]
pub struct ChartError(pub String);

/// How wide a chart is drawn. It scales with its column; the format decides how large its
/// text is beside the drawing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Format {
    /// 720 units, for a column of 500 to 800 pixels; readable down to 360.
    #[default]
    Wide,
    /// 440 units, for half a column or a telephone.
    Narrow,
}

impl Format {
    fn width(self) -> f64 {
        match self {
            Self::Wide => 720.0,
            Self::Narrow => 440.0,
        }
    }

    fn type_size(self) -> f64 {
        match self {
            Self::Wide => 18.0,
            Self::Narrow => 15.0,
        }
    }
}

/// Drawable values of an optional interval.
fn both_drawable(interval: Option<(f64, f64)>) -> Option<(f64, f64)> {
    interval.filter(|(lower, upper)| axis::is_drawable(*lower) && axis::is_drawable(*upper))
}
