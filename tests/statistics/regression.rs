//! Regressions. Sources beside each.

mod coverage;

use siskin::statistics::proportion::Z_95;
use siskin::statistics::regression::NoFit;
use siskin::statistics::regression::design::Design;
use siskin::statistics::regression::generalised::{self, Counts, Errors};
use siskin::statistics::regression::least_squares;
use siskin::statistics::regression::newey_west;
use siskin::statistics::regression::phases::phases;
use siskin::statistics::regression::segmented::{Effect, Series, segmented};

use super::published::{case, close, numbers};

fn near(got: f64, expected: f64, relative: f64) {
    assert!(
        (got - expected).abs() <= relative * expected.abs(),
        "{got} instead of {expected}"
    );
}

fn all_near(got: &[f64], expected: &[f64], relative: f64) {
    assert_eq!(got.len(), expected.len());
    got.iter()
        .zip(expected)
        .for_each(|(got, expected)| near(*got, *expected, relative));
}

/// NIST StRD, certified to 15 digits.
#[test]
fn a_line_equals_nists_norris() {
    let published = case("nist_norris");
    let (x, y) = (numbers(&published["inputs"]["x"]), numbers(&published["inputs"]["y"]));
    let design = Design::of(vec![vec![1.0; x.len()], x]).unwrap();
    let fit = least_squares::fit(&design, &y).unwrap();
    for (what, got) in [
        ("b0", fit.coefficients[0]),
        ("se_b0", fit.error(0).unwrap()),
        ("b1", fit.coefficients[1]),
        ("se_b1", fit.error(1).unwrap()),
        ("resid_sd", fit.residual_sd),
    ] {
        close(&published, what, got, published["expected"][what].as_f64().unwrap());
    }
}

/// NIST StRD, certified to 15 digits; columns nearly depend on each other.
#[test]
fn coefficients_equal_nists_longley() {
    let published = case("nist_longley");
    let inputs = &published["inputs"];
    let y = numbers(&inputs["y"]);
    let names = [
        "x1_deflator",
        "x2_gnp",
        "x3_unemployed",
        "x4_armed",
        "x5_pop",
        "x6_year",
    ];
    let mut columns = vec![vec![1.0; y.len()]];
    columns.extend(names.iter().map(|name| numbers(&inputs[name])));
    let fit = least_squares::fit(&Design::of(columns).unwrap(), &y).unwrap();
    let expected = &published["expected"];
    for (i, (b, se)) in numbers(&expected["b"]).iter().zip(numbers(&expected["se"])).enumerate() {
        close(&published, "b", fit.coefficients[i], *b);
        close(&published, "se", fit.error(i).unwrap(), se);
    }
    close(
        &published,
        "resid_sd",
        fit.residual_sd,
        expected["resid_sd"].as_f64().unwrap(),
    );
}

#[test]
fn units_of_columns_do_not_matter() {
    let x: Vec<f64> = (0..9).map(f64::from).collect();
    let y = [1.0, 3.0, 2.0, 5.0, 4.0, 6.0, 9.0, 7.0, 8.0];
    let of = |scale: f64| {
        let scaled = x.iter().map(|x| x * scale).collect();
        let fit = least_squares::fit(&Design::of(vec![vec![1.0; 9], scaled]).unwrap(), &y).unwrap();
        (fit.coefficients[1] * scale, fit.error(1).unwrap() * scale)
    };
    let plain = of(1.0);
    for scale in [1e-150, 1e-9, 1e9, 1e150] {
        near(of(scale).0, plain.0, 1e-12);
        near(of(scale).1, plain.1, 1e-12);
    }
}

