//! Areas below the curves of scores.

use siskin::statistics::agreement::roc;

use super::super::published::{case, close, numbers};
use super::about;

/// Robin X and others (2011) BMC Bioinformatics 12:77, the aSAH data; sources of the digits stand in
/// the published file.
#[test]
fn areas_equal_delongs() {
    let case = case("roc_delong_aSAH");
    let outcome: Vec<bool> = numbers(&case["inputs"]["outcome_poor"])
        .iter()
        .map(|o| *o > 0.5)
        .collect();
    let score = |name: &str| numbers(&case["inputs"][name]);
    for name in ["s100b", "ndka", "wfns"] {
        let scored: Vec<(f64, bool)> = score(name).into_iter().zip(outcome.iter().copied()).collect();
        let (found, expected) = (roc::area(&scored).unwrap(), &case["expected"][name]);
        close(&case, name, found.value, expected["auc"].as_f64().unwrap());
        let limits = numbers(&expected["ci"]);
        close(&case, name, found.interval.unwrap().lower, limits[0]);
        close(&case, name, found.interval.unwrap().upper, limits[1]);
    }
}

#[test]
fn degenerate_scores_have_documented_areas() {
    assert_eq!(roc::area(&[]), None);
    for one_kind in [true, false] {
        let scored = [(1.0, one_kind), (2.0, one_kind)];
        assert_eq!(roc::area(&scored), None);
    }
    assert_eq!(roc::area(&[(f64::NAN, true), (1.0, false)]), None);
    let single = roc::area(&[(2.0, true), (1.0, false), (3.0, false)]).unwrap();
    assert_eq!((single.value, single.interval), (0.5, None));
    let apart = roc::area(&[(1.0, false), (2.0, false), (3.0, true), (f64::INFINITY, true)]).unwrap();
    assert_eq!((apart.value, apart.interval), (1.0, Some(about(1.0, 0.0))));
    let tied = roc::area(&[(5.0, true), (5.0, true), (5.0, false), (5.0, false)]).unwrap();
    assert_eq!((tied.value, tied.interval), (0.5, Some(about(0.5, 0.0))));
    // Cut to 1: 8 of 9 couples, with a wide interval.
    let few = [
        (1.0, false),
        (2.0, false),
        (4.0, false),
        (3.0, true),
        (5.0, true),
        (6.0, true),
    ];
    assert_eq!(roc::area(&few).unwrap().interval.unwrap().upper, 1.0);
}
