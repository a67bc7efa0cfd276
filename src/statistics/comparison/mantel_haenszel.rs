//! Two groups across strata, by Mantel and Haenszel: one odds ratio, risk ratio and risk
//! difference for all strata, and a test of whether there is any.
//!
//! In a stratum of n, with a events and b others in the first group (n1 = a + b), c and d in the
//! second (n2 = c + d), m1 = a + c and m2 = b + d:
//!
//! ```text
//! odds ratio       Σ(ad/n) / Σ(bc/n)
//! risk ratio       Σ(a·n2/n) / Σ(c·n1/n)
//! risk difference  Σ((a·n2 - c·n1)/n) / Σ(n1·n2/n)
//! chi-square       (|Σ(a - n1·m1/n)| - k)² / Σ(n1·n2·m1·m2 / (n²(n-1)))
//! ```
//!
//! k is 0, or one half with continuity correction (no more than the difference itself, as in R
//! `mantelhaen.test`: none where the difference is under one half). Intervals are normal: of the
//! logarithm of the odds ratio by Robins J, Breslow N, Greenland S (1986) Biometrics 42:311-323,
//! of that of the risk ratio by Greenland S, Robins JM (1985) Biometrics 41:55-68, of the
//! difference by Sato T (1989) Biometrics 45:1323-1324. The first two and the last hold both for
//! few large and for many small strata. Figures: Mantel N, Haenszel W (1959) J Natl Cancer Inst
//! 22:719-748. One figure for all strata is sensible when they do not point in different
//! directions: look at them as well.
//!
//! Degenerate cases: a stratum in which one group is empty tells nothing and adds nothing. A ratio
//! whose denominator is 0 is `None`; one of 0 has no interval, nor has a difference without variance
//! (no events at all, or nothing but events). Where no stratum holds both groups, everything is `None`; where in none both an event and
//! no event happened, the tests are.

use super::super::Interval;
use super::super::proportion::Z_95;
use super::ChiSquare;

/// A stratum: events and others in two groups.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stratum {
    /// (events, others) of the first group.
    pub first: (u64, u64),
    /// (events, others) of the second group.
    pub second: (u64, u64),
}

/// A figure common to all strata.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Common {
    /// The figure.
    pub value: f64,
    /// Its 95 % interval, where there is one.
    pub interval: Option<Interval>,
}

/// Two groups across strata, first against second.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MantelHaenszel {
    /// Common odds ratio.
    pub odds_ratio: Option<Common>,
    /// Common risk ratio.
    pub risk_ratio: Option<Common>,
    /// Common risk difference.
    pub risk_difference: Option<Common>,
    /// Test of no association, without continuity correction.
    pub test: Option<ChiSquare>,
    /// Test with continuity correction: it errs to the side of no difference.
    pub corrected_test: Option<ChiSquare>,
}

impl MantelHaenszel {
    /// Of these strata.
    ///
    /// ```
    /// use siskin::statistics::comparison::mantel_haenszel::{MantelHaenszel, Stratum};
    /// // With one stratum it is the odds ratio of the table.
    /// let one = MantelHaenszel::of(&[Stratum { first: (10, 20), second: (5, 30) }]);
    /// assert!((one.odds_ratio.unwrap().value - 3.0).abs() < 1e-12);
    /// assert!((one.risk_difference.unwrap().value - (1.0 / 3.0 - 1.0 / 7.0)).abs() < 1e-12);
    /// assert_eq!(MantelHaenszel::of(&[]).odds_ratio, None);
    /// ```
    pub fn of(strata: &[Stratum]) -> Self {
        let tables: Vec<Table> = strata.iter().filter_map(Table::of).collect();
        Self {
            odds_ratio: odds_ratio(&tables),
            risk_ratio: risk_ratio(&tables),
            risk_difference: risk_difference(&tables),
            test: test(&tables, 0.0),
            corrected_test: test(&tables, 0.5),
        }
    }
}

