//! Limits of agreement of one pair per baby, bias and spread of several.

use siskin::statistics::agreement::bland_altman::agreement;
use siskin::statistics::agreement::repeated::repeated;

use super::super::published::case;
use super::{about, figures, intervals, is_near, near, pairs};

/// Bland JM, Altman DG (1986) Lancet i:307-310, table 1, first readings by both meters.
#[test]
fn limits_equal_bland_and_altmans() {
    let case = case("bland_altman_pefr");
    let data = pairs(&case, "a", "b");
    let found = agreement(&data).unwrap();
    let line = found.proportional.unwrap();
    figures(
        &case,
        &[
            ("n", found.pairs as f64),
            ("bias", found.bias),
            ("prop_slope", line.slope),
        ],
    );
    intervals(
        &case,
        &[
            ("loa_1.96", found.limits),
            ("ci_bias", found.bias_interval),
            ("ci_lower_ex", found.lower_interval),
            ("ci_upper_ex", found.upper_interval),
        ],
    );
    // statsmodels 0.15 `OLS(a - b, mean).conf_int`.
    is_near(line.slope_interval, -0.159_320_06, 0.216_694_95, 1e-8);
}

#[test]
fn degenerate_pairs_have_documented_limits() {
    assert_eq!(agreement(&[]), None);
    assert_eq!(agreement(&[(1.0, 2.0)]), None);
    assert_eq!(agreement(&[(1.0, f64::NAN), (1.0, 2.0)]), None);
    assert_eq!(agreement(&[(f64::MAX, -f64::MAX), (1.0, 2.0)]), None);
    let two = agreement(&[(3.0, 1.0), (5.0, 1.0)]).unwrap();
    assert_eq!((two.bias, two.proportional), (3.0, None));
    assert!(two.bias_interval.lower < -9.0 && two.bias_interval.upper < 16.0);
    let equal = agreement(&[(3.0, 3.0), (5.0, 5.0), (9.0, 9.0)]).unwrap();
    assert_eq!((equal.bias, equal.limits), (0.0, about(0.0, 0.0)));
    assert_eq!(equal.lower_interval, about(0.0, 0.0));
    let line = equal.proportional.unwrap();
    assert_eq!((line.slope, line.slope_interval), (0.0, about(0.0, 0.0)));
    // One mean, two differences.
    assert_eq!(
        agreement(&[(4.0, 2.0), (2.0, 4.0), (3.0, 3.0)]).unwrap().proportional,
        None
    );
}

/// 0.3 - 0.2 and 0.4 - 0.3 differ in their last digit; a meter that reads 0.1 more does not.
#[test]
fn the_rounding_of_readings_is_not_taken_for_a_difference() {
    let shifted: Vec<(f64, f64)> = (2..40)
        .map(|i| (f64::from(i + 1) / 10.0, f64::from(i) / 10.0))
        .collect();
    let found = agreement(&shifted).unwrap();
    assert_eq!(found.limits, about(found.bias, 0.0));
    assert_eq!(found.proportional.unwrap().slope_interval, about(0.0, 0.0));
    near(found.bias, 0.1, 1e-12);
}

/// Readings whose first is 100 plus the difference.
fn of_differences(babies: &[&[f64]]) -> Vec<Vec<(f64, f64)>> {
    let pairs = |of: &&[f64]| of.iter().map(|difference| (100.0 + difference, 100.0)).collect();
    babies.iter().map(pairs).collect()
}

const BALANCED: [&[f64]; 6] = [
    &[12.0, 18.0, 9.0],
    &[-4.0, 3.0, 1.0],
    &[22.0, 15.0, 20.0],
    &[7.0, -2.0, 4.0],
    &[16.0, 25.0, 13.0],
    &[-9.0, -1.0, -6.0],
];

