//! Straight lines by least squares, and Student's t.

use super::published::{case, close, numbers};
use siskin::statistics::{Interval, line, student};

/// NIST StRD, dataset Norris, certified values; intervals from statsmodels 0.15 `OLS.conf_int`.
#[test]
fn the_line_equals_the_certified_one() {
    let case = case("nist_norris");
    let of = |name: &str| numbers(&case["inputs"][name]);
    let points: Vec<(f64, f64)> = of("x").into_iter().zip(of("y")).collect();
    let found = line::fit(&points).unwrap();
    let certified = |name: &str| case["expected"][name].as_f64().unwrap();
    close(&case, "b1", found.slope, certified("b1"));
    let half = student::quantile_95(points.len() - 2).unwrap() * certified("se_b1");
    close(
        &case,
        "se_b1",
        found.slope_interval.upper - found.slope_interval.lower,
        2.0 * half,
    );
    assert!((found.slope_interval.lower - 1.001_243_37).abs() < 1e-8);
    assert!((found.slope_interval.upper - 1.002_990_27).abs() < 1e-8);
}

/// An interval of no width.
fn at(value: f64) -> Interval {
    Interval {
        lower: value,
        upper: value,
    }
}

#[test]
fn a_line_far_from_the_origin_keeps_its_digits() {
    let points: Vec<(f64, f64)> = (0..10).map(|i| (1e9 + f64::from(i), 1e9 + f64::from(2 * i))).collect();
    let found = line::fit(&points).unwrap();
    assert_eq!((found.slope, found.slope_interval), (2.0, at(2.0)));
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
    assert_eq!((level.slope, level.slope_interval), (0.0, at(0.0)));
}

/// scipy 1.17 `t.ppf(0.975, d)`.
#[test]
fn students_t_equals_scipys() {
    for (degrees, quantile) in [
        (1, 12.706_204_736_174_694),
        (2, 4.302_652_729_749_462),
        (5, 2.570_581_835_636_314_6),
        (16, 2.119_905_299_221_254_6),
        (100, 1.983_971_518_523_551_8),
        (1_000, 1.962_339_080_826_408_3),
        (100_000, 1.959_987_707_534_609_5),
        (10_000_000, 1.959_964_221_767_205),
    ] {
        let got = student::quantile_95(degrees).unwrap();
        assert!((got / quantile - 1.0).abs() < 1e-11, "{got} instead of {quantile}");
    }
}

#[test]
fn degenerate_estimates_have_documented_answers() {
    assert_eq!(student::quantile_95(0), None);
    assert_eq!(student::interval(1.0, 1.0, 0), None);
    assert_eq!(student::interval(1.0, f64::MAX, 1), None);
}
