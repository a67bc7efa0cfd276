//! Least squares: a value as a sum of columns times coefficients.
//!
//! With y = X·b + e, coefficients b that make Σe² smallest, s² = Σe² / (n-p) and the covariance
//! s²·(X'X)^-1, by Householder's reflections. Sources: Draper NR, Smith H, Applied Regression
//! Analysis; compared with the certified values of NIST's reference datasets.
//!
//! Degenerate cases: columns that depend on each other, no more rows than columns, or numbers that
//! are not finite give no fit. A perfect fit has errors of 0 or nearly so.

use super::NoFit;
use super::design::Design;
use super::householder::Householder;

/// A fit by least squares.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// One a column.
    pub coefficients: Vec<f64>,
    /// (X'X)^-1, by rows: the covariance of the coefficients over the residual variance.
    pub unscaled_covariance: Vec<Vec<f64>>,
    /// Standard deviation of residuals.
    pub residual_sd: f64,
    /// Degrees of freedom left.
    pub degrees: usize,
    /// Value less fitted, one a row.
    pub residuals: Vec<f64>,
}

impl Fit {
    /// The standard error of a coefficient; `None` where there is no such column.
    pub fn error(&self, column: usize) -> Option<f64> {
        let variance = self.unscaled_covariance.get(column)?.get(column)?;
        Some(self.residual_sd * variance.sqrt())
    }
}

/// The least-squares fit of `values`, one a row.
///
/// # Errors
/// See the degenerate cases above.
///
/// ```
/// use siskin::statistics::regression::{design::Design, least_squares::fit};
/// let design = Design::of(vec![vec![1.0; 4], vec![0.0, 1.0, 2.0, 3.0]]).unwrap();
/// let line = fit(&design, &[1.0, 3.0, 4.0, 8.0]).unwrap();
/// assert!((line.coefficients[0] - 0.7).abs() < 1e-12);
/// assert!((line.coefficients[1] - 2.2).abs() < 1e-12);
/// assert_eq!(line.degrees, 2);
/// ```
pub fn fit(design: &Design, values: &[f64]) -> Result<Fit, NoFit> {
    if values.len() != design.rows() || !values.iter().all(|v| v.is_finite()) {
        return Err(NoFit::Invalid);
    }
    let degrees = values.len().checked_sub(design.columns().len());
    let degrees = degrees.filter(|degrees| *degrees > 0).ok_or(NoFit::TooFewRows)?;

    let factored = Householder::of(design.columns().to_vec()).ok_or(NoFit::Dependent)?;
    let mut coefficients = factored.solve(values);
    let left = |coefficients: &[f64]| {
        let fitted = design.predict(coefficients);
        values.iter().zip(fitted).map(|(v, f)| v - f).collect::<Vec<f64>>()
    };
    // What rounding left behind is fitted once more.
    let correction = factored.solve(&left(&coefficients));
    for (coefficient, more) in coefficients.iter_mut().zip(correction) {
        *coefficient += more;
    }
    let residuals = left(&coefficients);
    let squares = residuals.iter().map(|e| e * e).sum::<f64>();
    let found = Fit {
        unscaled_covariance: factored.inverse_square(),
        residual_sd: (squares / degrees as f64).sqrt(),
        degrees,
        residuals,
        coefficients,
    };
    let are_finite = |values: &[f64]| values.iter().all(|v| v.is_finite());
    let is_finite = are_finite(&found.coefficients)
        && found.residual_sd.is_finite()
        && found.unscaled_covariance.iter().all(|row| are_finite(row));
    is_finite.then_some(found).ok_or(NoFit::Invalid)
}
