//! Proportions and their differences.

use siskin::statistics::proportion::{newcombe, wilson};

/// Newcombe RG (1998) Stat Med 17:857-872, table I (method 3, Wilson score
/// without continuity correction); more digits from R 4.2 `prop.test(x, n,
/// correct = FALSE)`, with which statsmodels and scipy agree.
#[test]
fn wilson_intervals_equal_newcombes_table() {
    let rows = [
        (81, 263, 0.255_288_519_878_274, 0.366_209_576_982_8),
        (15, 148, 0.062_386_399_530_736_3, 0.160_487_241_723_308),
        (0, 20, 0.0, 0.161_125_158_052_819),
        (1, 29, 0.006_113_214_292_762_66, 0.171_755_218_793_203),
    ];
    for (events, trials, lower, upper) in rows {
        let interval = wilson(events, trials).unwrap();
        assert!(
            (interval.lower - lower).abs() < 1e-10,
            "{events}/{trials}: {interval:?}"
        );
        assert!(
            (interval.upper - upper).abs() < 1e-10,
            "{events}/{trials}: {interval:?}"
        );
    }
}

/// Newcombe RG (1998) Stat Med 17:873-890, table II, method 10 (hybrid score without continuity
/// correction); more digits from statsmodels `confint_proportions_2indep(method="newcomb")`.
#[test]
fn differences_of_proportions_equal_newcombes_table() {
    let rows = [
        ((56, 70), (48, 80), 0.052_431_472_402_365_065, 0.333_872_654_036_906),
        ((9, 10), (3, 10), 0.170_522_723_934_503_02, 0.809_017_973_535_488_1),
        ((6, 7), (2, 7), 0.058_227_927_482_312_2, 0.806_249_637_524_227_7),
        ((5, 56), (0, 29), -0.038_137_147_903_536_88, 0.192_560_013_855_112_61),
        ((0, 10), (0, 20), -0.161_125_158_052_819_38, 0.277_532_799_862_889_2),
        ((0, 10), (0, 10), -0.277_532_799_862_889_2, 0.277_532_799_862_889_2),
        ((10, 10), (0, 20), 0.679_086_037_141_914_7, 1.0),
        // From memory of the table; recomputed by statsmodels.
        ((10, 10), (0, 10), 0.607_509_350_430_524_2, 1.0),
    ];
    for (first, second, lower, upper) in rows {
        let found = newcombe(first, second).unwrap();
        assert!((found.lower - lower).abs() < 1e-10, "{first:?} {second:?}: {found:?}");
        assert!((found.upper - upper).abs() < 1e-10, "{first:?} {second:?}: {found:?}");
    }
    assert_eq!(newcombe((0, 0), (1, 2)), None);
}

#[test]
fn wilson_ends_are_exact_where_nothing_or_everything_happened() {
    assert_eq!(wilson(0, 5).unwrap().lower, 0.0);
    assert_eq!(wilson(5, 5).unwrap().upper, 1.0);
    assert_eq!(wilson(0, 0), None);
    assert_eq!(wilson(2, 1), None);
}
