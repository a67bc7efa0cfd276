//! What may be handed on: small counts are hidden, and so is what would give them back.
//!
//! Counts in, decisions out. Knows nothing of what is counted, of tables or of pages. A count
//! is small when it lies in 1 to `hide_below` - 1; 0 is not small, and a `hide_below` of 1
//! hides nothing.
//!
//! `series` decides about months and sums of months of one figure, over all that was ever
//! handed over; `groups` about one table of groups; `bands` says a count in bands; `shown` is
//! what a page holds in place of a number.
//!
//! What is not modelled: a reader who knows single cases; one who takes every hidden month to
//! be small, or replays this method to learn from what it hid, and so rules out more; figures of
//! different cases that overlap; a count that was restated between two reports.

pub mod bands;
mod chains;
pub mod groups;
pub mod series;
pub mod shown;

/// Whether a count is one to hide: 1 to `hide_below` - 1.
fn is_small(count: u64, hide_below: u64) -> bool {
    (1..hide_below).contains(&count)
}
