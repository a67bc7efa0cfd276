//! The upper tail of the chi-square distribution: Q(d/2, x/2), the regularised upper incomplete
//! gamma function. Source: Abramowitz M, Stegun IA (1964) Handbook of Mathematical Functions,
//! 26.4.19. Degenerate case: a statistic of 0 has p = 1.

use statrs::function::gamma::checked_gamma_ur;

/// How often chance alone gives a statistic of as much or more, on at least one degree of freedom;
/// `None` where it is not a finite number.
pub(super) fn p_value(statistic: f64, degrees: u64) -> Option<f64> {
    if !statistic.is_finite() || degrees == 0 {
        return None;
    }
    if statistic <= 0.0 {
        return Some(1.0);
    }
    let p = checked_gamma_ur(degrees as f64 / 2.0, statistic / 2.0).ok()?;
    Some(p.clamp(0.0, 1.0))
}