#[test]
fn degenerate_least_squares_have_documented_answers() {
    let design = |columns: Vec<Vec<f64>>| Design::of(columns).unwrap();
    let x = vec![0.0, 1.0, 2.0, 3.0];
    let y = [1.0, 2.0, 2.0, 4.0];
    let why = |columns, y: &[f64]| least_squares::fit(&design(columns), y).unwrap_err();
    let double = x.iter().map(|x| 2.0 * x + 3.0).collect();
    assert_eq!(why(vec![vec![1.0; 4], x.clone(), double], &y), NoFit::Dependent);
    assert_eq!(why(vec![vec![0.0; 4]], &y), NoFit::Dependent);
    assert_eq!(why(vec![vec![1.0; 4], x.clone()], &y[..3]), NoFit::Invalid);
    assert_eq!(why(vec![vec![1.0; 4]], &[1.0, f64::NAN, 1.0, 1.0]), NoFit::Invalid);
    assert_eq!(why(vec![vec![1.0; 2], vec![0.0, 1.0]], &y[..2]), NoFit::TooFewRows);
    assert_eq!(
        why(vec![vec![1.0; 4]], &[f64::MAX, -f64::MAX, f64::MAX, 1.0]),
        NoFit::Invalid
    );
    assert_eq!(Design::of(vec![]), Err(NoFit::Invalid));
    assert_eq!(Design::of(vec![vec![f64::INFINITY]]), Err(NoFit::Invalid));

    let same = least_squares::fit(&design(vec![vec![1.0; 4], x.clone()]), &[5.0; 4]).unwrap();
    near(same.coefficients[0], 5.0, 1e-14);
    let perfect = least_squares::fit(&design(vec![vec![1.0; 4], x.clone()]), &[1.0, 3.0, 5.0, 7.0]).unwrap();
    assert!(perfect.residual_sd < 1e-14);
    let through_origin = least_squares::fit(&design(vec![x]), &y).unwrap();
    assert_eq!(through_origin.error(1), None);
}

/// The months of the published case.
struct Sicily {
    months: Vec<(u64, f64)>,
    time: Vec<f64>,
    ban: Vec<f64>,
    month: Vec<f64>,
}

fn sicily() -> Sicily {
    let inputs = case("its_sicily_smoking_ban")["inputs"].clone();
    let list = |what: &str| numbers(&inputs[what]);
    Sicily {
        months: list("aces")
            .iter()
            .zip(list("stdpop"))
            .map(|(x, n)| (*x as u64, n))
            .collect(),
        time: list("time"),
        ban: list("smokban"),
        month: list("month"),
    }
}

/// Dispersions of the smoking ban, settled: R 4.2.2 `glm(family = quasipoisson)` with `epsilon =
/// 1e-15`. The published ones are of R's customary 1e-8, where the weights of the dispersion are
/// those of the step before the last, and 2e-6 apart.
const DISPERSIONS: [(&str, f64); 3] = [
    ("quasipoisson", 3.559_186_763_760_712),
    ("quasi_harmonic2", 2.262_182_640_500_1),
    ("quasi_slope_change_int_ban_time_inter", 3.621_377_112_148_97),
];

