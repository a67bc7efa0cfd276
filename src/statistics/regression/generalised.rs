//! Proportions and rates as depending on columns: logistic and Poisson regression.
//!
//! The logit of a proportion, ln(p/(1-p)), or the logarithm of a rate is a sum of columns times
//! coefficients, which are logarithms of odds or rate ratios. Coefficients of greatest likelihood
//! by iteratively reweighted least squares, each step by Householder's reflections and halved where
//! the deviance would grow. A rate's exposure enters as the offset ln(exposure). Source: McCullagh
//! P, Nelder JA (1989) Generalized Linear Models, 2nd edition, chapters 2, 4 and 6.
//!
//! ```text
//! deviance     2Σ(y·ln(y/m) + (n-y)·ln((n-y)/(n-m)))  or  2Σ(y·ln(y/m) - (y-m))    m expected events
//! dispersion   Σ(y-m)²/V / (rows - columns)           V = m(1 - m/n) or m
//! ```
//!
//! A dispersion of 1 is what chance gives. Above, errors of the model ([`Errors::Model`], normal
//! quantiles) are too small; those of quasi-likelihood ([`Errors::Quasi`]) are larger by the root
//! of the dispersion, and as that is itself estimated their intervals take Student's t on rows -
//! columns. References differ: R `confint.default` and statsmodels take normal quantiles for both,
//! R `summary` takes t.
//!
//! Degenerate cases: a row without trials or exposure is in no sum. Where on one side nothing
//! happened, or everything, a ratio is 0 or infinite: [`NoFit::Separated`]. Few expected events
//! (about one or less a row) make the dispersion unreliable.

use super::super::proportion::Z_95;
use super::super::{Interval, student};
use super::NoFit;
use super::design::Design;
use super::householder::Householder;
pub use super::row::Counts;
use super::row::{Row, rows};

/// Which standard errors.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Errors {
    /// Those of the model; intervals take normal quantiles.
    Model,
    /// Larger by the root of the dispersion (smaller where it is under 1); intervals take
    /// Student's t.
    Quasi,
}

/// A fit by greatest likelihood.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// One a column: logarithms of ratios, and of the odds or rate for an intercept.
    pub coefficients: Vec<f64>,
    /// Covariance of the coefficients at dispersion 1, by rows.
    pub covariance: Vec<Vec<f64>>,
    /// Pearson's chi-square over the degrees of freedom.
    pub dispersion: f64,
    /// Rows with trials or exposure, less columns.
    pub degrees: usize,
}

impl Fit {
    /// The standard error of a coefficient; `None` where there is no such column.
    pub fn error(&self, column: usize, errors: Errors) -> Option<f64> {
        let variance = self.covariance.get(column)?.get(column)?;
        Some(match errors {
            Errors::Model => variance.sqrt(),
            Errors::Quasi => (variance * self.dispersion).sqrt(),
        })
    }

    /// The 95 % interval of a coefficient.
    pub fn interval(&self, column: usize, errors: Errors) -> Option<Interval> {
        let (value, error) = (*self.coefficients.get(column)?, self.error(column, errors)?);
        match errors {
            Errors::Model => Some(Interval {
                lower: value - Z_95 * error,
                upper: value + Z_95 * error,
            }),
            Errors::Quasi => student::interval(value, error, self.degrees),
        }
    }
}

const MOST_STEPS: u32 = 100;
const MOST_HALVINGS: u32 = 30;
/// The linear predictor has settled when it moves by no more.
const SETTLED: f64 = 1e-8;
/// A logarithm of odds, or of expected events, so far out is of a ratio without bound.
const FAR_OUT: f64 = 30.0;

