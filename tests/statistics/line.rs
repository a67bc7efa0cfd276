//! Straight lines by least squares, and Student's t.

use super::published::{case, close, numbers};
use siskin::statistics::{line, student};

/// NIST StRD, dataset Norris, certified values; intervals from statsmodels 0.15 `OLS.conf_int`.
#[test]
fn the_line_equals_the_certified_one() {
    let case = case("nist_norris");
    let of = |name: &str| numbers(&case["inputs"][name]);
    let points: Vec<(f64, f64)> = of("x").into_iter().zip(of("y")).collect();
    let found = line::fit(&points).unwrap();
    let figures = [
        ("b0", found.intercept),
        ("se_b0", found.intercept_error),
        ("b1", found.slope),
        ("se_b1", found.slope_error),
        ("resid_sd", found.residual_sd),
        ("r2", found.r2.unwrap()),
    ];
    for (name, got) in figures {
        close(&case, name, got, case["expected"][name].as_f64().unwrap());
    }
    assert!((found.slope_interval.lower - 1.001_243_37).abs() < 1e-8);
    assert!((found.slope_interval.upper - 1.002_990_27).abs() < 1e-8);
    assert!((found.intercept_interval.lower + 0.735_466_65).abs() < 1e-8);
    assert!((found.intercept_interval.upper - 0.210_820_5).abs() < 1e-7);
    // statsmodels: 4.654e-90
    assert!(
        (found.slope_p / 4.654_040_85e-90 - 1.0).abs() < 1e-6,
        "{}",
        found.slope_p
    );
}

#[test]
fn a_line_far_from_the_origin_keeps_its_digits() {
    let points: Vec<(f64, f64)> = (0..10).map(|i| (1e9 + f64::from(i), 1e9 + f64::from(2 * i))).collect();
    let found = line::fit(&points).unwrap();
    assert_eq!((found.slope, found.residual_sd), (2.0, 0.0));
    assert_eq!((found.slope_p, found.r2), (0.0, Some(1.0)));
}

#[test]
fn degenerate_points_have_documented_answers() {
    assert_eq!(line::fit(&[]), None);
    assert_eq!(line::fit(&[(1.0, 1.0), (2.0, 2.0)]), None);
    assert_eq!(line::fit(&[(0.1, 1.0), (0.1, 2.0), (0.1, 4.0)]), None);
    assert_eq!(line::fit(&[(1.0, f64::NAN), (2.0, 1.0), (3.0, 1.0)]), None);
    assert_eq!(line::fit(&[(1e200, 1.0), (-1e200, 1.0), (3.0, 1.0)]), None);
    assert_eq!(line::fit(&[(1e-200, 1.0), (2e-200, 1.5), (3e-200, 1.0)]), None);
    let level = line::fit(&[(1.0, 0.1), (2.0, 0.1), (4.0, 0.1)]).unwrap();
    assert_eq!((level.slope, level.slope_error, level.slope_p), (0.0, 0.0, 1.0));
    assert_eq!((level.intercept, level.r2), (0.1, None));
}

/// scipy 1.17 `t.ppf(0.975, d)` and `2 * t.sf(t, d)` at 0.5 and 3.
#[test]
fn students_t_equals_scipys() {
    let rows = [
        (
            1,
            12.706_204_736_174_694,
            0.704_832_764_699_133_5,
            0.204_832_764_699_133_45,
        ),
        (
            2,
            4.302_652_729_749_462,
            0.666_666_666_666_666_7,
            0.095_465_966_266_709_13,
        ),
        (
            5,
            2.570_581_835_636_314_6,
            0.638_298_871_640_929_1,
            0.030_099_247_897_462_586,
        ),
        (
            16,
            2.119_905_299_221_254_6,
            0.623_881_555_300_045_9,
            0.008_479_499_419_647_998,
        ),
        (
            100,
            1.983_971_518_523_551_8,
            0.618_173_565_830_886_6,
            0.003_407_915_343_329_446_5,
        ),
        (
            1_000,
            1.962_339_080_826_408_3,
            0.617_185_080_833_874_7,
            0.002_766_709_044_238_192_5,
        ),
        (
            100_000,
            1.959_987_707_534_609_5,
            0.617_076_177_654_417_9,
            0.002_700_460_884_064_723_4,
        ),
        (
            10_000_000,
            1.959_964_221_767_205,
            0.617_075_088_454_014_8,
            0.002_699_802_711_037_163_5,
        ),
    ];
    let near = |got: f64, expected: f64| assert!((got / expected - 1.0).abs() < 1e-11, "{got} instead of {expected}");
    for (degrees, quantile, half, three) in rows {
        near(student::quantile_95(degrees).unwrap(), quantile);
        near(student::p_value(0.5, 1.0, degrees).unwrap(), half);
        near(student::p_value(-3.0, 1.0, degrees).unwrap(), three);
    }
    near(student::p_value(40.0, 1.0, 20).unwrap(), 1.457_469_655_431_075e-20);
}

#[test]
fn degenerate_estimates_have_documented_answers() {
    assert_eq!(student::quantile_95(0), None);
    assert_eq!(student::interval(1.0, 1.0, 0), None);
    assert_eq!(student::interval(1.0, f64::MAX, 1), None);
    assert_eq!(student::p_value(1.0, 1.0, 0), None);
    assert_eq!(student::p_value(f64::NAN, 1.0, 3), None);
    assert_eq!(student::p_value(0.0, 0.0, 3), Some(1.0));
    assert_eq!(student::p_value(0.0, 1.0, 3), Some(1.0));
    assert_eq!(student::p_value(1.0, 0.0, 3), Some(0.0));
    assert_eq!(student::p_value(1e300, 1e-300, 3), Some(0.0));
    let tiny = student::p_value(1e-200, 1.0, 3).unwrap();
    assert!((tiny - 1.0).abs() < 1e-12, "{tiny}");
}
