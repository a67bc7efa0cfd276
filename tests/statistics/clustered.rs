//! Proportions of clustered trials.

use siskin::statistics::Interval;
use siskin::statistics::clustered::{clustered, clustered_exact};
use siskin::statistics::proportion::{Z_95, clopper_pearson, wilson};
use siskin::statistics::student::quantile_95;

/// Wilson's interval of `p` in a number of trials that need not be whole.
fn wilson_of(p: f64, n: f64) -> Interval {
    let z2 = Z_95 * Z_95;
    let half = Z_95 * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt();
    let end = |half: f64| (p + z2 / (2.0 * n) + half) / (1.0 + z2 / n);
    Interval {
        lower: end(-half),
        upper: end(half),
    }
}

/// What few clusters take off: the square of t of trials over that of clusters.
fn few(of_trials: usize, of_clusters: usize) -> f64 {
    (quantile_95(of_trials).unwrap() / quantile_95(of_clusters).unwrap()).powi(2)
}

/// Three clusters, by hand: p = 6/10, residuals 1.6, -1.8 and 0.2, so v = 3/2·5.84/100 = 0.0876
/// against 0.24/9, a design effect of 3.285. t(9) = 2.262157 and t(2) = 4.302653 of any handbook.
#[test]
fn the_example_worked_by_hand() {
    let found = clustered(&[(4, 4), (0, 3), (2, 3)]).unwrap();
    let n = 10.0 / 3.285 * (2.262_157_f64 / 4.302_653).powi(2);
    let expected = wilson_of(0.6, n);
    assert!((found.lower - expected.lower).abs() < 1e-6 && (found.upper - expected.upper).abs() < 1e-6);
}

/// Litters of rats: how many of the pups alive at 4 days were weaned (treated group; Weil CS (1970)
/// Food Cosmet Toxicol 8:177-182, the example of Rao JNK, Scott AJ (1992) Biometrics 48:577-585;
/// the counts are from memory). The expected figures come by another route: the pups one by one
/// in a regression on a constant with cluster-robust variance, statsmodels 0.15
/// `OLS(y, 1).fit(cov_type="cluster")`, over that of the plain regression; scipy 1.17 `t.ppf`;
/// statsmodels `proportion_confint(method="wilson")` of the effective sample.
#[test]
fn litters_equal_a_cluster_robust_regression() {
    let litters = [
        (12, 12),
        (11, 11),
        (10, 10),
        (9, 9),
        (10, 11),
        (9, 10),
        (9, 10),
        (8, 9),
        (8, 9),
        (4, 5),
        (7, 9),
        (4, 7),
        (5, 10),
        (3, 6),
        (3, 10),
        (0, 7),
    ];
    let found = clustered(&litters).unwrap();
    let close = |got: f64, expected: f64| assert!((got - expected).abs() < 1e-9, "{got} instead of {expected}");
    close(found.lower, 0.602_205_559_432_767_4);
    close(found.upper, 0.883_841_197_393_224_2);
    // In any order.
    let mut turned = litters;
    turned.reverse();
    close(clustered(&turned).unwrap().lower, found.lower);
}

#[test]
fn clusters_of_one_trial_give_wilsons_interval() {
    for (events, trials) in [(1, 2), (7, 20), (199, 200), (0, 20), (20, 20), (1, 1)] {
        let clusters: Vec<(u64, u64)> = (0..trials).map(|i| (u64::from(i < events), 1)).collect();
        let found = clustered(&clusters).unwrap();
        let plain = wilson(events, trials).unwrap();
        assert!((found.lower - plain.lower).abs() < 1e-12, "{found:?}");
        assert!((found.upper - plain.upper).abs() < 1e-12, "{found:?}");
    }
}

/// Where each of 40 pairs agrees, half of the 80 trials tell nothing: the variance is that of 40.
#[test]
fn trials_that_agree_count_once() {
    let pairs: Vec<(u64, u64)> = (0..40).map(|i| if i < 10 { (2, 2) } else { (0, 2) }).collect();
    let found = clustered(&pairs).unwrap();
    // 40/39 · 40·(1/2·3/2) / 80² over (3/16)/79
    let effect: f64 = 40.0 / 39.0 * 30.0 / 6400.0 / (0.1875 / 79.0);
    assert!((effect - 2.0).abs() < 0.03);
    let expected = wilson_of(0.25, 80.0 / effect * few(79, 39));
    assert!((found.lower - expected.lower).abs() < 1e-12, "{found:?}");
    assert!((found.upper - expected.upper).abs() < 1e-12, "{found:?}");
}

/// Each of two halves: the variance between clusters is 0, and yet the interval is not narrower
/// than that of independent trials.
#[test]
fn a_design_effect_is_never_under_one() {
    let found = clustered(&[(1, 2); 30]).unwrap();
    let plain = wilson(30, 60).unwrap();
    let expected = wilson_of(0.5, 60.0 * few(59, 29));
    assert!((found.lower - expected.lower).abs() < 1e-12, "{found:?}");
    assert!(found.lower < plain.lower && found.upper > plain.upper);
}

