//! Two readings by each way of measuring: how well each repeats itself, and the agreement of
//! single readings when the means of two were compared.
//!
//! With d the difference between the two readings of one method, its standard deviation
//! within a baby is s_w = sqrt(mean d² / 2), the mean of d being taken as 0. Two readings of
//! one baby differ by less than 1.96 sqrt(2) s_w in 95 % (the repeatability coefficient). Means
//! of two readings vary less than single ones, so their standard deviation is corrected:
//!
//! ```text
//! s = sqrt(s_means² + s_w1²/2 + s_w2²/2)
//! ```
//!
//! Sources: Bland JM, Altman DG (1986) Lancet i:307-310, which takes 2 for 1.96; (1999) Stat
//! Methods Med Res 8:135-160. Degenerate cases: fewer than 2 babies have no agreement;
//! identical readings have standard deviations of 0.

use super::super::Interval;
use super::super::centred::Sums;
use super::{LIMIT, differences};

/// Two readings by the first and two by the second method.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Readings {
    /// By the first method.
    pub first: (f64, f64),
    /// By the second method.
    pub second: (f64, f64),
}

/// What duplicate readings tell, in their unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Duplicates {
    /// Mean difference, first minus second.
    pub bias: f64,
    /// Standard deviation of the differences between means of two.
    pub sd_of_means: f64,
    /// Standard deviation of the differences between single readings.
    pub sd: f64,
    /// Limits of agreement of single readings.
    pub limits: Interval,
    /// Standard deviation of the first method within a baby.
    pub within_first: f64,
    /// Standard deviation of the second method within a baby.
    pub within_second: f64,
    /// Repeatability coefficient of the first method.
    pub repeatability_first: f64,
    /// Repeatability coefficient of the second method.
    pub repeatability_second: f64,
}

/// The agreement of single readings and the repeatability of each method; `None` for fewer than
/// 2 babies or sums that are not finite.
pub fn duplicates(babies: &[Readings]) -> Option<Duplicates> {
    let mean = |(one, other): (f64, f64)| one / 2.0 + other / 2.0;
    let means: Vec<(f64, f64)> = babies.iter().map(|of| (mean(of.first), mean(of.second))).collect();
    let sums = Sums::of_values(&differences(&means))?;
    let sd_of_means = sums.variance()?.sqrt();
    let within = |of: fn(&Readings) -> (f64, f64)| {
        let squares = babies.iter().map(of).map(|(one, other)| (one - other).powi(2));
        (squares.sum::<f64>() / sums.n / 2.0).sqrt()
    };
    let (within_first, within_second) = (within(|of| of.first), within(|of| of.second));
    let sd = (sd_of_means.powi(2) + within_first.powi(2) / 2.0 + within_second.powi(2) / 2.0).sqrt();
    let repeatability = |within: f64| LIMIT * 2.0_f64.sqrt() * within;
    sd.is_finite().then(|| Duplicates {
        bias: sums.x,
        sd_of_means,
        sd,
        limits: Interval {
            lower: sums.x - LIMIT * sd,
            upper: sums.x + LIMIT * sd,
        },
        within_first,
        within_second,
        repeatability_first: repeatability(within_first),
        repeatability_second: repeatability(within_second),
    })
}
