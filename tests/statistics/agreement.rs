//! Two ways of measuring compared.

mod concordance; // how near pairs lie to equality
mod coverage; // how often intervals hold the truth
mod diagnostic; // a test against the truth
mod limits; // limits of agreement of one pair per baby, bias and spread of several
mod lines; // lines between two methods that both err
mod roc; // areas below the curves of scores

use serde_json::Value;
use siskin::statistics::Interval;

use super::published::{close, numbers};

/// The pairs of two lists of a case's inputs.
fn pairs(case: &Value, first: &str, second: &str) -> Vec<(f64, f64)> {
    let of = |name: &str| numbers(&case["inputs"][name]);
    of(first).into_iter().zip(of(second)).collect()
}

/// Compares single figures with a case's expected ones.
fn figures(case: &Value, found: &[(&str, f64)]) {
    for (name, got) in found {
        close(case, name, *got, case["expected"][*name].as_f64().unwrap());
    }
}

/// Compares intervals with a case's expected ones, each a pair of limits.
fn intervals(case: &Value, found: &[(&str, Interval)]) {
    for (name, got) in found {
        let expected = numbers(&case["expected"][*name]);
        assert_eq!(expected.len(), 2, "{name}");
        close(case, name, got.lower, expected[0]);
        close(case, name, got.upper, expected[1]);
    }
}

fn near(got: f64, expected: f64, apart: f64) {
    assert!((got - expected).abs() <= apart, "{got} instead of {expected}");
}

fn is_near(got: Interval, lower: f64, upper: f64, apart: f64) {
    near(got.lower, lower, apart);
    near(got.upper, upper, apart);
}

/// An interval `by` either side of each limit.
fn about(limit: f64, by: f64) -> Interval {
    Interval {
        lower: limit - by,
        upper: limit + by,
    }
}
