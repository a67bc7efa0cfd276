//! The month of a change, and how sure it is. Very small p values are those of one split times the
//! number of splits.

use siskin::statistics::control::change_point::{proportions, rates, values};
use siskin::statistics::control::largest_of_chain::largest_of_chain;

use super::super::published::{case, numbers};

fn near(got: f64, expected: f64) {
    assert!((got / expected - 1.0).abs() < 1e-7, "{got} instead of {expected}");
}

/// Coal mining disasters in Britain by year, 1851 to 1962 (Jarrett RG (1979) Biometrika
/// 66:191-193; the counts from memory: 191 in 112 years). The likeliest last year at the older
/// rate is the 41st, 1891, with 3.10 before and 0.90 after (Raftery AE, Akman VE (1986)
/// Biometrika 73:85-89, from memory); twice the logarithm of the likelihood ratio is 69.98834474725106
/// from R `dpois`, and p 111 erfc(sqrt(it / 2)).
#[test]
fn disasters_in_coal_mines_became_rarer_after_1891() {
    let counts = [
        4, 5, 4, 1, 0, 4, 3, 4, 0, 6, 3, 3, 4, 0, 2, 6, 3, 3, 5, 4, 5, 3, 1, 4, 4, 1, 5, 5, 3, 4, 2, 5, 2, 2, 3, 4, 2,
        1, 3, 2, 2, 1, 1, 1, 1, 3, 0, 0, 1, 0, 1, 1, 0, 0, 3, 1, 0, 3, 2, 2, 0, 1, 1, 1, 0, 1, 0, 1, 0, 0, 0, 2, 1, 0,
        0, 0, 1, 1, 0, 2, 3, 3, 1, 1, 2, 1, 1, 1, 1, 2, 4, 2, 0, 0, 0, 1, 4, 0, 0, 0, 1, 0, 0, 0, 0, 0, 1, 0, 0, 1, 0,
        1,
    ];
    assert_eq!((counts.len(), counts.iter().sum::<u64>()), (112, 191));
    let change = rates(&counts.map(|count| (count, 1.0)), 1.0).unwrap();
    assert_eq!(change.first_after, 41);
    assert!((change.before - 127.0 / 41.0).abs() < 1e-12);
    assert!((change.after - 64.0 / 71.0).abs() < 1e-12);
    near(change.p_value, 6.621_805_528_436_924e-15);
}

/// Flow of the Nile at Aswan, 1871 to 1970 (R `Nile`): lower from 1899 on, after 28 years (Cobb GW
/// (1978) Biometrika 65:243-251). Means from R, and twice the logarithm of the likelihood ratio,
/// 57.36841150859047: t² = 98 (exp(it / 100) - 1), and p 99 times both tails of t.
#[test]
fn the_nile_fell_in_1899() {
    let flow = [
        1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020, 960, 1180, 799, 958, 1140,
        1100, 1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840, 874, 694, 940, 833, 701, 916, 692, 1020, 1050, 969,
        831, 726, 456, 824, 702, 1120, 1100, 832, 764, 821, 768, 845, 864, 862, 698, 845, 744, 796, 1040, 759, 781,
        865, 845, 944, 984, 897, 822, 1010, 771, 676, 649, 846, 812, 742, 801, 1040, 860, 874, 848, 890, 744, 749, 838,
        1050, 918, 986, 797, 923, 975, 815, 1020, 906, 901, 1170, 912, 746, 919, 718, 714, 740,
    ];
    let change = values(&flow.map(f64::from)).unwrap();
    assert_eq!(change.first_after, 28);
    assert!((change.before - 1097.75).abs() < 1e-9);
    assert!((change.after - 849.972_222_222_222_2).abs() < 1e-9);
    near(change.p_value, 7.364_651_886_714_303e-12);
}

/// Orange juice cans (Montgomery, table 7.3): a machine was adjusted after sample 30; the
/// likeliest last sample before the change is the 33rd. Levels from R `dbinom`, and twice the
/// logarithm of the likelihood ratio, 73.96326122158348: p is 53 erfc(sqrt(it / 2)).
#[test]
fn a_machine_adjusted_after_sample_thirty_is_found_near_it() {
    let cans = numbers(&case("run_chart_oj")["inputs"]["y"]);
    let months: Vec<(u64, u64)> = cans.iter().map(|x| (*x as u64, 50)).collect();
    let change = proportions(&months, 1.0).unwrap();
    assert_eq!(change.first_after, 33);
    assert!((change.before - 374.0 / 1650.0).abs() < 1e-12);
    assert!((change.after - 106.0 / 1050.0).abs() < 1e-12);
    near(change.p_value, 4.217_978_986_216_330_6e-16);
}

