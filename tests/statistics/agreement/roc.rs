//! Curves of scores and the areas below.

use siskin::statistics::agreement::curve::{Point, curve};
use siskin::statistics::agreement::roc;

use super::super::published::{case, close, numbers};
use super::{about, near};

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
        assert_eq!(found.positives + found.negatives, 113);
        close(&case, name, found.value, expected["auc"].as_f64().unwrap());
        close(&case, name, found.variance.unwrap(), expected["var"].as_f64().unwrap());
        let limits = numbers(&expected["ci"]);
        close(&case, name, found.interval.unwrap().lower, limits[0]);
        close(&case, name, found.interval.unwrap().upper, limits[1]);
        near(below(&curve(&scored)), found.value, 1e-12);
    }
    for (name, first, second) in [("wfns_vs_s100b", "wfns", "s100b"), ("s100b_vs_ndka", "s100b", "ndka")] {
        let scores = score(first).into_iter().zip(score(second));
        let babies: Vec<(f64, f64, bool)> = scores.zip(&outcome).map(|((a, b), o)| (a, b, *o)).collect();
        let (found, expected) = (roc::compare(&babies).unwrap(), &case["expected"][name]);
        close(&case, name, found.z.unwrap(), expected["z"].as_f64().unwrap());
        close(&case, name, found.p.unwrap(), expected["p"].as_f64().unwrap());
        close(&case, name, found.covariance, expected["cov"].as_f64().unwrap());
    }
}

/// The area below a curve by trapezia.
fn below(points: &[Point]) -> f64 {
    let step = |w: &[Point]| (w[1].false_alarms - w[0].false_alarms) * (w[1].sensitivity + w[0].sensitivity) / 2.0;
    points.windows(2).map(step).sum()
}

/// Two negatives at 1 and 2, two positives at 2 and 3, by hand.
#[test]
fn the_curve_has_a_point_a_score() {
    let points = curve(&[(2.0, true), (1.0, false), (3.0, true), (2.0, false)]);
    let points: Vec<_> = points
        .iter()
        .map(|p| (p.threshold, p.false_alarms, p.sensitivity))
        .collect();
    let expected = [
        (None, 0.0, 0.0),
        (Some(3.0), 0.0, 0.5),
        (Some(2.0), 0.5, 1.0),
        (Some(1.0), 1.0, 1.0),
    ];
    assert_eq!(points, expected);
}

#[test]
fn degenerate_scores_have_documented_areas() {
    assert_eq!((roc::area(&[]), curve(&[])), (None, Vec::new()));
    for one_kind in [true, false] {
        let scored = [(1.0, one_kind), (2.0, one_kind)];
        assert_eq!((roc::area(&scored), curve(&scored)), (None, Vec::new()));
    }
    assert_eq!(roc::area(&[(f64::NAN, true), (1.0, false)]), None);
    assert!(curve(&[(f64::NAN, true), (1.0, false)]).is_empty());
    let single = roc::area(&[(2.0, true), (1.0, false), (3.0, false)]).unwrap();
    assert_eq!((single.value, single.variance, single.interval), (0.5, None, None));
    let apart = roc::area(&[(1.0, false), (2.0, false), (3.0, true), (f64::INFINITY, true)]).unwrap();
    assert_eq!(
        (apart.value, apart.variance, apart.interval),
        (1.0, Some(0.0), Some(about(1.0, 0.0)))
    );
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

#[test]
fn degenerate_scores_have_documented_comparisons() {
    let babies = |scores: [(f64, f64); 4]| -> Vec<(f64, f64, bool)> {
        scores
            .iter()
            .zip([false, false, true, true])
            .map(|((a, b), is)| (*a, *b, is))
            .collect()
    };
    let same = roc::compare(&babies([(1.0, 1.0), (3.0, 3.0), (2.0, 2.0), (4.0, 4.0)])).unwrap();
    assert_eq!((same.difference, same.z, same.p), (0.0, Some(0.0), Some(1.0)));
    // Complete one way and the other: different without error.
    let opposite = roc::compare(&babies([(1.0, 4.0), (2.0, 3.0), (3.0, 2.0), (4.0, 1.0)])).unwrap();
    assert_eq!((opposite.difference, opposite.z, opposite.p), (1.0, None, None));
    assert_eq!(roc::compare(&[]), None);
    assert_eq!(
        roc::compare(&[(1.0, 1.0, true), (2.0, 2.0, false), (3.0, 3.0, false)]),
        None
    );
    assert_eq!(
        roc::compare(&babies([(1.0, 1.0), (f64::NAN, 3.0), (2.0, 2.0), (4.0, 4.0)])),
        None
    );
}
