//! Straight lines between two ways of measuring that both err.

use siskin::statistics::agreement::deming::deming;
use siskin::statistics::agreement::passing_bablok::{MOST_POINTS, passing_bablok};
use siskin::statistics::line::fit;

use super::super::published::case;
use super::{about, figures, intervals, near, pairs};

/// Sources of both cases stand in the published file.
#[test]
fn demings_line_equals_the_published_ones() {
    for id in ["deming_simple_pefr", "deming_simple_creat"] {
        let case = case(id);
        let found = deming(&pairs(&case, "x", "y"), case["inputs"]["lambda"].as_f64().unwrap()).unwrap();
        figures(&case, &[("intercept", found.intercept), ("slope", found.slope)]);
        intervals(&case, &[("ci_slope_t_n_minus_2", found.slope_interval.unwrap())]);
    }
}

/// scipy 1.17 `minimize_scalar` of Σ (y - ȳ - b(x - x̄))² / (λ + b²), good to about eight digits; its
/// `odr` with deviations 1 and sqrt(λ) agrees to six.
#[test]
fn demings_line_takes_the_ratio_of_error_variances() {
    let data = pairs(&case("deming_simple_pefr"), "x", "y");
    for (ratio, slope, intercept) in [
        (0.25, 1.006_779_160_019_083, -0.935_367_594_476_417_7),
        (4.0, 0.937_456_392_421_082, 30.284_344_683_776_226),
    ] {
        let found = deming(&data, ratio).unwrap();
        near(found.slope, slope, 1e-7);
        near(found.intercept, intercept, 5e-5);
        // Exchanging the methods inverts the line.
        let exchanged: Vec<(f64, f64)> = data.iter().map(|(x, y)| (*y, *x)).collect();
        near(deming(&exchanged, 1.0 / ratio).unwrap().slope, 1.0 / found.slope, 1e-12);
    }
    // Where only y errs it is the line of least squares.
    let plain = fit(&data).unwrap();
    near(deming(&data, 1e12).unwrap().slope, plain.slope, 1e-9);
}

#[test]
fn degenerate_pairs_have_no_demings_line() {
    let line = |pairs: &[(f64, f64)]| deming(pairs, 1.0);
    assert_eq!(line(&[]), None);
    assert_eq!(line(&[(1.0, 2.0)]), None);
    assert_eq!(line(&[(0.1, 0.2), (0.1, 0.2), (0.1, 0.2)]), None);
    assert_eq!(line(&[(0.1, 2.0), (0.1, 3.0), (0.1, 5.0)]), None);
    assert_eq!(line(&[(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)]), None);
    assert_eq!(line(&[(1.0, f64::NAN), (2.0, 1.0)]), None);
    assert_eq!(line(&[(1e200, 1.0), (-1e200, 2.0)]), None);
    for ratio in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(deming(&[(1.0, 2.0), (2.0, 3.0), (3.0, 5.0)], ratio), None);
    }
    let level = line(&[(1.0, 0.3), (2.0, 0.3), (4.0, 0.3)]).unwrap();
    assert_eq!((level.slope, level.intercept), (0.0, 0.3));
    assert_eq!(level.slope_interval, Some(about(0.0, 0.0)));
    let two = line(&[(1.0, 1.0), (3.0, 2.0)]).unwrap();
    near(two.slope, 0.5, 1e-12);
    assert_eq!(two.slope_interval, None);
    // Without the last pair, the others are one point.
    let hanging = line(&[(1.0, 1.0), (1.0, 1.0), (1.0, 1.0), (3.0, 2.0)]).unwrap();
    assert_eq!(hanging.slope_interval, None);
}

/// Sources of the three cases stand in the published file.
#[test]
fn passing_and_babloks_line_equals_the_published_ones() {
    for id in ["passing_bablok_pefr", "passing_bablok_sen", "passing_bablok_creatinine"] {
        let case = case(id);
        let found = passing_bablok(&pairs(&case, "x", "y"), case["inputs"]["conf"].as_f64().unwrap()).unwrap();
        figures(&case, &[("slope", found.slope), ("intercept", found.intercept)]);
        intervals(&case, &[("slope_ci", found.slope_interval.unwrap())]);
    }
}