#[test]
fn the_four_models_of_the_smoking_ban_equal_the_published() {
    let published = case("its_sicily_smoking_ban");
    let of = sicily();
    let ones = vec![1.0; of.time.len()];
    let season = |wave: fn(f64) -> f64, harmonic: f64| -> Vec<f64> {
        of.month
            .iter()
            .map(|m| wave(std::f64::consts::TAU * harmonic * m / 12.0))
            .collect()
    };
    let fit =
        |columns: Vec<Vec<f64>>| generalised::fit(&Design::of(columns).unwrap(), Counts::Rates(&of.months)).unwrap();
    let expected = &published["expected"];
    let compare = |what: &str, fit: &generalised::Fit, coefficients: &str, errors: Errors| {
        let expected = &expected[what];
        if expected[coefficients].is_array() {
            for (i, value) in numbers(&expected[coefficients]).iter().enumerate() {
                close(&published, coefficients, fit.coefficients[i], *value);
            }
        }
        for (i, value) in numbers(&expected["se"]).iter().enumerate() {
            close(&published, "se", fit.error(i, errors).unwrap(), *value);
        }
        if let Some(value) = expected["rr_ban"].as_f64() {
            close(&published, "rr_ban", fit.coefficients[1].exp(), value);
        }
        if let Some((_, settled)) = DISPERSIONS.iter().find(|(of, _)| *of == what) {
            near(fit.dispersion, *settled, 1e-10);
            near(fit.dispersion, expected["dispersion"].as_f64().unwrap(), 3e-6);
        }
        // The case takes normal quantiles for both kinds of errors.
        if expected["ci"].is_array() {
            let half = Z_95 * fit.error(1, errors).unwrap();
            let ends = numbers(&expected["ci"]);
            close(&published, "ci", (fit.coefficients[1] - half).exp(), ends[0]);
            close(&published, "ci", (fit.coefficients[1] + half).exp(), ends[1]);
        }
    };
    let plain = fit(vec![ones.clone(), of.ban.clone(), of.time.clone()]);
    compare("poisson", &plain, "coef_int_ban_time", Errors::Model);
    compare("quasipoisson", &plain, "the same", Errors::Quasi);
    let interval = plain.interval(1, Errors::Model).unwrap();
    let ends = numbers(&expected["poisson"]["ci"]);
    close(&published, "ci", interval.lower.exp(), ends[0]);
    close(&published, "ci", interval.upper.exp(), ends[1]);

    let seasonal = fit(vec![
        ones.clone(),
        of.ban.clone(),
        season(f64::sin, 1.0),
        season(f64::cos, 1.0),
        season(f64::sin, 2.0),
        season(f64::cos, 2.0),
        of.time.clone(),
    ]);
    compare(
        "quasi_harmonic2",
        &seasonal,
        "coef_int_ban_s1_c1_s2_c2_time",
        Errors::Quasi,
    );
    let product = of.ban.iter().zip(&of.time).map(|(a, b)| a * b).collect();
    let sloped = fit(vec![ones, of.ban.clone(), of.time.clone(), product]);
    compare("quasi_slope_change_int_ban_time_inter", &sloped, "coef", Errors::Quasi);
}

#[test]
fn segmented_rates_equal_the_published_smoking_ban() {
    let published = case("its_sicily_smoking_ban");
    let expected = &published["expected"];
    let of = sicily();
    // Time counted from the change: coefficients of statsmodels 0.15 GLM(Poisson), scale="X2",
    // use_t=True; the level there is ban + 37 times the interaction of the case.
    let sloped = segmented(Series::Rates(&of.months), 36).unwrap();
    let coefficients = numbers(&expected["quasi_slope_change_int_ban_time_inter"]["coef"]);
    close(
        &published,
        "level",
        sloped.level.value.ln(),
        coefficients[1] + 37.0 * coefficients[3],
    );
    close(&published, "slope", sloped.slope_change.value.ln(), coefficients[3]);
    near(sloped.level.interval.lower, 0.832_507_746_135_550_2, 1e-6);
    near(sloped.level.interval.upper, 0.956_881_605_401_399, 1e-6);
    near(sloped.slope_change.interval.upper, 1.005_055_512_689_794_7, 1e-6);
}

/// An invented series of 24 months, one of them without trials.
const INVENTED: [(u64, u64); 24] = [
    (11, 82),
    (14, 75),
    (13, 91),
    (17, 88),
    (9, 79),
    (15, 84),
    (12, 80),
    (18, 77),
    (14, 93),
    (10, 86),
    (19, 81),
    (13, 90),
    (8, 85),
    (9, 78),
    (5, 88),
    (12, 92),
    (6, 83),
    (3, 79),
    (9, 87),
    (0, 0),
    (4, 84),
    (7, 90),
    (2, 76),
    (8, 82),
];

