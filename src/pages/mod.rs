//! From results to pages: view models, and minijinja templates embedded here.
//! The only code that knows HTML.

mod agreement_view;
mod between_view;
pub mod cases;
pub mod dashboard;
mod figure_view;
mod findings;
pub mod local_time;
pub mod looked_back;
mod numbers;
pub mod records;
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
