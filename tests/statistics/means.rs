//! Differences of means.

use siskin::statistics::means::welch;

/// An example of unequal variances often used for Welch's test; from scipy 1
/// `stats.ttest_ind(a, b, equal_var=False).confidence_interval()`, 26.95 degrees of freedom.
#[test]
fn welchs_interval_equals_scipys() {
    let a = [
        27.5, 21.0, 19.0, 23.6, 17.0, 17.9, 16.9, 20.1, 21.9, 22.6, 23.1, 19.6, 19.0, 21.7, 21.4,
    ];
    let b = [
        27.1, 22.0, 20.8, 23.4, 23.4, 23.5, 25.8, 22.0, 24.8, 20.2, 21.9, 22.1, 22.9, 30.5,
    ];
    let found = welch(&a, &b).unwrap();
    assert!((found.value + 2.78).abs() < 1e-12, "{found:?}");
    assert!((found.interval.lower + 4.886_730_044_370_594).abs() < 1e-9, "{found:?}");
    assert!(
        (found.interval.upper + 0.673_269_955_629_408_4).abs() < 1e-9,
        "{found:?}"
    );
}

/// The same interval in any unit: no square of a variance is lost.
#[test]
fn welchs_interval_does_not_depend_on_the_unit() {
    let (a, b) = ([1.0, 2.0, 4.0, 3.0], [2.0, 6.0, 9.0]);
    let plain = welch(&a, &b).unwrap();
    for unit in [1e-150, 1e-90, 1e90, 1e150] {
        let found = welch(&a.map(|value| value * unit), &b.map(|value| value * unit)).unwrap();
        for (got, expected) in [
            (found.interval.lower, plain.interval.lower),
            (found.interval.upper, plain.interval.upper),
        ] {
            assert!(
                (got / unit - expected).abs() < 1e-9,
                "{unit}: {found:?} instead of {plain:?}"
            );
        }
    }
}

/// Twelve months of one value after a number of months of the same: no difference, and no interval that
/// rounding could move off 0.
#[test]
fn two_samples_of_one_value_do_not_differ() {
    for value in [0.1, 0.7, 1.0 / 3.0, 14.3] {
        for before in 2..30 {
            assert_eq!(welch(&[value; 12], &vec![value; before]), None, "{value}, {before}");
        }
    }
}

#[test]
fn too_few_or_no_spread_has_no_interval() {
    assert_eq!(welch(&[], &[1.0, 2.0]), None);
    assert_eq!(welch(&[1.0], &[1.0, 2.0]), None);
    assert_eq!(welch(&[1.0, 1.0], &[2.0, 2.0]), None);
    assert_eq!(welch(&[1.0, f64::NAN], &[2.0, 2.5]), None);
}