/// statsmodels 0.15 `GLM(family=Binomial())` for coefficients and errors; R 4.2.2
/// `glm(family = quasibinomial)` with `qt` for the quasi errors and intervals.
#[test]
fn a_segmented_proportion_equals_statsmodels_and_r() {
    let t = |month: usize| month as f64 - 12.0;
    let column = |of: &dyn Fn(usize) -> f64| (0..24).map(of).collect::<Vec<f64>>();
    let design = Design::of(vec![
        vec![1.0; 24],
        column(&|m| if m < 12 { 0.0 } else { 1.0 }),
        column(&t),
        column(&|m| t(m).max(0.0)),
    ]);
    let fit = generalised::fit(&design.unwrap(), Counts::Proportions(&INVENTED)).unwrap();
    let coefficients = [
        -1.560_886_802_858_005,
        -0.664_320_301_529_965,
        0.010_592_799_694_313,
        -0.055_936_754_790_605,
    ];
    let errors = [
        0.178_077_781_284_602_7,
        0.274_346_389_790_399_8,
        0.024_613_796_578_650_27,
        0.042_697_454_904_996_53,
    ];
    let quasi = [
        0.190_785_322_574_801,
        0.293_923_610_771_757,
        0.026_370_224_775_787,
        0.045_744_323_903_912,
    ];
    all_near(&fit.coefficients, &coefficients, 1e-10);
    for i in 0..4 {
        near(fit.error(i, Errors::Model).unwrap(), errors[i], 1e-9);
        near(fit.error(i, Errors::Quasi).unwrap(), quasi[i], 1e-9);
    }
    near(fit.dispersion, 1.147_811_176_515_031_8, 1e-10);
    assert_eq!(fit.degrees, 19);

    let found = segmented(Series::Proportions(&INVENTED), 12).unwrap();
    let effects = [found.level, found.slope_change];
    let expected = [
        [0.514_623_197_458_129, 0.278_173_714_251_576, 0.952_056_293_581_044],
        [0.945_598_938_602_134, 0.859_262_577_946_554, 1.040_610_141_340_403],
    ];
    for (effect, expected) in effects.iter().zip(expected) {
        all_near(
            &[effect.value, effect.interval.lower, effect.interval.upper],
            &expected,
            1e-9,
        );
    }
}

/// Dispersion of R 4.2.2 `glm(cbind(y, n - y) ~ after, family = quasibinomial)`; the difference by
/// statsmodels `confint_proportions_2indep(method="newcomb")`, its arms stretched by
/// sqrt(1.117596884944628) times 2.07961384472768 / 1.95996398454005.
#[test]
fn two_phases_equal_r_and_newcombe() {
    let found = phases(&INVENTED, 12).unwrap();
    assert_eq!((found.before, found.after), ((165, 1006), (73, 924)));
    near(found.dispersion, 1.117_596_884_944_628, 1e-12);
    let value = 73.0 / 924.0 - 165.0 / 1006.0;
    let factor = 1.117_596_884_944_628_f64.sqrt() * 2.079_613_844_727_68 / Z_95;
    near(found.difference.value, value, 1e-13);
    near(
        found.difference.lower,
        value - (value + 0.113_818_577_125_748_51) * factor,
        1e-10,
    );
    near(
        found.difference.upper,
        value + (-0.056_123_465_957_976_28 - value) * factor,
        1e-10,
    );
    // No more than chance: Newcombe's own.
    let even: Vec<(u64, u64)> = [(10, 100); 5].into_iter().chain([(5, 100); 5]).collect();
    let found = phases(&even, 5).unwrap();
    let plain = siskin::statistics::proportion::newcombe((25, 500), (50, 500)).unwrap();
    assert_eq!((found.difference, found.dispersion), (plain, 0.0));
}

