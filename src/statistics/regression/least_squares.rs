//! Least squares: a value as a sum of columns times coefficients.
//!
//! With y = X·b + e, coefficients b that make Σw·e² smallest, s² = Σw·e² / (n-p) and the covariance
//! s²·(X'WX)^-1, by Householder's reflections.
//! R² = 1 - Σw·e² / Σw(y - mean)². Sources: Draper NR, Smith H, Applied Regression Analysis;
//! compared with the certified values of NIST's reference datasets.
//!
//! Weights are inverse variances up to a factor. Degenerate cases: columns that depend on each
//! other, no more rows of weight than columns, weights below 0 or numbers that are not finite give
//! no fit. A row of weight 0 is in no sum, but has a fitted value. R² is `None` without an
//! intercept or where all values are the same. A perfect fit has errors of 0 or nearly so.

use super::NoFit;
use super::design::Design;
use super::householder::Householder;

/// A fit by least squares.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// One a column.
    pub coefficients: Vec<f64>,
    /// (X'WX)^-1, by rows: the covariance of the coefficients over the residual variance.
    pub unscaled_covariance: Vec<Vec<f64>>,
    /// Standard deviation of residuals (of weight 1).
    pub residual_sd: f64,
    /// Degrees of freedom left.
    pub degrees: usize,
    /// Share of the variance that the columns explain.
    pub r_squared: Option<f64>,
    /// What the fit gives for each row.
    pub fitted: Vec<f64>,
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

/// The least-squares fit of `values`, one a row, with equal weights unless some are given.
///
/// # Errors
/// See the degenerate cases above.
///
/// ```
/// use siskin::statistics::regression::{design::Design, least_squares::fit};
/// let design = Design::of(vec![vec![1.0; 4], vec![0.0, 1.0, 2.0, 3.0]]).unwrap();
/// let line = fit(&design, &[1.0, 3.0, 4.0, 8.0], None).unwrap();
/// assert!((line.coefficients[0] - 0.7).abs() < 1e-12);
/// assert!((line.coefficients[1] - 2.2).abs() < 1e-12);
/// assert_eq!(line.degrees, 2);
/// ```
pub fn fit(design: &Design, values: &[f64], weights: Option<&[f64]>) -> Result<Fit, NoFit> {
    let weights = weights.map_or_else(|| vec![1.0; values.len()], <[f64]>::to_vec);
    let is_valid = |v: &f64| v.is_finite();
    let is_weight = |w: &f64| w.is_finite() && *w >= 0.0;
    let have_rows = values.len() == design.rows() && weights.len() == design.rows();
    if !have_rows || !values.iter().all(is_valid) || !weights.iter().all(is_weight) {
        return Err(NoFit::Invalid);
    }
    let width = design.columns().len();
    let with_weight = weights.iter().filter(|w| **w > 0.0).count();
    let degrees = with_weight.checked_sub(width).filter(|degrees| *degrees > 0);
    let degrees = degrees.ok_or(NoFit::TooFewRows)?;

    let roots: Vec<f64> = weights.iter().map(|w| w.sqrt()).collect();
    let times_roots = |values: &[f64]| values.iter().zip(&roots).map(|(v, root)| v * root).collect::<Vec<_>>();
    let factored = Householder::of(design.scaled(&roots)).ok_or(NoFit::Dependent)?;
    let mut coefficients = factored.solve(&times_roots(values));
    let left = |coefficients: &[f64]| {
        let fitted = design.predict(coefficients);
        values.iter().zip(fitted).map(|(v, f)| v - f).collect::<Vec<f64>>()
    };
    // What rounding left behind is fitted once more.
    let correction = factored.solve(&times_roots(&left(&coefficients)));
    for (coefficient, more) in coefficients.iter_mut().zip(correction) {
        *coefficient += more;
    }
    let residuals = left(&coefficients);
    let squares = |values: &[f64]| values.iter().zip(&weights).map(|(v, w)| w * v * v).sum::<f64>();
    let residual_sd = (squares(&residuals) / degrees as f64).sqrt();

    let mean = values.iter().zip(&weights).map(|(v, w)| v * w).sum::<f64>() / weights.iter().sum::<f64>();
    let total = squares(&values.iter().map(|v| v - mean).collect::<Vec<_>>());
    let explained = 1.0 - squares(&residuals) / total;
    let is_known = design.has_intercept() && explained.is_finite();
    let found = Fit {
        unscaled_covariance: factored.inverse_square(),
        residual_sd,
        degrees,
        r_squared: is_known.then(|| explained.clamp(0.0, 1.0)),
        fitted: design.predict(&coefficients),
        residuals,
        coefficients,
    };
    let are_finite = |values: &[f64]| values.iter().all(|v| v.is_finite());
    let is_finite = are_finite(&found.coefficients)
        && found.residual_sd.is_finite()
        && found.unscaled_covariance.iter().all(|row| are_finite(row));
    is_finite.then_some(found).ok_or(NoFit::Invalid)
}
