//! A ratio of two counts as one number, the same number wherever the ratio is the same.
//!
//! a/b and c/d are the same ratio exactly when their lowest terms are the same. The number is
//! worked out from the lowest terms p/q alone, as p · per / q, so equal ratios give equal numbers to
//! the last bit, whatever the counts: 1 of 100 and 3 of 300, at any `per`. A month whose rate is the
//! median of its series therefore lies on it. Dividing the exposure first, a / (b / per), rounds
//! twice, and gives different numbers for 1 of 70 and 3 of 210 at 1000.
//!
//! Where p · per and q are below 2^53 both are exact and one division rounds: the number is the
//! ratio correctly rounded. Degenerate cases: nothing to divide by, a `per` that is no positive
//! number, or a result past the range of a number give `None`.

/// `count` over `of`, times `per`.
///
/// ```
/// use siskin::statistics::ratio::ratio;
/// assert_eq!(ratio(1, 70, 1000.0), ratio(3, 210, 1000.0));
/// assert_eq!(ratio(1, 4, 1.0), Some(0.25));
/// assert_eq!(ratio(1, 0, 1.0), None);
/// ```
pub fn ratio(count: u64, of: u64, per: f64) -> Option<f64> {
    if of == 0 || !(per > 0.0 && per.is_finite()) {
        return None;
    }
    let common = common_divisor(count, of);
    let value = (count / common) as f64 * per / (of / common) as f64;
    value.is_finite().then_some(value)
}

/// The greatest common divisor (Euclid); `second` is not 0.
fn common_divisor(first: u64, second: u64) -> u64 {
    let (mut larger, mut smaller) = (second, first);
    while smaller > 0 {
        (larger, smaller) = (smaller, larger % smaller);
    }
    larger
}
