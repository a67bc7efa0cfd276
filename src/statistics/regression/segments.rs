//! The columns of a segmented regression, and the lines to draw from their coefficients.

use std::f64::consts::TAU;

use super::NoFit;
use super::design::Design;
use super::segmented::{FEWEST_WITH_SEASON, FEWEST_WITH_TREND, FEWEST_WITHOUT_TREND, Model, Shape};

/// The column of the level change.
pub(super) const LEVEL: usize = 1;
/// The column of the trend.
pub(super) const TREND: usize = 2;
/// The column of the slope change.
pub(super) const SLOPE_CHANGE: usize = 3;

/// Whether there are enough months with data.
pub(super) fn enough(has_data: &[bool], model: &Model) -> Result<(), NoFit> {
    let change = model.change.min(has_data.len());
    let count = |months: &[bool]| months.iter().filter(|has| **has).count();
    let (before, after) = (count(&has_data[..change]), count(&has_data[change..]));
    let needed = match model.shape {
        Shape::Level => FEWEST_WITHOUT_TREND,
        Shape::LevelAndSlope => FEWEST_WITH_TREND,
    };
    if before.min(after) < needed {
        return Err(NoFit::TooFewMonths { before, after, needed });
    }
    let is_too_short = before + after < FEWEST_WITH_SEASON;
    if model.harmonics > 5 || (model.harmonics > 0 && is_too_short) {
        return Err(NoFit::NoSeason);
    }
    Ok(())
}

/// Columns: intercept, level, then trend, slope change, and the season last.
pub(super) fn design(months: usize, model: &Model) -> Result<Design, NoFit> {
    let since = |t: usize| t as f64 - model.change as f64;
    let column = |of: &dyn Fn(usize) -> f64| (0..months).map(of).collect::<Vec<f64>>();
    let is_after = |t: usize| t >= model.change;
    let mut columns = vec![column(&|_| 1.0), column(&|t| if is_after(t) { 1.0 } else { 0.0 })];
    if model.shape == Shape::LevelAndSlope {
        columns.push(column(&since));
        columns.push(column(&|t| since(t).max(0.0)));
    }
    for harmonic in 1..=model.harmonics {
        let angle = |t: usize| {
            let place = (t as u64 + u64::from(model.first_month)) * u64::from(harmonic) % 12;
            TAU * place as f64 / 12.0
        };
        columns.push(column(&|t| angle(t).sin()));
        columns.push(column(&|t| angle(t).cos()));
    }
    Design::of(columns)
}

/// What the segments are without their season, and without the change.
pub(super) fn lines(design: &Design, coefficients: &[f64], model: &Model) -> (Vec<f64>, Vec<f64>) {
    let without = |is_off: &dyn Fn(usize) -> bool| {
        let kept = coefficients.iter().enumerate();
        let kept: Vec<f64> = kept.map(|(i, v)| if is_off(i) { 0.0 } else { *v }).collect();
        design.predict(&kept)
    };
    let seasons = coefficients.len() - 2 * model.harmonics as usize;
    let segments = without(&|i| i >= seasons);
    let unchanged = without(&|i| i >= seasons || i == LEVEL || i == SLOPE_CHANGE);
    (segments, unchanged[model.change..].to_vec())
}
