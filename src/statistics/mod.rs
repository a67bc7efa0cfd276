//! Pure mathematics: numbers in, numbers out. Knows nothing of jaundice, Arrow or SQL.
//!
//! Each file gives its formula, source and degenerate cases. Intervals are two-sided 95 %
//! ones. A figure that is not defined is `None`, never a number that is not one.

pub mod agreement;
pub mod binomial;
mod centred;
pub mod clustered;
pub mod comparison;
pub mod control;
mod incomplete_beta;
pub mod line;
pub mod means;
pub mod poisson;
pub mod proportion;
pub mod ratio;
pub mod regression;
pub mod student;
pub mod summary;
pub mod survival;

/// An interval: of a proportion, a rate, a time or a difference, in its unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// Lower limit.
    pub lower: f64,
    /// Upper limit.
    pub upper: f64,
}
