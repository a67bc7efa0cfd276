//! Published figures and worked examples, one file a family under `published/`: each case has its
//! inputs, what is expected, the source and the tolerance. Read here, compared in the tests beside.

use serde_json::Value;

const FAMILIES: [&str; 7] = [
    include_str!("published/agreement.json"),
    include_str!("published/comparison.json"),
    include_str!("published/control.json"),
    include_str!("published/proportion.json"),
    include_str!("published/regression.json"),
    include_str!("published/summary.json"),
    include_str!("published/survival.json"),
];

/// The case of this id.
pub(super) fn case(id: &str) -> Value {
    let families = FAMILIES
        .iter()
        .map(|text| serde_json::from_str::<Vec<Value>>(text).unwrap());
    let found = families.flatten().find(|case| case["id"] == id);
    found.unwrap_or_else(|| panic!("no published case {id}"))
}

/// The numbers of a list; one that is not defined (`null`) is NaN.
pub(super) fn numbers(value: &Value) -> Vec<f64> {
    let number = |v: &Value| v.as_f64().unwrap_or(f64::NAN);
    value.as_array().unwrap().iter().map(number).collect()
}

/// Asserts that `got` is within the tolerance of the case.
pub(super) fn close(case: &Value, what: &str, got: f64, expected: f64) {
    let tolerance = |kind: &str| case["tolerance"][kind].as_f64().unwrap_or(0.0);
    let apart = (got - expected).abs();
    let is_close = apart <= tolerance("abs") || apart <= tolerance("rel") * expected.abs();
    assert!(is_close, "{}, {what}: {got} instead of {expected}", case["id"]);
}
