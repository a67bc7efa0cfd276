//! From results to pages: view models, and minijinja templates embedded here.
//! The only code that knows HTML.

pub mod about;
mod agreement_view;
mod attention;
mod between_view;
pub mod cases;
pub mod committee;
pub mod compare;
pub mod dashboard;
mod figure_charts;
mod figure_row;
mod figure_view;
mod findings;
mod groups_view;
pub mod index;
pub mod local_time;
pub mod looked_back;
mod network_view;
mod numbers;
pub mod records;
mod rendered;
mod sections;
mod series;
pub mod target;
mod time_view;
mod units_view;
pub mod verdict;
pub mod words;

pub use figure_view::FigureView;

use crate::charts::ChartError;

/// Why a page cannot be made; a fault of the program.
#[derive(Debug, thiserror::Error)]
pub enum PageError {
    /// A template failed.
    #[error("the page could not be made: {0:#}")]
    Template(#[from] minijinja::Error),
    /// A chart failed.
    #[error(transparent)]
    Chart(#[from] ChartError),
}
