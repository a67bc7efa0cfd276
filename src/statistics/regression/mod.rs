//! Straight lines and their kin: what a value, a proportion or a rate depends on.

pub mod design;
pub mod generalised;
mod householder;
pub mod least_squares;
pub mod newey_west;
pub mod phases;
mod row;
pub mod segmented;

/// Why there is no fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoFit {
    /// Lengths differ, a number is not finite, or there are more events than trials.
    #[error("the numbers do not belong together: lengths differ, one is not finite, or events exceed trials")]
    Invalid,
    /// As many coefficients as rows, or more.
    #[error("fewer rows with data than coefficients to estimate, and one more")]
    TooFewRows,
    /// A column is a sum of multiples of those before it.
    #[error("a column follows from the others, so their coefficients cannot be told apart")]
    Dependent,
    /// Rows on one side of a column, or of a sum of columns, have no events, or nothing but events:
    /// the ratio is 0 or infinite.
    #[error("on one side of a column nothing happened, or everything did: its ratio is not finite")]
    Separated,
    /// The iteration did not settle.
    #[error("the estimate did not settle")]
    NotConverged,
    /// Too few months with data before or after the change.
    #[error("{before} months with data before the change and {after} after it; {needed} are needed on each side")]
    TooFewMonths {
        /// Months with data before the change.
        before: usize,
        /// Months with data from the change on.
        after: usize,
        /// What is needed on each side.
        needed: usize,
    },
}