#[test]
fn passing_and_babloks_line_does_not_depend_on_order() {
    let mut data = pairs(&case("passing_bablok_creatinine"), "x", "y");
    let found = passing_bablok(&data, 0.95).unwrap();
    data.reverse();
    // Vertical slopes change their sign, and are counted by it.
    assert_eq!(passing_bablok(&data, 0.95).unwrap(), found);
}

/// The same data in hundredths, so that slopes of -1 are exact: Python 3 `fractions`.
#[test]
fn whole_numbers_give_passing_and_babloks_line_in_exact_arithmetic() {
    let data = pairs(&case("passing_bablok_creatinine"), "x", "y");
    let hundredths = |value: f64| (100.0 * value).round();
    let whole: Vec<(f64, f64)> = data.iter().map(|(x, y)| (hundredths(*x), hundredths(*y))).collect();
    let found = passing_bablok(&whole, 0.95).unwrap();
    near(found.slope, 1.087_912_087_912_087_8, 1e-12);
    near(found.intercept / 100.0, -0.117_032_967_032_967, 1e-12);
}

#[test]
fn of_too_many_points_some_are_left_out_evenly() {
    let points: Vec<(f64, f64)> = (0..2 * MOST_POINTS as i64 + 2)
        .map(|i| (i as f64, 1.5 * i as f64 + (i * 7919 % 101) as f64))
        .collect();
    let found = passing_bablok(&points, 0.95).unwrap();
    // Every third.
    let third: Vec<(f64, f64)> = points.iter().copied().step_by(3).collect();
    assert_eq!(passing_bablok(&third, 0.95), Some(found));
    near(found.slope, 1.5, 1e-3);
    assert!(found.slope_interval.unwrap().lower > 1.49);
}

#[test]
fn degenerate_points_have_no_passing_and_babloks_line() {
    let line = |points: &[(f64, f64)]| passing_bablok(points, 0.95);
    assert_eq!(line(&[]), None);
    assert_eq!(line(&[(1.0, 1.0)]), None);
    assert_eq!(line(&[(1.0, 1.0); 9]), None);
    assert_eq!(line(&[(1.0, 1.0), (1.0, 2.0), (1.0, 3.0)]), None);
    // Only slopes of -1, and only slopes below.
    assert_eq!(line(&[(1.0, 3.0), (2.0, 2.0), (3.0, 1.0)]), None);
    assert_eq!(line(&[(1.0, 30.0), (2.0, 20.0), (3.0, 10.0)]), None);
    assert_eq!(line(&[(1.0, f64::INFINITY), (2.0, 1.0)]), None);
    for level in [0.0, 1.0, -0.5, f64::NAN] {
        assert_eq!(passing_bablok(&[(1.0, 1.0), (2.0, 2.0), (3.0, 4.0)], level), None);
    }
    let two = line(&[(1.0, 1.0), (2.0, 3.0)]).unwrap();
    assert_eq!((two.slope, two.intercept, two.slope_interval), (2.0, -1.0, None));
    let straight: Vec<(f64, f64)> = (0..10).map(|i| (f64::from(i), f64::from(2 * i))).collect();
    assert_eq!(line(&straight).unwrap().slope_interval, Some(about(2.0, 0.0)));
    let level: Vec<(f64, f64)> = (0..10).map(|i| (f64::from(i), 0.3)).collect();
    let found = line(&level).unwrap();
    assert_eq!(
        (found.slope, found.intercept, found.slope_interval),
        (0.0, 0.3, Some(about(0.0, 0.0)))
    );
    let huge = line(&[(f64::MAX, f64::MAX), (-f64::MAX, -f64::MAX), (0.0, 0.0)]);
    assert!(huge.is_none_or(|of| of.slope.is_finite() && of.intercept.is_finite()));
}
