//! A proportion and its Wilson score interval.
//!
//! For x of n with p = x/n and z the normal quantile of the level,
//!
//! ```text
//! (p + z²/2n ± z·sqrt(p(1-p)/n + z²/4n²)) / (1 + z²/n)
//! ```
//!
//! without continuity correction. Source: Wilson EB (1927) J Am Stat Assoc
//! 22:209-212; worked examples in Newcombe RG (1998) Stat Med 17:857-872, table I.
//! Degenerate cases: n = 0 has no interval; at x = 0 the lower and at x = n the
//! upper limit is exactly 0 and 1.

/// Two-sided 95 % normal quantile.
pub const Z_95: f64 = 1.959_963_984_540_054;

/// An interval of a proportion, both ends between 0 and 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// Lower limit.
    pub lower: f64,
    /// Upper limit.
    pub upper: f64,
}

/// The 95 % Wilson score interval of `events` out of `trials`; `None` for no trials.
///
/// ```
/// use siskin::statistics::proportion::wilson;
/// let interval = wilson(0, 20).unwrap();
/// assert_eq!(interval.lower, 0.0);
/// assert!((interval.upper - 0.1611).abs() < 1e-4);
/// assert_eq!(wilson(0, 0), None);
/// ```
pub fn wilson(events: u64, trials: u64) -> Option<Interval> {
    if trials == 0 || events > trials {
        return None;
    }
    let n = trials as f64;
    let p = events as f64 / n;
    let z2 = Z_95 * Z_95;
    let centre = p + z2 / (2.0 * n);
    let half = Z_95 * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt();
    let scale = 1.0 + z2 / n;
    Some(Interval {
        lower: if events == 0 { 0.0 } else { (centre - half) / scale },
        upper: if events == trials { 1.0 } else { (centre + half) / scale },
    })
}
