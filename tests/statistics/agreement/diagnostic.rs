//! A test against the truth.

use siskin::statistics::Interval;
use siskin::statistics::agreement::diagnostic::Table;
use siskin::statistics::proportion::wilson;

use super::super::published::{case, close, numbers};
use super::{about, figures, intervals};

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
    let accuracy = table.accuracy().unwrap();
    let with_interval = |name: &str, value: f64, interval: Interval| {
        let expected = numbers(&case["expected"][name]);
        close(&case, name, value, expected[0]);
        close(&case, name, interval.lower, expected[1]);
        close(&case, name, interval.upper, expected[2]);
    };
    with_interval("accuracy_cp", accuracy.value, accuracy.interval);
    for (name, ratio) in [
        ("lr_pos", table.positive_likelihood_ratio()),
        ("lr_neg", table.negative_likelihood_ratio()),
        ("dor", table.odds_ratio()),
    ] {
        let ratio = ratio.unwrap();
        with_interval(name, ratio.value, ratio.interval.unwrap());
    }
    // The reference adds up the exact limits of both; Newcombe's interval lies inside.
    let (youden, [sens, spec]) = (table.youden().unwrap(), [table.sensitivity(), table.specificity()]);
    let [sens, spec] = [sens, spec].map(|share| share.unwrap().interval);
    let (lower, upper) = (sens.lower + spec.lower - 1.0, sens.upper + spec.upper - 1.0);
    with_interval("youden", youden.value, Interval { lower, upper });
    assert!(lower < youden.lower && youden.lower < youden.value);
    assert!(youden.value < youden.upper && youden.upper < upper);
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
    assert_eq!(
        (none.sensitivity(), none.specificity(), none.accuracy()),
        (None, None, None)
    );
    assert_eq!((none.positive_likelihood_ratio(), none.odds_ratio()), (None, None));
    assert_eq!(none.youden(), None);
    let perfect = table([5, 0, 0, 9]);
    assert_eq!(perfect.sensitivity().unwrap().interval.upper, 1.0);
    assert_eq!(
        (perfect.positive_likelihood_ratio(), perfect.odds_ratio()),
        (None, None)
    );
    let never = perfect.negative_likelihood_ratio().unwrap();
    assert_eq!((never.value, never.interval), (0.0, None));
    let wrong = table([0, 4, 3, 0]);
    assert_eq!(wrong.positive_likelihood_ratio().unwrap().value, 0.0);
    assert_eq!(wrong.negative_likelihood_ratio(), None);
    assert_eq!(wrong.odds_ratio().unwrap().interval, None);
    assert_eq!(wrong.positive_predictive_value().unwrap().interval.lower, 0.0);
    let all_positive = table([5, 4, 0, 0]);
    assert_eq!(all_positive.negative_predictive_value(), None);
    assert_eq!(
        all_positive.positive_likelihood_ratio().unwrap().interval,
        Some(about(1.0, 0.0))
    );
    assert_eq!(all_positive.negative_likelihood_ratio(), None);
    let huge = table([u64::MAX; 4]);
    assert_eq!((huge.sensitivity(), huge.accuracy(), huge.youden()), (None, None, None));
    assert_eq!(huge.positive_likelihood_ratio().unwrap().value, 1.0);
}
