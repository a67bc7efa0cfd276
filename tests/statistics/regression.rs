//! Regressions. Sources beside each.

mod coverage;

use siskin::statistics::proportion::Z_95;
use siskin::statistics::regression::NoFit;
use siskin::statistics::regression::design::Design;
use siskin::statistics::regression::generalised::{self, Counts, Errors};
use siskin::statistics::regression::least_squares;
use siskin::statistics::regression::newey_west;
use siskin::statistics::regression::phases::phases;
use siskin::statistics::regression::segmented::{Model, Series, Shape, segmented};

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
    let fit = least_squares::fit(&design, &y, None).unwrap();
    for (what, got) in [
        ("b0", fit.coefficients[0]),
        ("se_b0", fit.error(0).unwrap()),
        ("b1", fit.coefficients[1]),
        ("se_b1", fit.error(1).unwrap()),
        ("resid_sd", fit.residual_sd),
        ("r2", fit.r_squared.unwrap()),
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
    let fit = least_squares::fit(&Design::of(columns).unwrap(), &y, None).unwrap();
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
    close(
        &published,
        "r2",
        fit.r_squared.unwrap(),
        expected["r2"].as_f64().unwrap(),
    );
}

/// R 4.2.2 `summary(lm(y ~ x, weights = w))`.
#[test]
fn a_weighted_line_equals_r() {
    let design = Design::of(vec![vec![1.0; 6], vec![1.0, 2.0, 3.0, 4.0, 5.0, 6.0]]).unwrap();
    let (y, w) = ([1.1, 1.9, 3.2, 3.8, 5.3, 5.9], [1.0, 2.0, 0.5, 3.0, 1.0, 1.5]);
    let fit = least_squares::fit(&design, &y, Some(&w)).unwrap();
    all_near(
        &fit.coefficients,
        &[-0.022_689_075_630_253_797, 0.992_436_974_789_916_3],
        1e-12,
    );
    near(fit.error(0).unwrap(), 0.205_828_324_243_289_42, 1e-13);
    near(fit.error(1).unwrap(), 0.052_094_062_991_021_345, 1e-13);
    near(fit.residual_sd, 0.250_587_544_876_154_37, 1e-13);
    near(fit.r_squared.unwrap(), 0.989_098_900_600_150_2, 1e-13);
    // A row of weight 0 is not there, but fitted.
    let design = Design::of(vec![vec![1.0; 7], vec![1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0]]).unwrap();
    let (y, w) = ([&y[..], &[900.0]].concat(), [&w[..], &[0.0]].concat());
    let padded = least_squares::fit(&design, &y, Some(&w)).unwrap();
    all_near(&padded.coefficients, &fit.coefficients, 1e-12);
    assert_eq!(padded.degrees, 4);
    near(
        padded.fitted[6],
        -0.022_689_075_630_253_8 + 7.0 * 0.992_436_974_789_916_3,
        1e-12,
    );
}

