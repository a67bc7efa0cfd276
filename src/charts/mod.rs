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
mod format;
pub mod funnel;
pub mod groups;
pub mod incidence;
mod lettering;
mod line_ends;
pub mod monthly;
mod pen;
mod place;
pub mod regression;
mod room;
mod stretches;
pub mod strip;
mod svg;
pub mod timeline;

pub use format::Format;
pub use svg::ChartError;
