//! Two ways of measuring one thing: how far apart, along which line, and which of them finds
//! what it should.
//!
//! A pair is (first, second), in one unit; a difference is first minus second.

pub mod bland_altman;
pub mod concordance;
pub mod deming;
pub mod diagnostic;
pub mod passing_bablok;
pub mod repeated;
pub mod roc;

/// Standard deviations from the bias to a limit of agreement, as Bland and Altman (1999) round
/// the normal quantile.
pub const LIMIT: f64 = 1.96;

/// First minus second of each pair. Differences equal but for the rounding of their readings
/// are made equal: the spread of such noise would be taken for one of the measurements.
fn differences(pairs: &[(f64, f64)]) -> Vec<f64> {
    let mut differences: Vec<f64> = pairs.iter().map(|(first, second)| first - second).collect();
    let largest = pairs
        .iter()
        .fold(0.0_f64, |most, (a, b)| most.max(a.abs()).max(b.abs()));
    if let Some(&one) = differences.first() {
        let noise = 8.0 * f64::EPSILON * largest;
        if differences.iter().all(|other| (other - one).abs() <= noise) {
            differences.fill(one);
        }
    }
    differences
}
