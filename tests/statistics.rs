//! Statistics against published figures. Sources beside each.

use siskin::statistics::aalen_johansen::{self, End};
use siskin::statistics::proportion::wilson;

/// Newcombe RG (1998) Stat Med 17:857-872, table I (method 3, Wilson score
/// without continuity correction); more digits from R 4.2 `prop.test(x, n,
/// correct = FALSE)`, with which statsmodels and scipy agree.
#[test]
fn wilson_intervals_equal_newcombes_table() {
    let rows = [
        (81, 263, 0.255_288_519_878_274, 0.366_209_576_982_8),
        (15, 148, 0.062_386_399_530_736_3, 0.160_487_241_723_308),
        (0, 20, 0.0, 0.161_125_158_052_819),
        (1, 29, 0.006_113_214_292_762_66, 0.171_755_218_793_203),
    ];
    for (events, trials, lower, upper) in rows {
        let interval = wilson(events, trials).unwrap();
        assert!(
            (interval.lower - lower).abs() < 1e-10,
            "{events}/{trials}: {interval:?}"
        );
        assert!(
            (interval.upper - upper).abs() < 1e-10,
            "{events}/{trials}: {interval:?}"
        );
    }
}

#[test]
fn wilson_ends_are_exact_where_nothing_or_everything_happened() {
    assert_eq!(wilson(0, 5).unwrap().lower, 0.0);
    assert_eq!(wilson(5, 5).unwrap().upper, 1.0);
    assert_eq!(wilson(0, 0), None);
    assert_eq!(wilson(2, 1), None);
}

/// Ten subjects, worked in fractions: CIF1(8) = 101/210, CIF2(8) = 109/210; R 4.2
/// `survival::survfit` gives the same.
#[test]
fn cumulative_incidence_equals_the_example_worked_by_hand() {
    let times = [1, 2, 2, 3, 4, 5, 5, 6, 7, 8];
    let status = [1, 2, 0, 1, 1, 0, 2, 1, 0, 2];
    let of_cause = |cause: i32| {
        let ends = times.iter().zip(status).map(|(time, s)| {
            let end = match s {
                0 => End::Censored,
                s if s == cause => End::Event,
                _ => End::Competing,
            };
            (*time, end)
        });
        aalen_johansen::incidence(&ends.collect::<Vec<_>>())
    };
    let (first, second) = (of_cause(1), of_cause(2));
    assert!((aalen_johansen::by(&first, 8) - 101.0 / 210.0).abs() < 1e-12);
    assert!((aalen_johansen::by(&second, 8) - 109.0 / 210.0).abs() < 1e-12);
    assert!((aalen_johansen::by(&first, 3) - (0.1 + 0.8 / 7.0)).abs() < 1e-12);
    assert_eq!(aalen_johansen::by(&first, 0), 0.0);
    assert_eq!(aalen_johansen::median(&first), None);
}

#[test]
fn one_minus_kaplan_meier_would_overstate_the_incidence() {
    let ends = [
        (1, End::Event),
        (2, End::Competing),
        (3, End::Event),
        (4, End::Censored),
    ];
    let incidence = aalen_johansen::by(&aalen_johansen::incidence(&ends), 4);
    // With the competing event censored: 1 - 3/4 * 1/2 = 0.625.
    assert!((incidence - 0.5).abs() < 1e-12);
}

#[test]
fn degenerate_follow_ups_have_documented_answers() {
    assert!(aalen_johansen::incidence(&[]).is_empty());
    assert_eq!(aalen_johansen::median(&[]), None);
    assert!(aalen_johansen::incidence(&[(3, End::Censored)]).is_empty());
    let all = aalen_johansen::incidence(&[(2, End::Event), (2, End::Event)]);
    assert_eq!(aalen_johansen::by(&all, 2), 1.0);
    assert_eq!(aalen_johansen::median(&all), Some(2));
}