/// Invented differences. The analysis of variance is statsmodels 0.15 `anova_lm(ols("d ~ C(baby)"))`:
/// mean squares 307.655556 (5) and 20.555556 (12), so between = (307.655556 - 20.555556)/3 = 95.7.
/// `MixedLM(d ~ 1, groups=baby)` by REML, an iteration, gives 95.699568 and 20.555591. The interval
/// is bias ± t(5) times its error, 4.134244.
#[test]
fn components_equal_an_analysis_of_variance() {
    let found = repeated(&of_differences(&BALANCED)).unwrap();
    assert_eq!((found.babies, found.pairs), (6, 18));
    let (between, within) = (found.between_sd.unwrap().powi(2), found.within_sd.unwrap().powi(2));
    near(between, 95.7, 1e-9);
    near(within, 20.0 + 5.0 / 9.0, 1e-9);
    near(between, 95.699_568_19, 5e-4);
    near(within, 20.555_590_64, 5e-5);
    near(found.bias, 143.0 / 18.0, 1e-12);
    is_near(
        found.bias_interval,
        -2.682_968_663_397_750_8,
        18.571_857_552_286_637,
        1e-9,
    );
}

/// Invented differences, one to five a baby: Zou's formulas in numpy, scipy 1.17 `hmean`.
#[test]
fn babies_with_unequal_numbers_of_pairs_have_one_vote_each() {
    let babies = of_differences(&[
        &[14.0],
        &[-3.0, 6.0],
        &[21.0, 12.0, 17.0],
        &[],
        &[8.0],
        &[2.0, -5.0, -1.0, 4.0, 0.0],
        &[18.0, 27.0],
        &[-11.0, -7.0, -13.0, -4.0],
    ]);
    let found = repeated(&babies).unwrap();
    assert_eq!((found.babies, found.pairs), (7, 18));
    near(found.bias, 7.702_380_952_380_953, 1e-12);
    is_near(
        found.bias_interval,
        -2.340_847_528_633_355,
        17.745_609_433_395_263,
        1e-9,
    );
    near(found.between_sd.unwrap(), 10.358_191_716_807_314, 1e-12);
    near(found.within_sd.unwrap(), 4.435_565_626_190_466, 1e-12);
}

#[test]
fn one_pair_per_baby_is_the_simple_form() {
    let data = pairs(&case("bland_altman_pefr"), "a", "b");
    let simple = agreement(&data).unwrap();
    let found = repeated(&data.iter().map(|pair| vec![*pair]).collect::<Vec<_>>()).unwrap();
    assert_eq!((found.between_sd, found.within_sd), (None, None));
    near(found.bias, simple.bias, 1e-12);
    is_near(
        found.bias_interval,
        simple.bias_interval.lower,
        simple.bias_interval.upper,
        1e-12,
    );
}

#[test]
fn degenerate_babies_have_documented_limits() {
    assert_eq!(repeated(&[]), None);
    assert_eq!(repeated(&of_differences(&[&[1.0, 2.0, 3.0], &[]])), None);
    assert_eq!(repeated(&[vec![(f64::INFINITY, 1.0)], vec![(1.0, 1.0)]]), None);
    assert_eq!(repeated(&[vec![(1e200, -1e200)], vec![(1.0, 1.0)]]), None);
    let equal = repeated(&of_differences(&[&[0.0, 0.0], &[0.0], &[0.0, 0.0, 0.0]])).unwrap();
    assert_eq!((equal.between_sd, equal.within_sd), (Some(0.0), Some(0.0)));
    assert_eq!(equal.bias_interval, about(0.0, 0.0));
    // Babies whose means are one: nothing between.
    let alike = repeated(&of_differences(&[&[-3.0, 3.0], &[-1.0, 1.0], &[-2.0, 2.0]])).unwrap();
    assert_eq!(alike.between_sd, Some(0.0));
    near(alike.within_sd.unwrap().powi(2), 28.0 / 3.0, 1e-12);
    let two = repeated(&of_differences(&[&[1.0], &[2.0]])).unwrap();
    assert!(two.bias_interval.lower.is_finite() && two.bias_interval.lower < -4.0);
}
