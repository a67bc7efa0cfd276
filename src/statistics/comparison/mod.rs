//! Units against each other: a funnel, and rates made comparable across strata.

mod chi_square;
pub mod exact_limits;
pub mod funnel;
pub mod indirect;

/// A chi-square statistic and its p value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChiSquare {
    /// The statistic.
    pub value: f64,
    /// Its degrees of freedom.
    pub degrees: u64,
    /// How often chance alone gives as much or more.
    pub p: f64,
}
