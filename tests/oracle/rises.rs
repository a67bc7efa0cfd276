//! Rate of rise between two tests of one kind.

use super::rules::{Rules, hours};
use super::value::{Bound, Value};
use super::view::View;

/// A rise that is flagged.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct RiseRow {
    /// The baby.
    pub infant_id: String,
    /// `screens` or `serum`.
    pub test_table: String,
    /// The first of the two.
    pub first_id: String,
    /// The second.
    pub second_id: String,
}

/// One test: when, its id, its value.
type Test<'a> = (i64, &'a str, Value);

/// "A flag on a baby's consecutive tests of one kind at least 3 h apart"; tests with a bound are
/// passed over (choice 39).
pub fn rises(view: &View, rules: &Rules) -> Vec<RiseRow> {
    let screens = view
        .screens
        .iter()
        .map(|screen| (screen.at, screen.id.as_str(), screen.value));
    let serums = view
        .valid_serums
        .iter()
        .filter_map(|serum| Some((serum.at, serum.id.as_str(), serum.value?)));
    let mut rows = Vec::new();
    for (test_table, tests) in [
        ("screens", screens.collect::<Vec<Test>>()),
        ("serum", serums.collect::<Vec<Test>>()),
    ] {
        let exact: Vec<Test> = tests.into_iter().filter(|test| test.2.bound == Bound::Exact).collect();
        for two in exact.windows(2) {
            if is_rise(view, two[0], two[1], rules) {
                rows.push(RiseRow {
                    infant_id: view.infant_id.clone(),
                    test_table: test_table.to_string(),
                    first_id: two[0].1.to_string(),
                    second_id: two[1].1.to_string(),
                });
            }
        }
    }
    rows
}

/// ">= 0.3 mg/dL/h while the second is at age <= 24 h, >= 0.2 after."
fn is_rise(view: &View, first: Test, second: Test, rules: &Rules) -> bool {
    let (Some(rise), Some(age_s)) = (&rules.at(second.0).rise, view.age_s(second.0)) else {
        return false;
    };
    let apart_s = second.0 - first.0;
    if apart_s < hours(rise.apart_h) {
        return false;
    }
    let limit_micro_per_h = if age_s <= hours(rise.early_age_h) {
        rise.early_micro_per_h
    } else {
        rise.later_micro_per_h
    };
    let rose_micro = second.2.number_micro - first.2.number_micro;
    i128::from(rose_micro) * 3600 >= i128::from(limit_micro_per_h) * i128::from(apart_s)
}
