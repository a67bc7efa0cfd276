//! A test against the truth.

use siskin::statistics::agreement::diagnostic::Table;
use siskin::statistics::proportion::wilson;

use super::super::published::case;
use super::{figures, intervals};

/// Altman DG, Bland JM (1994) BMJ 308:1552 and 309:102: a liver scan against pathology.
#[test]
fn a_diagnostic_table_equals_the_published_one() {
    let case = case("diagnostic_liver_scan");
    let cell = |name: &str| case["inputs"][name].as_u64().unwrap();
    let table = Table {
        true_positives: cell("tp"),
        false_positives: cell("fp"),
        false_negatives: cell("fn"),
        true_negatives: cell("tn"),
    };
    let shares = [
        ("sens", table.sensitivity()),
        ("spec", table.specificity()),
        ("ppv", table.positive_predictive_value()),
        ("npv", table.negative_predictive_value()),
    ];
    for (name, share) in shares {
        let share = share.unwrap();
        figures(&case, &[(name, share.value)]);
        intervals(&case, &[(&format!("cp_{name}"), share.interval)]);
        intervals(
            &case,
            &[(&format!("wilson_{name}"), wilson(share.events, share.of).unwrap())],
        );
    }
}

#[test]
fn degenerate_tables_have_documented_answers() {
    let table = |cells: [u64; 4]| Table {
        true_positives: cells[0],
        false_positives: cells[1],
        false_negatives: cells[2],
        true_negatives: cells[3],
    };
    let none = table([0; 4]);
    assert_eq!((none.sensitivity(), none.specificity()), (None, None));
    let perfect = table([5, 0, 0, 9]);
    assert_eq!(perfect.sensitivity().unwrap().interval.upper, 1.0);
    let wrong = table([0, 4, 3, 0]);
    assert_eq!(wrong.positive_predictive_value().unwrap().interval.lower, 0.0);
    let all_positive = table([5, 4, 0, 0]);
    assert_eq!(all_positive.negative_predictive_value(), None);
    let huge = table([u64::MAX; 4]);
    assert_eq!(huge.sensitivity(), None);
}
