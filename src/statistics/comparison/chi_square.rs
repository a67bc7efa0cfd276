//! The upper tail of the chi-square distribution: Q(d/2, x/2), the regularised upper incomplete
//! gamma function. Source: Abramowitz M, Stegun IA (1964) Handbook of Mathematical Functions,
//! 26.4.19. Degenerate case: a statistic of 0 has p = 1.

use statrs::function::gamma::checked_gamma_ur;

use super::ChiSquare;

impl ChiSquare {
    /// A statistic of at least one degree of freedom; `None` where it is not a finite number.
    pub(super) fn of(value: f64, degrees: u64) -> Option<Self> {
        if !value.is_finite() || degrees == 0 {
            return None;
        }
        let p = if value <= 0.0 {
            1.0
        } else {
            checked_gamma_ur(degrees as f64 / 2.0, value / 2.0).ok()?
        };
        Some(Self {
            value: value.max(0.0),
            degrees,
            p: p.clamp(0.0, 1.0),
        })
    }
}
