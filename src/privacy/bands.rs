//! A count as a band: said roughly, so that it may be handed on alone.
//!
//! With `hide_below` h the bands are "fewer than h", h to 2h-1, 2h to 4h-1, and "4h or more"; 0
//! lies in the lowest. Each holds at least h counts. Bands of a sum and of its parts, read
//! together, may give away more than one alone: they are for counts of which no sum is shown.
//! Degenerate case: a `hide_below` of 0 or 1 gives the number itself.

/// A count in words.
///
/// ```
/// use siskin::privacy::bands::band;
/// assert_eq!(band(0, 5), "fewer than 5");
/// assert_eq!(band(9, 5), "5 to 9");
/// assert_eq!(band(10, 5), "10 to 19");
/// assert_eq!(band(20, 5), "20 or more");
/// assert_eq!(band(3, 1), "3");
/// ```
pub fn band(n: u64, hide_below: u32) -> String {
    let h = u64::from(hide_below);
    match n {
        _ if h <= 1 => n.to_string(),
        _ if n < h => format!("fewer than {h}"),
        _ if n < 2 * h => format!("{h} to {}", 2 * h - 1),
        _ if n < 4 * h => format!("{} to {}", 2 * h, 4 * h - 1),
        _ => format!("{} or more", 4 * h),
    }
}
