//! Counts, means, quantiles and medians.

use serde_json::{Value, json};

use super::published::{case, close, numbers};
use siskin::statistics::summary::{mean, median, quantile, standard_deviation};
use siskin::statistics::{binomial, poisson};

/// Garwood F (1936) Biometrika 28:437-442; digits from R `qchisq(p, 2 * x) / 2`, as
/// `epitools::pois.exact` gives them to 1e-9.
#[test]
fn poisson_intervals_equal_garwoods() {
    for id in ["poisson_exact_41", "poisson_exact_5"] {
        let case = case(id);
        let found = poisson::exact(case["inputs"]["x"].as_u64().unwrap());
        close(&case, "lower", found.lower, case["expected"]["lower"].as_f64().unwrap());
        close(&case, "upper", found.upper, case["expected"]["upper"].as_f64().unwrap());
    }
    // For no events the upper limit is -ln(0.025).
    let none = poisson::exact(0);
    assert_eq!(none.lower, 0.0);
    assert!((none.upper + 0.025_f64.ln()).abs() < 1e-9);
}

/// The case with the tolerance of one of its figures.
fn of_figure(case: &Value, figure: &str) -> Value {
    json!({"id": case["id"], "tolerance": case["tolerance"][figure]})
}

/// A first value, then two more 500 times.
fn repeated(inputs: &Value) -> Vec<f64> {
    let mut values = vec![inputs["first"].as_f64().unwrap()];
    values.extend(numbers(&inputs["then_repeat_500x"]).repeat(500));
    values
}

/// NIST StRD, certified values: values that differ in the eighth digit only.
#[test]
fn summaries_equal_nists_certified_values() {
    let check = |case: &Value, values: &[f64], expected: &Value| {
        for (name, got) in [("mean", mean(values)), ("sd", standard_deviation(values))] {
            let case = of_figure(case, name);
            close(&case, name, got.unwrap(), expected[name].as_f64().unwrap());
        }
    };
    let stress = case("nist_numacc4");
    let values = repeated(&stress["inputs"]);
    assert_eq!(values.len() as u64, stress["inputs"]["n"].as_u64().unwrap());
    check(&stress, &values, &stress["expected"]);
    let three = case("nist_numacc1_2_3");
    for name in ["NumAcc1", "NumAcc2", "NumAcc3"] {
        let inputs = &three["inputs"][name];
        let values = if inputs.is_array() {
            numbers(inputs)
        } else {
            repeated(inputs)
        };
        check(&three, &values, &three["expected"][name]);
    }
}

/// NIST StRD Michelso: the speed of light, Michelson 1879; certified values.
#[test]
fn summaries_equal_michelsons() {
    let case = case("nist_michelso");
    let values = numbers(&case["inputs"]["x"]);
    let expected = |of: &str| case["expected"][of].as_f64().unwrap();
    close(&case, "mean", mean(&values).unwrap(), expected("mean"));
    close(&case, "sd", standard_deviation(&values).unwrap(), expected("sd"));
}

/// Hyndman & Fan (1996) Am Stat 50:361-365, type 7; R `quantile(type = 7)`.
#[test]
fn quantiles_equal_type_seven() {
    let case = case("quantile_types_q_a");
    let values = numbers(&case["inputs"]["x"]);
    let expected = numbers(&case["expected"]["type7"]);
    assert!(!expected.is_empty());
    for (p, expected) in numbers(&case["inputs"]["p"]).into_iter().zip(expected) {
        close(&case, "type 7", quantile(&values, p).unwrap(), expected);
    }
}

/// Conover; ranks 2 and 9 of 10 in Campbell & Gardner (1988); scipy `quantile_test`.
#[test]
fn medians_and_their_intervals_equal_the_published() {
    for id in ["median_ci_a", "median_ci_pefr"] {
        let case = case(id);
        let expected = |of: &str| case["expected"][of].as_f64().unwrap();
        let mut values = numbers(&case["inputs"]["x"]);
        // In any order.
        values.reverse();
        let found = median(&values).unwrap();
        let interval = found.interval.unwrap();
        close(&case, "median", found.value, expected("median"));
        close(&case, "lower", interval.lower, expected("lower"));
        close(&case, "upper", interval.upper, expected("upper"));
    }
}