/// The logistic or Poisson regression of `counts`, one a row.
///
/// # Errors
/// See the degenerate cases above.
///
/// ```
/// use siskin::statistics::regression::{design::Design, generalised::{Counts, fit}};
/// // Two groups: the coefficient is the logarithm of the odds ratio of the table.
/// let design = Design::of(vec![vec![1.0; 3], vec![0.0, 1.0, 1.0]]).unwrap();
/// let found = fit(&design, Counts::Proportions(&[(10, 30), (10, 20), (12, 24)])).unwrap();
/// assert!((found.coefficients[1] - 2.0_f64.ln()).abs() < 1e-12);
/// ```
pub fn fit(design: &Design, counts: Counts<'_>) -> Result<Fit, NoFit> {
    let all = rows(counts)?;
    if all.len() != design.rows() {
        return Err(NoFit::Invalid);
    }
    let kept: Vec<usize> = (0..all.len()).filter(|row| all[*row].size > 0.0).collect();
    let with_data: Vec<Row> = kept.iter().map(|row| all[*row]).collect();
    let columns = design.columns().len();
    let degrees = kept.len().checked_sub(columns).filter(|degrees| *degrees > 0);
    let degrees = degrees.ok_or(NoFit::TooFewRows)?;
    let inner = design.rows_of(&kept);
    Householder::of(inner.columns().to_vec()).ok_or(NoFit::Dependent)?;

    let (coefficients, covariance) = iterate(&inner, &with_data)?;
    let linear = inner.predict(&coefficients);
    let squared = |(row, linear): (&Row, &f64)| row.pearson(*linear).powi(2);
    let chi_square: f64 = with_data.iter().zip(&linear).map(squared).sum();
    let found = Fit {
        coefficients,
        covariance,
        dispersion: chi_square / degrees as f64,
        degrees,
    };
    let is_finite = found.dispersion.is_finite() && found.covariance.iter().flatten().all(|v| v.is_finite());
    is_finite.then_some(found).ok_or(NoFit::NotConverged)
}

/// Coefficients and their covariance.
fn iterate(design: &Design, rows: &[Row]) -> Result<(Vec<f64>, Vec<Vec<f64>>), NoFit> {
    let mut linear: Vec<f64> = rows.iter().map(Row::start).collect();
    let mut before: Option<Vec<f64>> = None;
    for _ in 0..MOST_STEPS {
        let factored = weighted(design, rows, &linear).ok_or_else(|| reason(rows, &linear))?;
        let target = rows.iter().zip(&linear).map(|(row, at)| row.weighted_response(*at));
        let mut next = factored.solve(&target.collect::<Vec<_>>());
        let mut predicted = design.predict(&next);
        if let Some(before) = &before {
            let reached = deviance(rows, &linear);
            let most = reached + 1e-8 * (reached.abs() + 0.1);
            for _ in 0..MOST_HALVINGS {
                if deviance(rows, &predicted) <= most {
                    break;
                }
                next = next.iter().zip(before).map(|(a, b)| b + (a - b) / 2.0).collect();
                predicted = design.predict(&next);
            }
        }
        let moved = |(a, b): (&f64, &f64)| (a - b).abs() / (1.0 + a.abs());
        let most = predicted.iter().zip(&linear).map(moved).fold(0.0, f64::max);
        linear = predicted;
        if farthest_out(rows, &linear) > FAR_OUT {
            return Err(NoFit::Separated);
        }
        if most <= SETTLED {
            let last = weighted(design, rows, &linear).ok_or_else(|| reason(rows, &linear))?;
            return Ok((next, last.inverse_square()));
        }
        before = Some(next);
    }
    Err(reason(rows, &linear))
}

fn weighted(design: &Design, rows: &[Row], linear: &[f64]) -> Option<Householder> {
    let roots: Vec<f64> = rows
        .iter()
        .zip(linear)
        .map(|(row, at)| row.variance(*at).sqrt())
        .collect();
    Householder::of(design.scaled(&roots))
}

/// How far out the rows lie that have no events, or nothing but events.
fn farthest_out(rows: &[Row], linear: &[f64]) -> f64 {
    let out = rows.iter().zip(linear).map(|(row, at)| row.far_out(*at));
    out.fold(0.0, f64::max)
}

/// Why an iteration broke off. Ratios that run away do so by about e each step.
fn reason(rows: &[Row], linear: &[f64]) -> NoFit {
    if farthest_out(rows, linear) > FAR_OUT / 2.0 {
        NoFit::Separated
    } else {
        NoFit::NotConverged
    }
}

fn deviance(rows: &[Row], linear: &[f64]) -> f64 {
    rows.iter().zip(linear).map(|(row, at)| row.deviance(*at)).sum()
}
