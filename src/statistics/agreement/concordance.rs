//! Concordance: how near pairs lie to the line of equality.
//!
//! With means and variances of divisor n, as Lin defines it:
//!
//! ```text
//! ccc = 2 Sxy / (Sx² + Sy² + (x̄ - ȳ)²) = r Cb
//! ```
//!
//! r is the correlation, Cb how near the best line is to equality. The interval is normal on
//! the scale of atanh, with variance (v² is (x̄ - ȳ)² / (Sx Sy))
//!
//! ```text
//! ((1-r²) Cb² (1-ccc²) + 2 ccc² (1-ccc) Cb v² - ccc² Cb² v⁴ / 2) / ((n-2) (1-ccc²)²)
//! ```
//!
//! Sources: Lin L (1989) Biometrics 45:255-268, with the correction in (2000) 56:324-325. With
//! divisor n - 1, as some programs have it, the fifth digit differs. It grows with the spread of
//! the babies, so it does not compare units of different case mix. Degenerate cases: fewer than 2
//! pairs, or all readings identical, have none; one method without spread gives 0 without an
//! interval; equal pairs give 1 with an interval of no width; 2 pairs have no interval.

use super::super::Interval;
use super::super::centred::Sums;
use super::super::proportion::Z_95;

/// Concordance correlation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Concordance {
    /// The concordance correlation, -1 to 1.
    pub value: f64,
    /// 95 % interval.
    pub interval: Option<Interval>,
}

/// The concordance of first and second; `None` for fewer than 2 pairs, identical readings, or sums
/// that are not finite.
///
/// ```
/// use siskin::statistics::agreement::concordance::concordance;
/// let same = concordance(&[(1.0, 1.0), (2.0, 2.0), (4.0, 4.0)]).unwrap();
/// assert_eq!(same.value, 1.0);
/// let shifted = concordance(&[(1.0, 3.0), (2.0, 4.0), (3.0, 5.0)]).unwrap();
/// assert!((shifted.value - 0.25).abs() < 1e-12);
/// ```
pub fn concordance(pairs: &[(f64, f64)]) -> Option<Concordance> {
    let sums = Sums::of(pairs)?;
    let (xx, yy, xy, shift) = (sums.xx / sums.n, sums.yy / sums.n, sums.xy / sums.n, sums.y - sums.x);
    let whole = xx + yy + shift * shift;
    if pairs.len() < 2 || whole <= 0.0 || !whole.is_finite() {
        return None;
    }
    let spread = xx.sqrt() * yy.sqrt();
    let value = (2.0 * xy / whole).clamp(-1.0, 1.0);
    let accuracy = (2.0 * spread / whole).min(1.0);
    Some(Concordance {
        value,
        interval: (spread > 0.0 && pairs.len() > 2).then(|| {
            interval(
                value,
                accuracy,
                (xy / spread).clamp(-1.0, 1.0),
                shift * shift / spread,
                sums.n,
            )
        }),
    })
}

fn interval(value: f64, accuracy: f64, r: f64, v2: f64, n: f64) -> Interval {
    let (square, cb) = (value * value, accuracy);
    let off = 1.0 - square;
    if off <= 0.0 {
        let (lower, upper) = (value, value);
        return Interval { lower, upper };
    }
    let parts =
        (1.0 - r * r) * cb * cb * off + 2.0 * square * (1.0 - value) * cb * v2 - 0.5 * square * cb * cb * v2 * v2;
    let half = Z_95 * (parts.max(0.0) / (n - 2.0)).sqrt() / off;
    Interval {
        lower: (value.atanh() - half).tanh(),
        upper: (value.atanh() + half).tanh(),
    }
}