/// A stratum in which neither group is empty.
struct Table {
    a: f64,
    b: f64,
    c: f64,
    d: f64,
    n1: f64,
    n2: f64,
    n: f64,
}

impl Table {
    fn of(stratum: &Stratum) -> Option<Self> {
        let [a, b, c, d] = [stratum.first.0, stratum.first.1, stratum.second.0, stratum.second.1].map(|n| n as f64);
        let (n1, n2) = (a + b, c + d);
        let n = n1 + n2;
        (n1 > 0.0 && n2 > 0.0).then_some(Self { a, b, c, d, n1, n2, n })
    }
}

fn sum(tables: &[Table], of: impl Fn(&Table) -> f64) -> f64 {
    tables.iter().map(of).sum()
}

/// A ratio and its interval from the variance of its logarithm.
fn ratio(above: f64, below: f64, variance: f64) -> Option<Common> {
    let value = above / below;
    if below <= 0.0 || !value.is_finite() {
        return None;
    }
    let factor = (Z_95 * variance.sqrt()).exp();
    let interval = Interval {
        lower: value / factor,
        upper: value * factor,
    };
    let is_known = value > 0.0 && factor.is_finite() && interval.upper.is_finite();
    Some(Common {
        value,
        interval: is_known.then_some(interval),
    })
}

fn odds_ratio(tables: &[Table]) -> Option<Common> {
    let (r, s) = (sum(tables, |t| t.a * t.d / t.n), sum(tables, |t| t.b * t.c / t.n));
    let concordant = |t: &Table| (t.a + t.d) / t.n;
    let discordant = |t: &Table| (t.b + t.c) / t.n;
    let pr = sum(tables, |t| concordant(t) * t.a * t.d / t.n);
    let mixed = sum(tables, |t| {
        concordant(t) * t.b * t.c / t.n + discordant(t) * t.a * t.d / t.n
    });
    let qs = sum(tables, |t| discordant(t) * t.b * t.c / t.n);
    ratio(r, s, (pr / r / r + mixed / r / s + qs / s / s) / 2.0)
}

fn risk_ratio(tables: &[Table]) -> Option<Common> {
    let (r, s) = (sum(tables, |t| t.a * t.n2 / t.n), sum(tables, |t| t.c * t.n1 / t.n));
    let spread = sum(tables, |t| (t.n1 * t.n2 * (t.a + t.c) - t.a * t.c * t.n) / t.n / t.n);
    ratio(r, s, spread / r / s)
}

fn risk_difference(tables: &[Table]) -> Option<Common> {
    let weight = sum(tables, |t| t.n1 * t.n2 / t.n);
    let value = sum(tables, |t| (t.a * t.n2 - t.c * t.n1) / t.n) / weight;
    let p = sum(tables, |t| {
        (t.n1 * t.n1 * t.c - t.n2 * t.n2 * t.a + t.n1 * t.n2 * (t.n2 - t.n1) / 2.0) / t.n / t.n
    });
    let q = sum(tables, |t| (t.a * t.d + t.c * t.b) / (2.0 * t.n));
    let variance = (value * p + q) / weight / weight;
    if !value.is_finite() {
        return None;
    }
    let half = Z_95 * variance.max(0.0).sqrt();
    let interval = Interval {
        lower: (value - half).max(-1.0),
        upper: (value + half).min(1.0),
    };
    Some(Common {
        value,
        interval: (half.is_finite() && half > 0.0).then_some(interval),
    })
}

fn test(tables: &[Table], correction: f64) -> Option<ChiSquare> {
    let apart = sum(tables, |t| t.a - t.n1 * ((t.a + t.c) / t.n)).abs();
    let variance = sum(tables, |t| {
        // A stratum of one holds one group; those are left out before.
        (t.n1 / t.n) * (t.n2 / t.n) * (t.a + t.c) * ((t.b + t.d) / (t.n - 1.0))
    });
    if variance <= 0.0 {
        return None;
    }
    let apart = if apart >= correction { apart - correction } else { apart };
    ChiSquare::of(apart * apart / variance, 1)
}
