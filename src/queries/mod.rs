//! The catalogue of SQL files, their headers, and their runner: derived tables,
//! then measures, then figures with intervals.

pub mod cases;
pub mod catalogue;
mod cell;
mod cell_figures;
pub mod clocks;
mod covered;
pub mod derive;
pub mod dictionary;
pub mod explain;
mod figure_kind;
pub mod figure_kinds;
pub mod figure_names;
pub mod figure_tables;
pub mod figures;
pub mod header;
pub mod history;
pub mod measure;
mod measuring;
mod portions;
pub mod quality;
mod query;
pub mod renewed;
pub mod review;
mod run;
pub mod split;
pub mod valued;

pub use covered::{DataEnd, MEASURED_TABLES};
pub use run::{QueryError, Tasks, pour, side_by_side, store};