/// statsmodels 0.15 `OLS.fit(cov_type="HAC", cov_kwds={"maxlags": 2, "use_correction": True},
/// use_t=True)`; with gaps the same sums in numpy.
#[test]
fn values_with_memory_equal_statsmodels() {
    let values = [
        5.1, 5.4, 5.9, 6.2, 6.0, 5.6, 5.3, 5.2, 5.7, 6.2, 6.5, 6.4, 4.8, 4.5, 4.3, 4.6, 5.1, 5.5, 5.4, 5.0, 4.6, 4.4,
        4.2, 4.6,
    ];
    let mut months: Vec<Option<f64>> = values.iter().copied().map(Some).collect();
    let found = segmented(Series::Values(&months), 12).unwrap();
    near(found.level.value, -1.432_750_582_750_583_3, 1e-12);
    // Newey and West are wider for the level, least squares for the slope change.
    near(found.level.interval.lower, -2.253_264_808_619_231, 1e-10);
    near(found.level.interval.upper, -0.612_236_356_881_935_8, 1e-10);
    let slope = found.slope_change;
    near(slope.value, -0.089_860_139_860_139_12, 1e-11);
    let t20 = 2.085_963_447_265_864;
    near(
        slope.interval.upper,
        -0.089_860_139_860_139_12 + t20 * 0.050_479_065_098_028_24,
        1e-10,
    );

    months[5] = None;
    months[17] = None;
    let gaps = segmented(Series::Values(&months), 12).unwrap();
    near(gaps.level.value, -1.526_178_343_949_059, 1e-11);
    let half = (gaps.level.interval.upper - gaps.level.interval.lower) / 2.0;
    let t18 = 2.100_922_040_241_038_2;
    near(half, t18 * 0.343_181_745_926_334_44, 1e-10);
}

#[test]
fn a_step_on_a_trend_without_noise_is_found_as_it_is() {
    let line = |t: usize| 10.0 + 0.1 * t as f64 + if t >= 15 { -2.0 } else { 0.0 };
    let months: Vec<Option<f64>> = (0..30).map(|t| Some(line(t))).collect();
    let found = segmented(Series::Values(&months), 15).unwrap();
    near(found.level.value, -2.0, 1e-11);
    assert!(found.slope_change.value.abs() < 1e-12);
}

/// Months of one value, and months on one straight line: nothing changed, and no interval may say so.
#[test]
fn a_series_that_did_not_change_has_an_interval_that_holds_zero() {
    let holds_zero = |effect: Effect| effect.interval.lower <= 0.0 && 0.0 <= effect.interval.upper;
    for months in 16..60 {
        for change in [8, months / 2, months - 8] {
            for value in [0.0, 0.1, 2.3, 1.0 / 3.0, 14.3, 1e6 + 0.1, -7.7, 1e200] {
                let constant = vec![Some(value); months];
                let found = segmented(Series::Values(&constant), change).unwrap();
                assert_eq!((found.level.value, found.slope_change.value), (0.0, 0.0));
                assert!(
                    holds_zero(found.level) && holds_zero(found.slope_change),
                    "{value}: {found:?}"
                );
                let line: Vec<Option<f64>> = (0..months).map(|t| Some(value + 0.1 * t as f64)).collect();
                let found = segmented(Series::Values(&line), change).unwrap();
                assert!(
                    holds_zero(found.level) && holds_zero(found.slope_change),
                    "{value}: {found:?}"
                );
            }
        }
    }
}

#[test]
fn too_few_months_are_refused() {
    let months = |n: usize| vec![(5, 50); n];
    let why = |n: usize, change: usize| segmented(Series::Proportions(&months(n)), change).unwrap_err();
    let few = |before, after, needed| NoFit::TooFewMonths { before, after, needed };
    assert_eq!(why(15, 8), few(8, 7, 8));
    assert_eq!(
        why(15, 8).to_string(),
        "8 months with data before the change and 7 after it; 8 are needed on each side"
    );
    assert_eq!(why(30, 40), few(30, 0, 8));
    // Months without trials do not count.
    let mut empty = months(16);
    empty[3] = (0, 0);
    assert_eq!(segmented(Series::Proportions(&empty), 8), Err(few(7, 8, 8)));
    assert!(segmented(Series::Proportions(&[]), 0).is_err());
    assert!(segmented(Series::Proportions(&months(16)), 8).is_ok());
    assert_eq!(phases(&months(5), 3), Err(few(3, 2, 3)));
    assert_eq!(phases(&months(5), 9), Err(few(5, 0, 3)));
}