/// Of six values the range misses the median when all lie on one side: 2 of 64 cases. Of five it
/// does so in 2 of 32, more than 5 %.
#[test]
fn a_median_has_an_interval_from_six_values_on() {
    let six = median(&[6.0, 5.0, 4.0, 3.0, 2.0, 1.0]).unwrap();
    let interval = six.interval.unwrap();
    assert_eq!((six.value, interval.lower, interval.upper), (3.5, 1.0, 6.0));
    assert_eq!(median(&[5.0, 4.0, 3.0, 2.0, 1.0]).unwrap().interval, None);
    for n in 6..400 {
        let values: Vec<f64> = (0..n).map(f64::from).collect();
        let interval = median(&values).unwrap().interval.unwrap();
        assert_eq!(interval.lower + interval.upper, f64::from(n - 1), "{n}");
        // So many values or fewer below the median, and as many above, are missed by it.
        let missed = |places: f64| 2.0 * binomial::cdf(places as u64, n as u64, 0.5).unwrap();
        assert!(
            missed(interval.lower) <= 0.05 && missed(interval.lower + 1.0) > 0.05,
            "{n}"
        );
    }
}

/// 1, 2, 3 and 10 have a standard deviation of sqrt(50/3), whatever the unit.
#[test]
fn a_spread_is_the_same_in_any_unit() {
    let expected = (50.0_f64 / 3.0).sqrt();
    for unit in [1e200, 1e300, -1e200, 1e-200, 1e-300, 1.0, 0.1] {
        let values = [1.0, 2.0, 3.0, 10.0].map(|value| value * unit);
        let sd = standard_deviation(&values).unwrap();
        assert!((sd / f64::abs(unit) - expected).abs() < 1e-12, "{unit}: {sd}");
    }
    // Also beside a large value that they share.
    let sd = standard_deviation(&[1e200, 1e200 + 1e190, 1e200 - 1e190]).unwrap();
    assert!((sd / 1e190 - 1.0).abs() < 1e-5, "{sd}");
    assert_eq!(standard_deviation(&[1e200; 5]), Some(0.0));
    // The root of 13/12 times the largest number is no number.
    assert_eq!(standard_deviation(&[f64::MAX / 2.0, -f64::MAX, f64::MAX]), None);
}

/// Months of one value have that value as their mean, however many they are.
#[test]
fn values_that_are_one_have_it_as_their_mean() {
    for value in [0.1, 0.7, 1.0 / 3.0, 1e200, 287.1] {
        for n in 1..40 {
            let values = vec![value; n];
            assert_eq!(mean(&values), Some(value));
            assert_eq!(standard_deviation(&values), (n > 1).then_some(0.0));
        }
    }
}

#[test]
fn degenerate_values_have_documented_answers() {
    for values in [&[][..], &[f64::NAN], &[1.0, f64::INFINITY], &[f64::NAN, 1.0, 2.0]] {
        assert_eq!(mean(values), None);
        assert_eq!(standard_deviation(values), None);
        assert_eq!(quantile(values, 0.5), None);
        assert_eq!(median(values), None);
    }
    assert_eq!((mean(&[7.0]), standard_deviation(&[7.0])), (Some(7.0), None));
    assert_eq!(quantile(&[7.0], 0.3), Some(7.0));
    assert_eq!((quantile(&[7.0], -0.1), quantile(&[7.0], f64::NAN)), (None, None));
    let same = [0.1; 7];
    assert_eq!((mean(&same), standard_deviation(&same)), (Some(0.1), Some(0.0)));
    assert_eq!(quantile(&same, 0.3), Some(0.1));
    let interval = median(&same).unwrap().interval.unwrap();
    assert_eq!((interval.lower, interval.upper), (0.1, 0.1));
    let huge = [f64::MAX, -f64::MAX, f64::MAX, f64::MAX];
    assert_eq!(standard_deviation(&huge), None);
    assert_eq!(mean(&[f64::MAX, f64::MAX]), None);
    assert_eq!(quantile(&[f64::MAX, -f64::MAX], 0.5), Some(0.0));
    assert_eq!(quantile(&huge, 1.0), Some(f64::MAX));
}
