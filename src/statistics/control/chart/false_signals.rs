//! How often a chart signals although nothing changed.
//!
//! Probability of at least one signal of the rules in use while the process is steady, in per
//! cent, by number of judged months:
//!
//! ```text
//! months                     10    12    16    20    24    30    36    48    60
//! runs only                 0.8   1.3   0.9   2.1   3.1   2.7   4.3   3.9   4.4
//! P, U                            3.0   4.7   7.6  10.0  12.0  15.1  20.7  24.6
//! exact P, U                      0.9   1.7   2.9   4.0   5.0   6.5   9.1  10.5
//! Laney's                         3.2   4.1   5.5   7.1  10.0  14.7  19.0  22.6
//! individuals                     3.8   4.5   6.5   7.9  12.0  16.9  22.0  27.1
//! G                               1.4   3.2   5.8   8.2  10.2  13.6  17.0  19.8
//! ```
//!
//! The first row is counted exactly, over all orders of as many values above as below the median;
//! it goes up and down since the limits of runs are whole numbers. The others are simulated,
//! 20 000 charts a cell: rates of 20 expected events a month; of 3; proportions of 200 that vary
//! three times as much as chance; normal values; geometric counts of mean 30. Both are repeated in
//! the tests. With 10 expected events the second row is up to 2 points
//! higher, with 1 the third about 1 point lower; values with a long tail, on the scale for them,
//! are up to 3 points higher. Months that vary twice as much as chance do not always show it in
//! the first year and then keep the limits of P or U: over all such series it is 13 % in 24 months.
//!
//! Anhøj J, Olesen AV (2014) PLoS ONE 9:e113825 give about 5 % for the rules of runs (from
//! memory). Counted over all tosses of a coin, the median known beforehand, it is 4 to 9 %; a
//! median taken from the same values has as many above as below, so that long runs are rarer.
//! Three-sigma limits known beforehand would give 1 - 0.9973^24 = 6 % in 24 months; limits
//! learnt from a baseline miss the true ones by a little, which adds the rest.
//!
//! Over many charts the probabilities add up to the number of charts on which a false signal is
//! to be expected. Degenerate cases: a chart without rules has none; between two columns the
//! straight line is taken, beyond the last one its continuation, at most 1.

use super::parts::Kind;

/// Numbers of judged months the table has a column for.
pub const MONTHS: [usize; 9] = [10, 12, 16, 20, 24, 30, 36, 48, 60];

const RUN_ONLY: [f64; 9] = [0.8, 1.3, 0.9, 2.1, 3.1, 2.7, 4.3, 3.9, 4.4];
const THREE_SIGMA: [f64; 9] = [0.8, 3.0, 4.7, 7.6, 10.0, 12.0, 15.1, 20.7, 24.6];
const EXACT: [f64; 9] = [0.8, 0.9, 1.7, 2.9, 4.0, 5.0, 6.5, 9.1, 10.5];
const LANEY: [f64; 9] = [0.8, 3.2, 4.1, 5.5, 7.1, 10.0, 14.7, 19.0, 22.6];
const INDIVIDUALS: [f64; 9] = [0.8, 3.8, 4.5, 6.5, 7.9, 12.0, 16.9, 22.0, 27.1];
const CASES: [f64; 9] = [0.8, 1.4, 3.2, 5.8, 8.2, 10.2, 13.6, 17.0, 19.8];

/// Probability that a phase of this kind with so many judged months has at least one signal
/// while nothing changes.
///
/// ```
/// use siskin::statistics::control::chart::Kind;
/// use siskin::statistics::control::chart::false_signals::probability;
/// assert_eq!(probability(Kind::P, 24), 0.10);
/// assert_eq!(probability(Kind::P, 27), 0.11);
/// // Of ten charts of two years on one page, one signals for nothing.
/// ```
pub fn probability(kind: Kind, judged: usize) -> f64 {
    let row = match kind {
        Kind::TooFew(_) => return 0.0,
        Kind::RunOnly(_) => RUN_ONLY,
        Kind::P | Kind::U => THREE_SIGMA,
        Kind::PExact | Kind::UExact => EXACT,
        Kind::LaneyP | Kind::LaneyU => LANEY,
        Kind::Individuals => INDIVIDUALS,
        Kind::G => CASES,
    };
    if judged < MONTHS[0] {
        return 0.0;
    }
    let right = MONTHS
        .iter()
        .position(|months| judged <= *months)
        .unwrap_or(MONTHS.len() - 1)
        .max(1);
    let (from, to) = (MONTHS[right - 1] as f64, MONTHS[right] as f64);
    let slope = (row[right] - row[right - 1]) / (to - from);
    let per_cent = row[right] + slope * (judged as f64 - to);
    (per_cent / 100.0).clamp(0.0, 1.0)
}