#[test]
fn units_of_columns_do_not_matter() {
    let x: Vec<f64> = (0..9).map(f64::from).collect();
    let y = [1.0, 3.0, 2.0, 5.0, 4.0, 6.0, 9.0, 7.0, 8.0];
    let of = |scale: f64| {
        let scaled = x.iter().map(|x| x * scale).collect();
        let fit = least_squares::fit(&Design::of(vec![vec![1.0; 9], scaled]).unwrap(), &y, None).unwrap();
        (fit.coefficients[1] * scale, fit.r_squared.unwrap())
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
    let why = |columns, y: &[f64], w| least_squares::fit(&design(columns), y, w).unwrap_err();
    let double = x.iter().map(|x| 2.0 * x + 3.0).collect();
    assert_eq!(why(vec![vec![1.0; 4], x.clone(), double], &y, None), NoFit::Dependent);
    assert_eq!(why(vec![vec![0.0; 4]], &y, None), NoFit::Dependent);
    assert_eq!(why(vec![vec![1.0; 4], x.clone()], &y[..3], None), NoFit::Invalid);
    assert_eq!(
        why(vec![vec![1.0; 4]], &[1.0, f64::NAN, 1.0, 1.0], None),
        NoFit::Invalid
    );
    assert_eq!(
        why(vec![vec![1.0; 4]], &y, Some(&[1.0, -1.0, 1.0, 1.0])),
        NoFit::Invalid
    );
    assert_eq!(
        why(vec![vec![1.0; 2], vec![0.0, 1.0]], &y[..2], None),
        NoFit::TooFewRows
    );
    let one_row = [0.0, 0.0, 1.0, 1.0];
    assert_eq!(
        why(vec![vec![1.0; 4], x.clone()], &y, Some(&one_row)),
        NoFit::TooFewRows
    );
    assert_eq!(
        why(vec![vec![1.0; 4]], &[f64::MAX, -f64::MAX, f64::MAX, 1.0], None),
        NoFit::Invalid
    );
    assert_eq!(Design::of(vec![]), Err(NoFit::Invalid));
    assert_eq!(Design::of(vec![vec![f64::INFINITY]]), Err(NoFit::Invalid));

    let same = least_squares::fit(&design(vec![vec![1.0; 4], x.clone()]), &[5.0; 4], None).unwrap();
    assert_eq!(same.r_squared, None);
    near(same.coefficients[0], 5.0, 1e-14);
    let perfect = least_squares::fit(&design(vec![vec![1.0; 4], x.clone()]), &[1.0, 3.0, 5.0, 7.0], None).unwrap();
    assert!(perfect.residual_sd < 1e-14);
    near(perfect.r_squared.unwrap(), 1.0, 1e-14);
    let through_origin = least_squares::fit(&design(vec![x]), &y, None).unwrap();
    assert_eq!(through_origin.r_squared, None);
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
        for (key, got) in [("deviance", fit.deviance), ("rr_ban", fit.coefficients[1].exp())] {
            if let Some(value) = expected[key].as_f64() {
                close(&published, key, got, value);
            }
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
    let model = Model {
        change: 36,
        shape: Shape::LevelAndSlope,
        harmonics: 0,
        first_month: 1,
    };
    // Time counted from the change: coefficients of statsmodels 0.15 GLM(Poisson), scale="X2",
    // use_t=True; the level there is ban + 37 times the interaction of the case.
    let sloped = segmented(Series::Rates(&of.months), &model).unwrap();
    near(sloped.dispersion.unwrap(), DISPERSIONS[2].1, 1e-10);
    assert!(sloped.is_widened);
    let coefficients = numbers(&expected["quasi_slope_change_int_ban_time_inter"]["coef"]);
    close(
        &published,
        "level",
        sloped.level.value.ln(),
        coefficients[1] + 37.0 * coefficients[3],
    );
    close(
        &published,
        "slope",
        sloped.slope_change.unwrap().value.ln(),
        coefficients[3],
    );
    near(sloped.level.interval.lower, 0.832_507_746_135_550_2, 1e-6);
    near(sloped.level.interval.upper, 0.956_881_605_401_399, 1e-6);
    near(
        sloped.slope_change.unwrap().interval.upper,
        1.005_055_512_689_794_7,
        1e-6,
    );
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

fn half_way(shape: Shape) -> Model {
    Model {
        change: 12,
        shape,
        harmonics: 0,
        first_month: 1,
    }
}

/// statsmodels 0.15 `GLM(family=Binomial())` for coefficients, errors, deviance and fitted values;
/// R 4.2.2 `glm(family = quasibinomial)` with `qt` for the quasi errors and intervals.
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
    near(fit.deviance, 22.138_749_710_649_343, 1e-12);
    near(fit.dispersion, 1.147_811_176_515_031_8, 1e-10);
    assert_eq!(fit.degrees, 19);

    let found = segmented(Series::Proportions(&INVENTED), &half_way(Shape::LevelAndSlope)).unwrap();
    let effects = [found.level, found.trend.unwrap(), found.slope_change.unwrap()];
    let expected = [
        [0.514_623_197_458_129, 0.278_173_714_251_576, 0.952_056_293_581_044],
        [1.010_649_102_021_141, 0.956_379_273_426_401, 1.067_998_476_960_66],
        [0.945_598_938_602_134, 0.859_262_577_946_554, 1.040_610_141_340_403],
    ];
    for (effect, expected) in effects.iter().zip(expected) {
        all_near(
            &[effect.value, effect.interval.lower, effect.interval.upper],
            &expected,
            1e-9,
        );
    }
    assert!(found.is_widened);
    near(found.fitted[0], 0.156_038_988_121_882_2, 1e-10);
    near(found.fitted[12], 0.097_509_610_027_604_61, 1e-10);
    // The month without trials has its place on the line.
    near(found.fitted[19], 0.072_924_199_715_373_44, 1e-10);
    assert_eq!(found.fitted, found.segments);
    assert_eq!(found.without_change.len(), 12);
    near(found.without_change[0], 0.173_519_433_408_222_6, 1e-10);
    near(found.without_change[11], 0.190_870_157_851_652_1, 1e-10);
}

/// R 4.2.2 `glm(cbind(y, n - y) ~ after, family = quasibinomial)` and `qt`; the difference by
/// statsmodels `confint_proportions_2indep(method="newcomb")`, its arms stretched by
/// sqrt(1.117596884944628) times 2.07961384472768 / 1.95996398454005.
#[test]
fn two_phases_equal_r_and_newcombe() {
    let found = phases(&INVENTED, 12).unwrap();
    assert_eq!((found.before, found.after), ((165, 1006), (73, 924)));
    near(found.dispersion, 1.117_596_884_944_628, 1e-12);
    let odds = found.odds_ratio.unwrap();
    near(odds.value, 0.437_225_367_660_15, 1e-12);
    near(odds.interval.lower, 0.315_275_314_881_511, 1e-9);
    near(odds.interval.upper, 0.606_346_304_649_315, 1e-9);
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
    let found = segmented(Series::Values(&months), &half_way(Shape::LevelAndSlope)).unwrap();
    near(found.level.value, -1.432_750_582_750_583_3, 1e-12);
    // Newey and West are wider for the level, least squares for the slope change.
    near(found.level.interval.lower, -2.253_264_808_619_231, 1e-10);
    near(found.level.interval.upper, -0.612_236_356_881_935_8, 1e-10);
    let slope = found.slope_change.unwrap();
    near(slope.value, -0.089_860_139_860_139_12, 1e-11);
    let t20 = 2.085_963_447_265_864;
    near(
        slope.interval.upper,
        -0.089_860_139_860_139_12 + t20 * 0.050_479_065_098_028_24,
        1e-10,
    );
    near(found.autocorrelation.unwrap(), 0.651_728_996_287_131_1, 1e-11);
    assert!(found.is_widened && found.dispersion.is_none());

    months[5] = None;
    months[17] = None;
    let gaps = segmented(Series::Values(&months), &half_way(Shape::LevelAndSlope)).unwrap();
    let trend = gaps.trend.unwrap();
    near(trend.value, 0.073_184_713_375_796_48, 1e-11);
    let half = (gaps.level.interval.upper - gaps.level.interval.lower) / 2.0;
    let t18 = 2.100_922_040_241_038_2;
    near(half, t18 * 0.343_181_745_926_334_44, 1e-10);
    assert_eq!(gaps.fitted.len(), 24);
    near(gaps.segments[12], 6.281_464_968_152_871 - 1.526_178_343_949_059, 1e-12);
    near(gaps.without_change[0], 6.281_464_968_152_871, 1e-12);
}

#[test]
fn the_season_is_taken_out_of_the_segments_and_stays_in_the_fit() {
    // A step of -2, a trend of 0.1 a month and a season of one harmonic, without noise.
    let season = |t: usize| (std::f64::consts::TAU * (t + 4) as f64 / 12.0).sin();
    let line = |t: usize| 10.0 + 0.1 * t as f64 + if t >= 15 { -2.0 } else { 0.0 };
    let months: Vec<Option<f64>> = (0..30).map(|t| Some(line(t) + season(t))).collect();
    let model = Model {
        change: 15,
        shape: Shape::LevelAndSlope,
        harmonics: 1,
        first_month: 4,
    };
    let found = segmented(Series::Values(&months), &model).unwrap();
    near(found.level.value, -2.0, 1e-11);
    near(found.trend.unwrap().value, 0.1, 1e-11);
    assert!(found.slope_change.unwrap().value.abs() < 1e-12);
    for t in 0..30 {
        near(found.segments[t], line(t), 1e-11);
        near(found.fitted[t], line(t) + season(t), 1e-11);
    }
    near(found.without_change[14], 10.0 + 2.9, 1e-11);
}

#[test]
fn too_few_months_are_refused() {
    let months = |n: usize| vec![(5, 50); n];
    let why = |n: usize, model: &Model| segmented(Series::Proportions(&months(n)), model).unwrap_err();
    let model = |change, shape| Model {
        change,
        shape,
        harmonics: 0,
        first_month: 1,
    };
    let few = NoFit::TooFewMonths {
        before: 8,
        after: 7,
        needed: 8,
    };
    assert_eq!(why(15, &model(8, Shape::LevelAndSlope)), few);
    assert_eq!(
        few.to_string(),
        "8 months with data before the change and 7 after it; 8 are needed on each side"
    );
    assert_eq!(
        why(30, &model(40, Shape::LevelAndSlope)),
        NoFit::TooFewMonths {
            before: 30,
            after: 0,
            needed: 8
        }
    );
    assert_eq!(
        why(6, &model(4, Shape::Level)),
        NoFit::TooFewMonths {
            before: 4,
            after: 2,
            needed: 3
        }
    );
    let season = Model {
        harmonics: 2,
        ..model(10, Shape::LevelAndSlope)
    };
    assert_eq!(why(23, &season), NoFit::NoSeason);
    assert_eq!(why(40, &Model { harmonics: 6, ..season }), NoFit::NoSeason);
    // Months without trials do not count.
    let mut empty = months(16);
    empty[3] = (0, 0);
    let found = segmented(Series::Proportions(&empty), &model(8, Shape::LevelAndSlope));
    assert_eq!(
        found,
        Err(NoFit::TooFewMonths {
            before: 7,
            after: 8,
            needed: 8
        })
    );
    assert!(segmented(Series::Proportions(&[]), &model(0, Shape::Level)).is_err());
    assert!(segmented(Series::Proportions(&months(16)), &model(8, Shape::LevelAndSlope)).is_ok());
    assert_eq!(
        phases(&months(5), 3),
        Err(NoFit::TooFewMonths {
            before: 3,
            after: 2,
            needed: 3
        })
    );
    assert_eq!(
        phases(&months(5), 9),
        Err(NoFit::TooFewMonths {
            before: 5,
            after: 0,
            needed: 3
        })
    );
}

#[test]
fn a_phase_without_events_has_a_difference_and_no_ratio() {
    for (events, value) in [(0, -0.1), (50, 0.9)] {
        let months: Vec<(u64, u64)> = (0..24)
            .map(|t| if t < 12 { (4 + t % 3, 50) } else { (events, 50) })
            .collect();
        for shape in [Shape::Level, Shape::LevelAndSlope] {
            assert_eq!(
                segmented(Series::Proportions(&months), &half_way(shape)),
                Err(NoFit::Separated)
            );
            let reversed: Vec<(u64, u64)> = months.iter().rev().copied().collect();
            assert_eq!(
                segmented(Series::Proportions(&reversed), &half_way(shape)),
                Err(NoFit::Separated)
            );
        }
        let found = phases(&months, 12).unwrap();
        near(found.difference.value, value, 1e-12);
        assert_eq!(found.odds_ratio, None);
        assert!(found.difference.lower >= -1.0 && found.difference.upper <= 1.0);
    }
    let rates: Vec<(u64, f64)> = (0..24).map(|t| (if t < 12 { 0 } else { 3 + t % 2 }, 90.0)).collect();
    for shape in [Shape::Level, Shape::LevelAndSlope] {
        assert_eq!(
            segmented(Series::Rates(&rates), &half_way(shape)),
            Err(NoFit::Separated)
        );
    }
    assert_eq!(
        segmented(Series::Rates(&[(0, 50.0); 24]), &half_way(Shape::Level)),
        Err(NoFit::Separated)
    );
    // All months alike: everything is known, and nothing changed.
    let same = segmented(Series::Proportions(&[(5, 50); 24]), &half_way(Shape::LevelAndSlope)).unwrap();
    near(same.level.value, 1.0, 1e-9);
    assert!(!same.is_widened);
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
    assert_eq!(found.residuals[1], None);
    let short = [(4, 1e-200), (6, 1e-200), (8, 2e-200), (9, 2e-200), (13, 2e-200)];
    let found = generalised::fit(&design, Counts::Rates(&short)).unwrap();

    assert!(found.coefficients[1].abs() < 1e-12);
    near(found.fitted[0], 5e200, 1e-10);
}

#[test]
fn values_that_are_all_the_same_have_no_memory() {
    let found = segmented(
        Series::Values(&[Some(3.0); 20]),
        &Model {
            change: 10,
            ..half_way(Shape::LevelAndSlope)
        },
    )
    .unwrap();
    assert!(found.level.value.abs() < 1e-12);
    assert!(found.fitted.iter().all(|v| (v - 3.0).abs() < 1e-12));
    let broken = [Some(1.0), Some(f64::NAN), Some(2.0), Some(1.0), Some(2.0), Some(1.0)];
    let model = Model {
        change: 3,
        ..half_way(Shape::Level)
    };
    assert_eq!(segmented(Series::Values(&broken), &model), Err(NoFit::Invalid));
    let design = Design::of(vec![vec![1.0; 4]]).unwrap();
    let fit = least_squares::fit(&design, &[1.0, 2.0, 3.0, 5.0], None).unwrap();
    assert_eq!(newey_west::errors(&design, &fit, &[0, 1], 1), None);
}