#[test]
fn a_phase_without_events_has_a_difference_and_no_ratio() {
    for (events, value) in [(0, -0.1), (50, 0.9)] {
        let months: Vec<(u64, u64)> = (0..24)
            .map(|t| if t < 12 { (4 + t % 3, 50) } else { (events, 50) })
            .collect();
        let reversed: Vec<(u64, u64)> = months.iter().rev().copied().collect();
        for months in [&months, &reversed] {
            assert_eq!(segmented(Series::Proportions(months), 12), Err(NoFit::Separated));
        }
        let found = phases(&months, 12).unwrap();
        near(found.difference.value, value, 1e-12);
        assert!(found.difference.lower >= -1.0 && found.difference.upper <= 1.0);
    }
    let rates: Vec<(u64, f64)> = (0..24).map(|t| (if t < 12 { 0 } else { 3 + t % 2 }, 90.0)).collect();
    assert_eq!(segmented(Series::Rates(&rates), 12), Err(NoFit::Separated));
    assert_eq!(segmented(Series::Rates(&[(0, 50.0); 24]), 12), Err(NoFit::Separated));
    // All months alike: everything is known, and nothing changed.
    let same = segmented(Series::Proportions(&[(5, 50); 24]), 12).unwrap();
    near(same.level.value, 1.0, 1e-9);
}

#[test]
fn degenerate_counts_have_documented_answers() {
    let design = Design::of(vec![vec![1.0; 5], vec![0.0, 0.0, 1.0, 1.0, 1.0]]).unwrap();
    let why = |counts: Counts<'_>| generalised::fit(&design, counts).unwrap_err();
    assert_eq!(why(Counts::Proportions(&[(1, 5); 4])), NoFit::Invalid);
    assert_eq!(why(Counts::Proportions(&[(6, 5); 5])), NoFit::Invalid);
    for exposure in [-1.0, f64::NAN, f64::INFINITY, 0.0] {
        assert_eq!(why(Counts::Rates(&[(1, exposure); 5])), NoFit::Invalid);
    }
    assert_eq!(why(Counts::Rates(&[(0, 0.0); 5])), NoFit::TooFewRows);
    assert_eq!(why(Counts::Proportions(&[(0, 5); 5])), NoFit::Separated);
    // Only the second group has trials.
    let empty = [(0, 0), (0, 0), (2, 9), (3, 8), (1, 9)];
    assert_eq!(why(Counts::Proportions(&empty)), NoFit::Dependent);
    let twice = Design::of(vec![vec![1.0; 5], vec![2.0; 5]]).unwrap();
    assert_eq!(
        generalised::fit(&twice, Counts::Proportions(&[(1, 5); 5])),
        Err(NoFit::Dependent)
    );
    // Very rare, and in very many: still the ratio of the table.
    let rare = [
        (1, 1_000_000_000),
        (0, 0),
        (3, 1_000_000_000),
        (1, 1_000_000_000),
        (2, 1_000_000_000),
    ];
    let found = generalised::fit(&design, Counts::Proportions(&rare)).unwrap();
    near(found.coefficients[1], 2.0_f64.ln(), 1e-6);
    let short = [(4, 1e-200), (6, 1e-200), (8, 2e-200), (9, 2e-200), (13, 2e-200)];
    let found = generalised::fit(&design, Counts::Rates(&short)).unwrap();
    assert!(found.coefficients[1].abs() < 1e-12);
    near(found.coefficients[0], 5e200_f64.ln(), 1e-12);
}

#[test]
fn degenerate_values_have_documented_answers() {
    let same = segmented(Series::Values(&[Some(3.0); 20]), 10).unwrap();
    assert!(same.level.value.abs() < 1e-12 && same.slope_change.value.abs() < 1e-12);
    let mut broken = [Some(1.0); 16];
    broken[1] = Some(f64::NAN);
    assert_eq!(segmented(Series::Values(&broken), 8), Err(NoFit::Invalid));
    let design = Design::of(vec![vec![1.0; 4]]).unwrap();
    let fit = least_squares::fit(&design, &[1.0, 2.0, 3.0, 5.0]).unwrap();
    assert_eq!(newey_west::errors(&design, &fit, &[0, 1], 1), None);
}
