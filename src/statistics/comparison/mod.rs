//! Units against each other: a funnel, and rates made comparable across strata.

mod chi_square;
pub mod exact_limits;
pub mod funnel;
pub mod indirect;
