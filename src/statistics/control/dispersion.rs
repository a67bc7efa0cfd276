//! Whether months differ by more than chance within a month.
//!
//! Pearson's statistic of k months against their common centre, chi² = sum of z² with z as in
//! [`super::laney`], has under chance alone about a chi-square distribution of k - 1 degrees of
//! freedom. Source: Cochran WG (1954) Biometrics 10:417-451 (the variance test of homogeneity;
//! from memory: it wants no expected count under 1, so such months are left out).
//!
//! One strange month is a signal, not a spread. So months are called overdispersed
//! ([`Dispersion::is_more_than_chance`]) only when what is left without the month that is farthest
//! out is above the 80 % quantile of k - 2 degrees of freedom. Without its largest part the sum is
//! smaller than chi-square, so this is met by some 6 in 100 series of twelve steady months, not by
//! 20: a test near the customary 5 % (simulated in the tests). A lasting step does count as
//! spread; it is harmless, since Laney's sigma_z hardly grows with it.
//!
//! Degenerate cases: fewer than three months with enough expected, or a centre of 0 or 1, give
//! `None`.

use statrs::function::gamma::checked_gamma_ur;

use super::{laney, p, u};

/// Months with fewer expected events (or trials without one) are left out.
const LEAST_EXPECTED: f64 = 1.0;

/// Tail of the chi-square distribution for the months without the one farthest out.
const LEVEL: f64 = 0.20;

/// Pearson's statistic of a series of months.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dispersion {
    /// Sum of the squared standardised months.
    pub chi_square: f64,
    /// The largest part of that sum.
    pub largest: f64,
    /// Number of months in it.
    pub months: usize,
}

impl Dispersion {
    /// That of months of events and trials.
    ///
    /// ```
    /// use siskin::statistics::control::dispersion::Dispersion;
    /// // A 2 by 3 table: its chi-square is the one of the table.
    /// let of = Dispersion::of_proportions(&[(10, 50), (20, 50), (15, 50)]).unwrap();
    /// assert!((of.chi_square - 100.0 / 21.0).abs() < 1e-12);
    /// assert!(of.is_more_than_chance());
    /// ```
    pub fn of_proportions(months: &[(u64, u64)]) -> Option<Dispersion> {
        let centre = p::centre(months)?;
        let least = LEAST_EXPECTED / centre.min(1.0 - centre);
        let kept: Vec<(u64, u64)> = months.iter().filter(|m| m.1 as f64 >= least).copied().collect();
        Dispersion::of(&laney::standardised_proportions(&kept, p::centre(&kept)?)?)
    }

    /// That of months of events and exposure.
    pub fn of_rates(months: &[(u64, f64)]) -> Option<Dispersion> {
        let least = LEAST_EXPECTED / u::centre(months)?;
        let kept: Vec<(u64, f64)> = months.iter().filter(|m| m.1 >= least).copied().collect();
        Dispersion::of(&laney::standardised_rates(&kept, u::centre(&kept)?)?)
    }

    fn of(z: &[f64]) -> Option<Dispersion> {
        let parts = || z.iter().map(|z| z * z);
        let of = Dispersion {
            chi_square: parts().sum(),
            largest: parts().fold(0.0, f64::max),
            months: z.len(),
        };
        (of.months >= 3 && of.chi_square.is_finite()).then_some(of)
    }

    /// Whether the months differ by more than chance, the one farthest out left aside.
    pub fn is_more_than_chance(&self) -> bool {
        let rest = (self.chi_square - self.largest).max(0.0);
        upper_tail(rest, self.months - 2) < LEVEL
    }
}

/// Probability that a chi-square variable of these degrees of freedom is above `value`.
fn upper_tail(value: f64, degrees: usize) -> f64 {
    if value <= 0.0 {
        return 1.0;
    }
    checked_gamma_ur(degrees as f64 / 2.0, value / 2.0).unwrap_or(0.0)
}
