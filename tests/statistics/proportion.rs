//! Proportions, their differences, and the binomial distribution behind them.

use super::published::{case, close, numbers};
use siskin::statistics::binomial::{cdf, quantile};
use siskin::statistics::proportion::{clopper_pearson, newcombe, wilson};

fn is_close(got: f64, expected: f64, relative: f64) -> bool {
    (got - expected).abs() <= relative * expected.abs()
}

/// Newcombe RG (1998) Stat Med 17:857-872, table I: Wilson's score interval without continuity
/// correction, and the exact one; digits of R `prop.test(correct = FALSE)` and `binom.test`.
#[test]
fn intervals_equal_newcombes_table() {
    for id in ["binom_81_263", "binom_15_148", "binom_0_20", "binom_1_29"] {
        let case = case(id);
        let count = |of: &str| case["inputs"][of].as_u64().unwrap();
        let (x, n) = (count("x"), count("n"));
        for (what, interval) in [("wilson", wilson(x, n)), ("clopper_pearson", clopper_pearson(x, n))] {
            let (got, expected) = (interval.unwrap(), numbers(&case["expected"][what]));
            close(&case, what, got.lower, expected[0]);
            close(&case, what, got.upper, expected[1]);
        }
        close(&case, "p", x as f64 / n as f64, case["expected"]["p"].as_f64().unwrap());
    }
}

/// Newcombe RG (1998) Stat Med 17:873-890, table II, method 10 (hybrid score without continuity
/// correction); digits of statsmodels `confint_proportions_2indep(method="newcomb")`.
#[test]
fn differences_of_proportions_equal_newcombes_table() {
    for id in [
        "newcombe10_56_70_48_80",
        "newcombe10_9_10_3_10",
        "newcombe10_6_7_2_7",
        "newcombe10_5_56_0_29",
        "newcombe10_0_10_0_20",
        "newcombe10_0_10_0_10",
        "newcombe10_10_10_0_20",
        "newcombe10_10_10_0_10",
    ] {
        let case = case(id);
        let count = |of: &str| case["inputs"][of].as_u64().unwrap();
        let found = newcombe((count("x1"), count("n1")), (count("x2"), count("n2"))).unwrap();
        let expected = |of: &str| case["expected"][of].as_f64().unwrap();
        close(&case, "difference", found.value, expected("diff"));
        close(&case, "lower", found.lower, expected("lower"));
        close(&case, "upper", found.upper, expected("upper"));
    }
    assert_eq!(newcombe((0, 0), (1, 2)), None);
}

/// scipy 1.17 `beta.ppf`, which is not one of the two implementations that lose digits here.
#[test]
fn exact_intervals_hold_for_a_million_trials() {
    let rows = [
        (500_000, 1_000_000, 0.499_019_519_195_311_84, 0.500_980_480_804_688_2),
        (12_345, 1_000_000, 0.012_129_493_825_606_12, 0.012_563_337_660_712_826),
        (1, 1_000_000, 2.531_780_766_379_417_8e-8, 5.571_630_655_166_939e-6),
        (999_999, 1_000_000, 0.999_994_428_369_344_8, 0.999_999_974_682_192_4),
        (60_000, 100_000, 0.596_955_772_341_376_1, 0.603_038_426_489_671_1),
        (17, 100_000, 9.903_428_379_688_562e-5, 0.000_272_172_561_193_328),
        (5_000, 20_000, 0.244_010_538_075_261_57, 0.256_062_213_519_818_84),
    ];
    for (x, n, lower, upper) in rows {
        let found = clopper_pearson(x, n).unwrap();
        let both = is_close(found.lower, lower, 1e-11) && is_close(found.upper, upper, 1e-11);
        assert!(both, "{x}/{n}: {found:?}");
    }
}

/// With no event the upper limit is 1 - 0.025^(1/n), and with one the lower is 1 - 0.975^(1/n).
#[test]
fn exact_limits_equal_their_closed_forms() {
    for n in [1, 2, 7, 100, 10_001, 1_000_000, 1_000_000_000] {
        let limit = |tail: f64| -(tail.ln() / n as f64).exp_m1();
        let (none, one) = (clopper_pearson(0, n).unwrap(), clopper_pearson(1, n).unwrap());
        assert!(is_close(none.upper, limit(0.025), 1e-12), "{n}: {none:?}");
        assert!(is_close(one.lower, limit(0.975), 1e-12), "{n}: {one:?}");
        // The mirror image, for everything.
        let all = clopper_pearson(n, n).unwrap();
        assert!(is_close(all.lower, 1.0 - none.upper, 1e-12), "{n}: {all:?}");
    }
}

