//! Errors of coefficients when what is left of one month resembles that of the months before.
//!
//! Newey and West's covariance of the coefficients of least squares, with u = e·x (residual times
//! row) and L lags,
//!
//! ```text
//! n/(n-p) · (X'X)^-1 (Σ u·u' + Σ(l = 1 to L) (1 - l/(L+1)) · Σ (u_t·u_t-l' + u_t-l·u_t')) (X'X)^-1
//! ```
//!
//! Sources: Newey WK, West KD (1987) Econometrica 55:703-708; as many lags as 4·(n/100)^(2/9)
//! (from memory: their 1994 paper, Rev Econ Stud 61:631-653); n/(n-p) as in statsmodels. With few
//! tens of months these errors are themselves uncertain and tend to be too small, so they are
//! given beside those of least squares, and never in their place where they are smaller.
//!
//! Degenerate cases: numbers of rows that differ give `None`; a variance that rounding made
//! negative is 0.

use super::design::Design;
use super::least_squares::Fit;

/// How many lags for `months`: 2 up to 27, 3 up to 99.
///
/// ```
/// use siskin::statistics::regression::newey_west::lags;
/// assert_eq!([lags(16), lags(24), lags(60), lags(120)], [2, 2, 3, 4]);
/// ```
pub fn lags(months: usize) -> usize {
    (4.0 * (months as f64 / 100.0).powf(2.0 / 9.0)).floor() as usize
}

/// The standard errors of the coefficients of a fit.
///
/// `places` are the months of the rows, in order: a month that has no row is a gap, and months
/// across it are not neighbours.
pub fn errors(design: &Design, fit: &Fit, places: &[usize], lags: usize) -> Option<Vec<f64>> {
    let (rows, columns) = (design.rows(), design.columns());
    if fit.residuals.len() != rows || places.len() != rows || fit.coefficients.len() != columns.len() {
        return None;
    }
    // A row of (X'X)^-1 times u tells how much each row moves that coefficient.
    let variance = |inverse: &Vec<f64>| {
        let moves: Vec<f64> = (0..rows)
            .map(|t| {
                let along: f64 = columns.iter().zip(inverse).map(|(column, v)| column[t] * v).sum();
                along * fit.residuals[t]
            })
            .collect();
        let mut sum: f64 = moves.iter().map(|m| m * m).sum();
        for (later, place) in places.iter().enumerate() {
            for earlier in 0..later {
                let lag = place.saturating_sub(places[earlier]);
                if (1..=lags).contains(&lag) {
                    let weight = 1.0 - lag as f64 / (lags + 1) as f64;
                    sum += 2.0 * weight * moves[later] * moves[earlier];
                }
            }
        }
        sum * rows as f64 / fit.degrees as f64
    };
    let errors: Vec<f64> = fit
        .unscaled_covariance
        .iter()
        .map(|row| variance(row).max(0.0).sqrt())
        .collect();
    errors.iter().all(|error| error.is_finite()).then_some(errors)
}