#[test]
fn without_a_variance_trials_of_a_cluster_count_as_alike() {
    // No event in three clusters of 1, 2 and 3: (1 + 4 + 9)/6 and 36/14 trials.
    let none = clustered(&[(0, 1), (0, 2), (0, 3)]).unwrap();
    assert_eq!(none.lower, 0.0);
    // z² / (n + z²) where nothing happened in n trials.
    let upper = Z_95 * Z_95 / (36.0 / 14.0 + Z_95 * Z_95);
    assert!((none.upper - upper).abs() < 1e-12);
    let all = clustered(&[(1, 1), (2, 2), (3, 3)]).unwrap();
    assert!((all.lower - (1.0 - upper)).abs() < 1e-12 && all.upper == 1.0);
    // A single cluster counts as one trial.
    let (single, expected) = (clustered(&[(3, 7)]).unwrap(), wilson_of(3.0 / 7.0, 1.0));
    assert!((single.lower - expected.lower).abs() < 1e-12 && (single.upper - expected.upper).abs() < 1e-12);
    assert!(single.lower > 0.0 && single.upper < 1.0);
}

/// 2,000 readings, 50 on each of 40 meter-days, of which two days went by without a check: 5 %, which of
/// independent readings would be 4.1 to 6.0 %. By days, by hand: Σ(x - 2.5)² is 2 · 47.5² + 38 · 2.5² =
/// 4,750; v = 40/39 · 4,750 / 2,000²; over 0.05 · 0.95 / 1,999 a design effect of 51.26; t(1999) = 1.961152
/// and t(39) = 2.022691 of any handbook. So 2,000 readings are worth 36.7, and it is 1.4 to 16 %: nearly
/// that of 2 of 40 days.
#[test]
fn readings_of_a_meter_day_are_worth_little_more_than_one() {
    let days: Vec<(u64, u64)> = (0..40).map(|day| if day < 2 { (50, 50) } else { (0, 50) }).collect();
    let found = clustered(&days).unwrap();
    let effect = 40.0 / 39.0 * 4750.0 / 4e6 / (0.0475 / 1999.0);
    let n = 2000.0 / effect * (1.961_152_f64 / 2.022_691).powi(2);
    let expected = wilson_of(0.05, n);
    assert!((effect - 51.26).abs() < 0.01 && (n - 36.7).abs() < 0.1);
    assert!((found.lower - expected.lower).abs() < 1e-6 && (found.upper - expected.upper).abs() < 1e-6);
    let (plain, of_days) = (wilson(100, 2000).unwrap(), wilson(2, 40).unwrap());
    assert!(
        (plain.lower - 0.0413).abs() < 1e-4 && (plain.upper - 0.0604).abs() < 1e-4,
        "{plain:?}"
    );
    assert!((found.upper - of_days.upper).abs() < 0.01 && (found.lower - of_days.lower).abs() < 0.01);
}

/// Korn and Graubard's own interval is Clopper and Pearson's of the same effective sample: with clusters
/// of one trial exactly that of the trials, else never narrower.
#[test]
fn the_exact_interval_of_single_trials_is_clopper_and_pearsons() {
    for (events, trials) in [(1, 2), (7, 20), (199, 200), (0, 20), (20, 20), (1, 1)] {
        let clusters: Vec<(u64, u64)> = (0..trials).map(|i| (u64::from(i < events), 1)).collect();
        let (found, plain) = (
            clustered_exact(&clusters).unwrap(),
            clopper_pearson(events, trials).unwrap(),
        );
        assert!((found.lower - plain.lower).abs() < 1e-12, "{found:?}");
        assert!((found.upper - plain.upper).abs() < 1e-12, "{found:?}");
    }
    let alike = clustered_exact(&[(4, 4), (0, 3), (2, 3)]).unwrap();
    let plain = clopper_pearson(6, 10).unwrap();
    assert!(alike.lower < plain.lower && plain.upper < alike.upper);
    assert_eq!(clustered_exact(&[]), None);
    assert_eq!(clustered_exact(&[(3, 2)]), None);
    assert_eq!(clustered_exact(&[(0, 3), (0, 2)]).unwrap().lower, 0.0);
}

#[test]
fn degenerate_clusters_have_documented_answers() {
    assert_eq!(clustered(&[]), None);
    assert_eq!(clustered(&[(0, 0), (0, 0)]), None);
    assert_eq!(clustered(&[(1, 2), (3, 2)]), None);
    assert_eq!(clustered(&[(0, u64::MAX), (0, 1)]), None);
    // Clusters without trials are left out.
    assert_eq!(clustered(&[(1, 2), (0, 0), (2, 3)]), clustered(&[(1, 2), (2, 3)]));
    let two = clustered(&[(1, 2), (0, 2)]).unwrap();
    assert!(0.0 < two.lower && two.lower < 0.25 && 0.25 < two.upper && two.upper < 1.0);
    let huge = clustered(&[(u64::MAX / 4, u64::MAX / 2), (5, u64::MAX / 4)]).unwrap();
    assert!(0.0 <= huge.lower && huge.lower < huge.upper && huge.upper <= 1.0);
}
