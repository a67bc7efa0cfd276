//! Limits of agreement, of one and of several pairs per baby.

use siskin::statistics::agreement::bland_altman::agreement;
use siskin::statistics::agreement::concordance::concordance;
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
    let r2 = concordance(&data).map(|of| of.value / of.accuracy).unwrap();
    let three = found.sd * (3.0 / 17.0_f64).sqrt();
    figures(
        &case,
        &[
            ("n", found.pairs as f64),
            ("bias", found.bias),
            ("sd", found.sd),
            ("se_bias", found.bias_error),
            ("se_loa_exact", found.limit_error),
            ("t_paired_p", found.bias_p),
            ("prop_int", line.intercept),
            ("prop_slope", line.slope),
            ("prop_slope_se", line.slope_error),
            ("prop_p", line.slope_p),
            ("r_xy", r2),
            ("se_loa_3s2n", three),
        ],
    );
    let t = (found.bias_interval.upper - found.bias) / found.bias_error;
    intervals(
        &case,
        &[
            ("loa_1.96", found.limits),
            ("loa_2sd", about(found.bias, 2.0 * found.sd)),
            ("ci_bias", found.bias_interval),
            ("ci_lower_ex", found.lower_interval),
            ("ci_upper_ex", found.upper_interval),
            // The paper's approximation, from the same deviation and quantile.
            ("ci_lower_3s2n", about(found.limits.lower, t * three)),
            ("ci_upper_3s2n", about(found.limits.upper, t * three)),
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
    assert_eq!((equal.bias, equal.sd, equal.bias_p), (0.0, 0.0, 1.0));
    assert_eq!(equal.lower_interval, about(0.0, 0.0));
    assert_eq!(equal.proportional.unwrap().slope_p, 1.0);
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
    assert_eq!((found.sd, found.proportional.unwrap().slope_p), (0.0, 1.0));
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
/// `MixedLM(d ~ 1, groups=baby)` by REML, an iteration, gives 95.699568 and 20.555591 and the error
/// 4.134236 of the bias. The intervals are Zou's formulas with scipy 1.17 `chi2.ppf`.
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
    near(found.bias_error, 4.134_244_224_600_426, 1e-12);
    near(found.bias_error, 4.134_235_76, 1e-5);
    is_near(
        found.bias_interval,
        -2.682_968_663_397_750_8,
        18.571_857_552_286_637,
        1e-9,
    );
    near(found.sd, 10.782_186_956_065_804, 1e-12);
    is_near(found.limits, -13.188_641_989_444_53, 29.077_530_878_333_416, 1e-9);
    is_near(
        found.lower_interval,
        -42.439_910_816_022_98,
        -2.595_911_614_453_529,
        1e-8,
    );
    is_near(
        found.upper_interval,
        18.484_800_503_342_413,
        58.328_799_704_911_866,
        1e-8,
    );
}

/// Invented differences, one to five a baby: Zou's formulas in numpy, scipy 1.17 `hmean`, `chi2.ppf`.
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
    near(found.bias_error, 4.104_450_463_270_592, 1e-12);
    is_near(
        found.bias_interval,
        -2.340_847_528_633_355,
        17.745_609_433_395_263,
        1e-9,
    );
    near(found.between_sd.unwrap(), 10.358_191_716_807_314, 1e-12);
    near(found.within_sd.unwrap(), 4.435_565_626_190_466, 1e-12);
    near(found.sd, 11.267_935_838_758_493, 1e-12);
    is_near(
        found.lower_interval,
        -40.803_641_313_944_2,
        -3.602_653_726_601_016,
        1e-8,
    );
    is_near(
        found.upper_interval,
        19.007_415_631_362_92,
        56.208_403_218_706_096,
        1e-8,
    );
}

/// The limits' own intervals are by variance recovery here and symmetric there: Zou's formulas with
/// scipy 1.17 `chi2.ppf`.
#[test]
fn one_pair_per_baby_is_the_simple_form() {
    let data = pairs(&case("bland_altman_pefr"), "a", "b");
    let simple = agreement(&data).unwrap();
    let found = repeated(&data.iter().map(|pair| vec![*pair]).collect::<Vec<_>>()).unwrap();
    assert_eq!((found.between_sd, found.within_sd), (None, None));
    near(found.bias, simple.bias, 1e-12);
    near(found.sd, simple.sd, 1e-12);
    is_near(
        found.bias_interval,
        simple.bias_interval.lower,
        simple.bias_interval.upper,
        1e-12,
    );
    is_near(found.limits, simple.limits.lower, simple.limits.upper, 1e-12);
    is_near(
        found.lower_interval,
        -121.825_635_515_771_82,
        -51.346_009_621_943_82,
        1e-7,
    );
    is_near(
        found.upper_interval,
        47.110_715_504_296_75,
        117.590_341_398_124_75,
        1e-7,
    );
}

#[test]
fn degenerate_babies_have_documented_limits() {
    assert_eq!(repeated(&[]), None);
    assert_eq!(repeated(&of_differences(&[&[1.0, 2.0, 3.0], &[]])), None);
    assert_eq!(repeated(&[vec![(f64::INFINITY, 1.0)], vec![(1.0, 1.0)]]), None);
    assert_eq!(repeated(&[vec![(1e200, -1e200)], vec![(1.0, 1.0)]]), None);
    let equal = repeated(&of_differences(&[&[0.0, 0.0], &[0.0], &[0.0, 0.0, 0.0]])).unwrap();
    assert_eq!(
        (equal.sd, equal.between_sd, equal.within_sd),
        (0.0, Some(0.0), Some(0.0))
    );
    assert_eq!(
        (equal.lower_interval, equal.bias_interval),
        (about(0.0, 0.0), about(0.0, 0.0))
    );
    // Babies whose means are one: nothing between, and the total is still unbiased.
    let alike = repeated(&of_differences(&[&[-3.0, 3.0], &[-1.0, 1.0], &[-2.0, 2.0]])).unwrap();
    assert_eq!(alike.between_sd, Some(0.0));
    near(alike.sd.powi(2), 28.0 / 3.0 / 2.0, 1e-12);
    let two = repeated(&of_differences(&[&[1.0], &[2.0]])).unwrap();
    assert!(two.lower_interval.lower.is_finite() && two.lower_interval.lower < -20.0);
}
