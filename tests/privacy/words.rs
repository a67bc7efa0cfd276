//! Bands, and the sign for what is hidden.

use siskin::privacy::bands::band;
use siskin::privacy::shown::{Shown, why};

#[test]
fn bands_meet_without_gap_and_hold_at_least_as_many_counts_as_are_hidden() {
    for hide_below in [2, 3, 5, 10, 11] {
        let all: Vec<String> = (0..6 * u64::from(hide_below)).map(|n| band(n, hide_below)).collect();
        for words in &all {
            let held = all.iter().filter(|other| *other == words).count();
            assert!(held >= hide_below as usize, "{hide_below}: {words} holds {held}");
        }
    }
    let edges = [0, 1, 4, 5, 9, 10, 19, 20, u64::MAX].map(|n| band(n, 5));
    let (lowest, second, third, highest) = ("fewer than 5", "5 to 9", "10 to 19", "20 or more");
    assert_eq!(
        edges,
        [lowest, lowest, lowest, second, second, third, third, highest, highest]
    );
    assert_eq!(
        [2, 3, 4, 7, 8].map(|n| band(n, 2)),
        ["2 to 3", "2 to 3", "4 to 7", "4 to 7", "8 or more"]
    );
    assert_eq!(band(7, 0), "7");
    assert_eq!(band(u64::MAX, u32::MAX), "17179869180 or more");
}

#[test]
fn what_is_hidden_prints_one_sign_and_is_never_worked_out() {
    let hidden: Shown<u64> = Shown::when(false, || unreachable!("worked out"));
    assert_eq!((hidden.value(), hidden.to_string()), (None, "hidden".to_owned()));
    let shown = Shown::when(true, || 12);
    assert_eq!((shown.value(), shown.to_string()), (Some(&12), "12".to_owned()));
    assert_eq!(format!("{shown:>7}|{hidden:>7}"), "     12| hidden");
}

#[test]
fn the_reason_names_the_limit() {
    assert_eq!(
        why(10),
        "A hidden number is fewer than 10, or would give such a number back."
    );
    assert_eq!(why(0), "No number is hidden.");
}