/// Armitage P, McPherson CK, Rowe BC (1969) J R Stat Soc A 132:235-244, table 2, from memory: the
/// chance that one of so many looks at growing data passes 1.96.
#[test]
fn repeated_looks_equal_the_table_of_armitage_and_others() {
    let table = [
        (1, 0.05),
        (2, 0.083),
        (3, 0.107),
        (4, 0.126),
        (5, 0.142),
        (10, 0.193),
        (20, 0.248),
        (50, 0.320),
    ];
    for (looks, expected) in table {
        let correlations: Vec<f64> = (1..looks).map(|i| (f64::from(i) / f64::from(i + 1)).sqrt()).collect();
        let found = largest_of_chain(&correlations, 1.959_964);
        assert!((found - expected).abs() < 0.0006, "{looks}: {found}");
    }
}

#[test]
fn months_without_trials_are_passed_over() {
    let months = [(1, 50), (2, 50), (0, 0), (1, 50), (9, 50), (0, 0), (11, 50)];
    let change = proportions(&months, 1.0).unwrap();
    assert_eq!(change.first_after, 4);
    let without: Vec<(u64, u64)> = months.into_iter().filter(|month| month.1 > 0).collect();
    let plain = proportions(&without, 1.0).unwrap();
    assert_eq!((plain.first_after, plain.p_value), (3, change.p_value));
}

#[test]
fn degenerate_series_have_documented_answers() {
    assert_eq!(proportions(&[], 1.0), None);
    assert_eq!(proportions(&[(1, 9), (2, 9)], 1.0), None);
    assert_eq!(proportions(&[(0, 9), (0, 9), (0, 9)], 1.0), None);
    assert_eq!(proportions(&[(9, 9), (9, 9), (9, 9)], 1.0), None);
    assert_eq!(proportions(&[(9, 8), (9, 9), (9, 9)], 1.0), None);
    assert_eq!(proportions(&[(0, 0); 5], 1.0), None);
    assert_eq!(rates(&[(1, f64::NAN), (1, 1.0), (1, 1.0)], 1.0), None);
    assert_eq!(rates(&[(1, f64::MAX), (1, f64::MAX), (1, 1.0)], 1.0), None);
    assert_eq!(values(&[1.0, 2.0]), None);
    assert_eq!(values(&[1.0, 2.0, f64::NAN]), None);
    assert_eq!(values(&[2.0; 9]), None);
    let clear = values(&[1.0, 1.0, 1.0, 4.0, 4.0]).unwrap();
    assert_eq!((clear.first_after, clear.before, clear.after), (3, 1.0, 4.0));
    assert_eq!(clear.p_value, 0.0);
    // No difference at all: the earliest split, and nothing to be sure of.
    let same = proportions(&[(3, 9), (3, 9), (3, 9)], 1.0).unwrap();
    assert_eq!((same.first_after, same.p_value), (1, 1.0));
    // All happened after: a rate of 0 before.
    let from_none = proportions(&[(0, 9), (0, 9), (9, 9), (9, 9)], 1.0).unwrap();
    assert_eq!(
        (from_none.first_after, from_none.before, from_none.after),
        (2, 0.0, 1.0)
    );
    // One month holds nearly everything.
    let lopsided = rates(&[(1, 1e-300), (5, 1e9), (2, 1e-300)], 1.0).unwrap();
    assert!(lopsided.p_value.is_finite() && lopsided.before.is_finite() && lopsided.after.is_finite());
    assert_eq!(largest_of_chain(&[0.5], 0.0), 1.0);
    assert_eq!(largest_of_chain(&[0.5], f64::NAN), 1.0);
    assert_eq!(largest_of_chain(&[0.5], f64::INFINITY), 0.0);
    assert!((largest_of_chain(&[1.0, 1.0, 1.0], 1.959_964) - 0.05).abs() < 1e-6);
}

#[test]
fn months_that_differ_by_more_than_chance_make_a_change_less_sure() {
    let months = [(12, 100), (15, 100), (13, 100), (25, 100), (27, 100), (23, 100)];
    let plain = proportions(&months, 1.0).unwrap();
    let wide = proportions(&months, 2.0).unwrap();
    assert_eq!(wide.first_after, 3);
    // 40 of 300, then 75 of 300; a sixth of the trials a month.
    let log_likelihood = |x: f64, n: f64| x * (x / n).ln() + (n - x) * (1.0 - x / n).ln();
    let split = log_likelihood(40.0, 300.0) + log_likelihood(75.0, 300.0);
    let ratio = 2.0 * (split - log_likelihood(115.0, 600.0));
    let odds = |i: i32| f64::from(i) / f64::from(6 - i);
    let correlations: Vec<f64> = (1..5).map(|i| (odds(i) / odds(i + 1)).sqrt()).collect();
    near(plain.p_value, largest_of_chain(&correlations, ratio.sqrt()));
    near(wide.p_value, largest_of_chain(&correlations, (ratio / 4.0).sqrt()));
    assert!(plain.p_value < 0.01 && wide.p_value > 0.1);
    for sigma_z in [0.5, f64::NAN] {
        assert_eq!(proportions(&months, sigma_z), Some(plain));
    }
    assert_eq!(proportions(&months, f64::INFINITY).unwrap().p_value, 1.0);
}
