//! The catalogue of SQL files, their headers, and their runner: derived tables,
//! then measures, then figures with intervals.

pub mod catalogue;
pub mod derive;
pub mod dictionary;
pub mod figure_tables;
pub mod figures;
pub mod header;
pub mod history;
pub mod measure;
pub mod quality;
mod run;

pub use run::{QueryError, Tasks, pour, side_by_side, store};
