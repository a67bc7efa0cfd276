//! Stub.
use crate::statistics::Interval;
/// Stub.
pub struct Found {
    /// Stub.
    pub bias: f64,
    /// Stub.
    pub bias_interval: Option<Interval>,
    /// Stub.
    pub lower_limit: Option<f64>,
    /// Stub.
    pub lower_limit_interval: Option<Interval>,
    /// Stub.
    pub upper_limit: Option<f64>,
    /// Stub.
    pub upper_limit_interval: Option<Interval>,
}
/// Stub.
pub fn of_differences(_d: &[f64]) -> Option<Found> { None }
