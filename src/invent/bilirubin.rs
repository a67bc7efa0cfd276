//! A baby's true bilirubin over age, with and without light.
//!
//! Natural level at age a: cord + (peak - cord) * x * exp(1 - x), with x = a / age at peak. Light
//! multiplies it by a factor that falls exponentially towards a floor while the lamps are on and
//! returns exponentially to 1 afterwards.

use super::dice::{Dice, exp};
use super::scenario;

/// The true level of one baby. Moments are instants in seconds.
#[derive(Debug, Clone)]
pub(crate) struct Level {
    born_s: i64,
    cord_umol_l: f64,
    peak_umol_l: f64,
    peak_age_h: f64,
    factor: f64,
    factor_at_s: i64,
    light: bool,
    fall_per_h: f64,
    floor: f64,
    return_per_h: f64,
}

/// What shapes a curve.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shape {
    pub(crate) born_s: i64,
    pub(crate) gestation_d: i64,
    pub(crate) breast_fed: bool,
    /// Product of the risk factors' effects.
    pub(crate) risk_peak: f64,
    pub(crate) fast_riser: bool,
}

impl Level {
    /// Draws a curve.
    pub(crate) fn draw(shape: Shape, numbers: &scenario::Bilirubin, dice: &mut Dice) -> Level {
        let weeks_early =
            (numbers.term_weeks - shape.gestation_d as f64 / 7.0).clamp(0.0, numbers.preterm_weeks_at_most);
        let cord = numbers.cord_umol_l + numbers.cord_spread_umol_l * dice.normal();
        let mut peak = numbers.peak_umol_l * exp(numbers.peak_log_spread * dice.normal());
        let mut peak_age_h = dice.between(numbers.peak_age_h);
        peak *= shape.risk_peak * (1.0 + numbers.preterm_peak_per_week * weeks_early);
        peak_age_h += numbers.preterm_peak_later_h * weeks_early;
        if shape.breast_fed {
            peak *= numbers.breast_peak;
            peak_age_h += numbers.breast_peak_later_h;
        }
        if shape.fast_riser {
            peak = dice.between(numbers.fast_riser_peak_umol_l);
            peak_age_h = dice.between(numbers.fast_riser_peak_age_h);
        }
        let cord = cord.max(0.0);
        Level {
            born_s: shape.born_s,
            cord_umol_l: cord,
            peak_umol_l: peak.clamp(cord, numbers.highest_peak_umol_l.max(cord)),
            peak_age_h,
            factor: 1.0,
            factor_at_s: shape.born_s,
            light: false,
            fall_per_h: numbers.light_fall_per_h,
            floor: numbers.light_floor,
            return_per_h: numbers.light_return_per_h,
        }
    }

    /// The level at a moment.
    pub(crate) fn at(&self, at_s: i64) -> f64 {
        let rise = self.rise(at_s);
        let natural = self.cord_umol_l + (self.peak_umol_l - self.cord_umol_l) * rise;
        natural * self.factor_at(at_s)
    }

    /// Puts the lamps on or out.
    pub(crate) fn set_light(&mut self, on: bool, at_s: i64) {
        self.factor = self.factor_at(at_s);
        self.factor_at_s = at_s;
        self.light = on;
    }

    /// Raises the curve so that it passes through a value; never lowers it.
    pub(crate) fn raise_to(&mut self, umol_l: f64, at_s: i64) {
        let rise = self.rise(at_s);
        if rise > 0.0 && umol_l > self.at(at_s) {
            let natural = umol_l / self.factor_at(at_s);
            self.peak_umol_l = self.cord_umol_l + (natural - self.cord_umol_l) / rise;
        }
    }

    fn rise(&self, at_s: i64) -> f64 {
        let age_h = (at_s - self.born_s).max(0) as f64 / 3600.0;
        let x = age_h / self.peak_age_h;
        x * exp(1.0 - x)
    }

    fn factor_at(&self, at_s: i64) -> f64 {
        let hours = (at_s - self.factor_at_s).max(0) as f64 / 3600.0;
        let (rest, per_h) = if self.light {
            (self.floor, self.fall_per_h)
        } else {
            (1.0, self.return_per_h)
        };
        rest + (self.factor - rest) * exp(-per_h * hours)
    }
}
