//! Which groups of one table may be shown: units, or skin tones, over one stretch of time.
//!
//! A group has d cases, n with the outcome and c = d - n without. A reader is taken to know the
//! sums of n and of c over all groups. Hidden is every group with a small n, c or d, all of its
//! numbers; then, smallest d first, as many others as it takes for the hidden ones' sums N, C
//! and D to give none of them back. The sums are known and are numbers of several groups: none of
//! them may be small itself. For each hidden group with a small number it must hold besides that
//!
//! ```text
//! D - d >= h-1, or >= d when that is fewer                         (h is hide_below)
//! ```
//!
//! The reader knows of a hidden n that it is one of 0 to N, and each of these can be had by
//! moving outcomes between hidden groups (likewise c in 0 to C, and d then moves with n): the
//! sums leave more than h values. A reader who knows how many cases each group had can have n only
//! from max(0, N - (D - d)) to min(d, N), which are 1 + min(d, N, C, D - d) values: h when d is
//! not small, because then an n is small only when c is not, or both are small and N and C
//! suffice. When d itself is small and known to the reader, what can be learned besides is that
//! no hidden group has the outcome, or all have; 0 is not small.
//!
//! Two tables of the same cases by different groups (by unit, and by skin tone) give each other
//! nothing back. Let n(u) and n(s) be any numbers that a reader of one table, and of the other,
//! cannot rule out. Both have the known sum, so there is a table of units by skin tones with
//! these margins: fill its cells in order, each with the smaller of what is left of its row and
//! of its column (the north-west corner rule; Hitchcock FL (1941) J Math Phys 20:224-230 for the
//! problem, from memory). The same holds of c. No reader can therefore rule out a number by
//! looking at both. It does not hold of a cross table that is itself shown, nor of tables whose
//! stretches of time overlap without being the same: show one stretch.
//!
//! Degenerate cases: no groups give an empty answer; a `hide_below` of 0 or 1 shows all; a
//! group with n above d is no count, and nothing is shown.

use super::is_small;

/// Of each group (n, d), in the order given, whether it may be shown; `None` when nothing of the
/// table may be, because its sums are too small to hide anything in.
///
/// Where every group must be hidden and is protected so, all are `false`.
///
/// ```
/// use siskin::privacy::groups::release;
/// // Hidden alone, the 3 would be what is missing from the sum: the next smallest is hidden too.
/// assert_eq!(release(&[(12, 80), (3, 40), (9, 60)], 5), Some(vec![true, false, false]));
/// // 2 in all: whatever is hidden, it is one of 0, 1 and 2.
/// assert_eq!(release(&[(1, 80), (1, 40), (0, 60)], 5), None);
/// ```
pub fn release(groups: &[(u64, u64)], hide_below: u32) -> Option<Vec<bool>> {
    let h = u64::from(hide_below);
    if groups.iter().any(|(n, d)| n > d) {
        return None;
    }
    let mut shown: Vec<bool> = groups.iter().map(|group| !holds_small(*group, h)).collect();
    let mut next: Vec<usize> = (0..groups.len()).filter(|i| shown[*i]).collect();
    next.sort_by_key(|i| (groups[*i].1, *i));
    let mut next = next.into_iter();
    while !is_protected(groups, &shown, h) {
        shown[next.next()?] = false;
    }
    Some(shown)
}

/// Whether a number of the group is small.
fn holds_small((n, d): (u64, u64), h: u64) -> bool {
    [n, d - n, d].into_iter().any(|count| is_small(count, h))
}

/// Whether the sums of the hidden groups give none of their small numbers back.
fn is_protected(groups: &[(u64, u64)], shown: &[bool], h: u64) -> bool {
    let hidden = || {
        groups
            .iter()
            .zip(shown)
            .filter(|(_, shown)| !**shown)
            .map(|(group, _)| *group)
    };
    let sum = |count: fn((u64, u64)) -> u64| hidden().fold(0, |all: u64, group| all.saturating_add(count(group)));
    let (with, without, all) = (sum(|(n, _)| n), sum(|(n, d)| d - n), sum(|(_, d)| d));
    let sums_are_safe = [with, without, all].iter().all(|sum| !is_small(*sum, h));
    let others_hold_enough = |(_, d): (u64, u64)| all - d >= d.min(h - 1);
    sums_are_safe && hidden().filter(|group| holds_small(*group, h)).all(others_hold_enough)
}