/// At an exact limit, the distribution itself has 2.5 % beyond what was seen.
#[test]
fn exact_limits_leave_two_and_a_half_percent_on_each_side() {
    for (x, n) in [(1, 2), (3, 10), (50, 1_000), (70_000, 200_000), (999_000, 1_000_000)] {
        let found = clopper_pearson(x, n).unwrap();
        let at_most = cdf(x, n, found.upper).unwrap();
        let at_least = 1.0 - cdf(x - 1, n, found.lower).unwrap();
        assert!(is_close(at_most, 0.025, 1e-9), "{x}/{n}: {at_most}");
        assert!(is_close(at_least, 0.025, 1e-9), "{x}/{n}: {at_least}");
    }
}

#[test]
fn ends_are_exact_where_nothing_or_everything_happened() {
    for interval in [wilson, clopper_pearson] {
        assert_eq!(interval(0, 5).unwrap().lower, 0.0);
        assert_eq!(interval(5, 5).unwrap().upper, 1.0);
        assert_eq!(interval(0, 0), None);
        assert_eq!(interval(2, 1), None);
        for (x, n) in [
            (0, u64::MAX),
            (3, u64::MAX),
            (u64::MAX / 2, u64::MAX),
            (u64::MAX, u64::MAX),
        ] {
            let of = interval(x, n).unwrap();
            assert!(
                0.0 <= of.lower && of.lower <= of.upper && of.upper <= 1.0,
                "{x}: {of:?}"
            );
        }
    }
}

/// scipy 1.17 `binom.cdf` and `binom.ppf`.
#[test]
fn binomial_chances_and_quantiles_equal_scipys() {
    let chances = [
        (3, 10, 0.9, 9.121_599_999_999_986e-6),
        (30, 100, 0.3, 0.549_123_600_768_790_7),
        (9_999, 20_000, 0.51, 0.002_285_433_840_505_985_5),
        (0, 1_000_000, 1e-6, 0.367_879_257_231_645_1),
        (1_200, 1_000_000, 0.001, 0.999_999_999_619_425_3),
        (499_000, 1_000_000, 0.5, 0.022_804_149_932_694_8),
        (500_000, 1_000_000, 0.5, 0.500_398_942_180_665_4),
    ];
    for (k, n, p, expected) in chances {
        let found = cdf(k, n, p).unwrap();
        assert!(is_close(found, expected, 1e-11), "{k} of {n} at {p}: {found}");
    }
    let quantiles = [
        (0.025, 1_000_000, 0.5, 499_020),
        (0.001, 1_000_000, 0.2, 198_765),
        (0.999, 20_000, 0.013, 311),
        (0.975, 17, 0.5, 12),
        (0.001, 50, 0.02, 0),
    ];
    for (level, n, p, expected) in quantiles {
        assert_eq!(quantile(level, n, p), Some(expected), "{level} of {n} at {p}");
    }
}

/// Of 12 trials at 0.5, k or fewer come in a sum of binomial coefficients of 4096 cases.
#[test]
fn binomial_chances_equal_a_sum_of_coefficients() {
    let coefficients = [1.0, 12.0, 66.0, 220.0, 495.0, 792.0, 924.0];
    let mut sum = 0.0;
    for (k, of) in coefficients.iter().enumerate() {
        sum += of / 4096.0;
        assert!(is_close(cdf(k as u64, 12, 0.5).unwrap(), sum, 1e-14), "{k}");
        // A level that is exactly a chance is reached by its own k.
        assert_eq!(quantile(sum, 12, 0.5), Some(k as u64));
    }
}

#[test]
fn degenerate_binomials_have_documented_answers() {
    assert_eq!(cdf(0, 0, 0.5), Some(1.0));
    assert_eq!(cdf(9, 5, 0.5), Some(1.0));
    assert_eq!((cdf(2, 5, 0.0), cdf(2, 5, 1.0)), (Some(1.0), Some(0.0)));
    assert_eq!((cdf(2, 5, -0.1), cdf(2, 5, f64::NAN)), (None, None));
    assert_eq!((quantile(0.0, 5, 0.5), quantile(1.0, 5, 0.5)), (Some(0), Some(5)));
    assert_eq!((quantile(0.5, 5, 0.0), quantile(0.5, 5, 1.0)), (Some(0), Some(5)));
    assert_eq!((quantile(1.5, 5, 0.5), quantile(0.5, 5, 1.5)), (None, None));
    assert_eq!((quantile(0.5, 0, 0.5), quantile(0.5, 0, 2.0)), (Some(0), None));
}
