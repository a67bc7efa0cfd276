//! Cases between rare events: the g-chart.
//!
//! The number of cases (births, say) strictly between two events, 0 allowed, is geometric when
//! each case has one small chance of the event. With their mean m that chance is 1/(1 + m).
//!
//! Limits are by the tails of the distribution as in [`super::p`]: an interval is beyond when one
//! so long has a probability under 0.00135. Three-sigma limits, m ± 3·sqrt(m·(m + 1)), are common
//! (Kaminsky FC and others (1992) J Qual Technol 24:63-69; Benneyan JC (2001) Health Care Manag
//! Sci 4:305-318); the distribution is so skewed that 1.8 % of intervals lie above the upper one
//! by chance, not 0.1 %.
//!
//! Convention: the centre is the mean, as Benneyan draws it, though more than half of all
//! intervals are shorter; runs are counted about the median. Counts up to and including the
//! event would be one larger and their variance m·(m - 1).
//!
//! A point above the upper limit is a long quiet time. The exact lower limit is 0 unless events
//! are rarer than 1 in 740: below that no interval is too short to be chance.
//!
//! Degenerate cases: at a mean of 0 both limits are 0; a mean that is negative or not finite gives
//! `None`.

use super::{Limits, TAIL};

/// Limits of an interval from the geometric distribution.
///
/// ```
/// use siskin::statistics::control::g::exact;
/// // 1 case between events on average, a chance of one half: 10 or more with probability 1/1024.
/// let limits = exact(1.0).unwrap();
/// assert_eq!((limits.lower, limits.upper), (0.0, 9.0));
/// ```
pub fn exact(mean: f64) -> Option<Limits> {
    if !(mean.is_finite() && mean >= 0.0) {
        return None;
    }
    // Logarithm of the chance that a case is without the event; -infinity at a mean of 0.
    let without = -(1.0 / mean).ln_1p();
    // k or more: (1 - chance)^k.  k or fewer: 1 - (1 - chance)^(k + 1).
    let upper = (TAIL.ln() / without).floor();
    let lower = ((-TAIL).ln_1p() / without).ceil() - 1.0;
    Some(Limits {
        lower: lower.max(0.0),
        upper: upper.clamp(0.0, f64::MAX),
    })
}
