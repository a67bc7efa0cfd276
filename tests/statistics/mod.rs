//! Statistics against published figures. Sources beside each.

mod control;
mod published;

use siskin::statistics::aalen_johansen::{self, End};
use siskin::statistics::poisson;
use siskin::statistics::proportion::{newcombe, wilson};

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

/// Newcombe RG (1998) Stat Med 17:873-890, table II, method 10 (hybrid score without continuity
/// correction); more digits from statsmodels `confint_proportions_2indep(method="newcomb")`.
#[test]
fn differences_of_proportions_equal_newcombes_table() {
    let rows = [
        ((56, 70), (48, 80), 0.052_431_472_402_365_065, 0.333_872_654_036_906),
        ((9, 10), (3, 10), 0.170_522_723_934_503_02, 0.809_017_973_535_488_1),
        ((6, 7), (2, 7), 0.058_227_927_482_312_2, 0.806_249_637_524_227_7),
        ((5, 56), (0, 29), -0.038_137_147_903_536_88, 0.192_560_013_855_112_61),
        ((0, 10), (0, 20), -0.161_125_158_052_819_38, 0.277_532_799_862_889_2),
        ((0, 10), (0, 10), -0.277_532_799_862_889_2, 0.277_532_799_862_889_2),
        ((10, 10), (0, 20), 0.679_086_037_141_914_7, 1.0),
        // From memory of the table; recomputed by statsmodels.
        ((10, 10), (0, 10), 0.607_509_350_430_524_2, 1.0),
    ];
    for (first, second, lower, upper) in rows {
        let found = newcombe(first, second).unwrap();
        assert!((found.lower - lower).abs() < 1e-10, "{first:?} {second:?}: {found:?}");
        assert!((found.upper - upper).abs() < 1e-10, "{first:?} {second:?}: {found:?}");
    }
    assert_eq!(newcombe((0, 0), (1, 2)), None);
}

/// Garwood F (1936) Biometrika 28:437-442; digits from R `qchisq(p, 2 * x) / 2`, as
/// `epitools::pois.exact` gives them to 1e-9. For no events the upper limit is -ln(0.025).
#[test]
fn poisson_intervals_equal_garwoods() {
    let rows = [
        (41, 29.422_307_868_455_28, 55.621_129_565_734_92),
        (5, 1.623_486_390_118_420_7, 11.668_332_079_322_67),
        (0, 0.0, -(0.025_f64.ln())),
    ];
    for (events, lower, upper) in rows {
        let found = poisson::exact(events);
        assert!((found.lower - lower).abs() <= 1e-9 * lower, "{events}: {found:?}");
        assert!((found.upper - upper).abs() <= 1e-9 * upper, "{events}: {found:?}");
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

/// The same ten, from the published file.
#[test]
fn the_published_file_holds_the_example_worked_by_hand() {
    let case = published::case("cuminc_tiny_by_hand");
    let times = published::numbers(&case["inputs"]["time"]);
    let status = published::numbers(&case["inputs"]["status"]);
    let end = |s: f64| [End::Censored, End::Event, End::Competing][s as usize];
    let ends: Vec<(i64, End)> = times.iter().zip(status).map(|(t, s)| (*t as i64, end(s))).collect();
    let steps = aalen_johansen::incidence(&ends);
    let expected = &case["expected"];
    for (time, value) in published::numbers(&expected["t"])
        .iter()
        .zip(published::numbers(&expected["cif_1"]))
    {
        published::close(&case, "incidence", aalen_johansen::by(&steps, *time as i64), value);
    }
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
