//! Ratios as numbers.

use siskin::statistics::ratio::ratio;

/// Every ratio of two numbers up to 60, in many terms: one number each, and another for another ratio.
#[test]
fn equal_ratios_are_equal_numbers_and_others_are_not() {
    for per in [1.0, 1000.0, 100_000.0, 0.1] {
        for of in 1..=60_u64 {
            for count in 0..=60_u64 {
                let plain = ratio(count, of, per).unwrap();
                for times in [2, 3, 7, 10, 101, 1_000_003, u64::MAX / 60] {
                    let again = ratio(count * times, of * times, per).unwrap();
                    assert_eq!(
                        again.to_bits(),
                        plain.to_bits(),
                        "{count} of {of}, {times} times, per {per}"
                    );
                }
                assert!(ratio(count + 1, of, per).unwrap() > plain);
                assert!(count == 0 || ratio(count, of + 1, per).unwrap() < plain);
            }
        }
    }
}

#[test]
fn a_share_is_the_quotient_correctly_rounded() {
    assert_eq!(ratio(19, 20, 1.0), Some(0.95));
    assert_eq!(ratio(0, 20, 1.0), Some(0.0));
    assert_eq!(ratio(5, 2000, 1000.0), Some(2.5));
    for (count, of) in [(1, 3), (7, 22), (123_457, 999_983)] {
        assert_eq!(ratio(count, of, 1.0), Some(count as f64 / of as f64));
    }
}

#[test]
fn degenerate_ratios_have_documented_answers() {
    assert_eq!(ratio(3, 0, 1.0), None);
    assert_eq!(ratio(0, 0, 1.0), None);
    for per in [0.0, -1.0, f64::NAN, f64::INFINITY, f64::MAX] {
        assert_eq!(ratio(3, 2, per), None);
    }
    assert_eq!(ratio(u64::MAX, u64::MAX, 1000.0), Some(1000.0));
    assert_eq!(ratio(u64::MAX, 1, 1.0), Some(u64::MAX as f64));
}
