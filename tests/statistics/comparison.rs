//! Units against each other. Sources beside each.

use siskin::statistics::binomial;
use siskin::statistics::comparison::exact_limits::{Level, curve, limits, spaced};
use siskin::statistics::comparison::funnel::{Beyond, Funnel, Side};
use siskin::statistics::comparison::indirect;

use super::published::{case, close, numbers};

/// The units of the published case.
fn centres() -> Vec<(u64, u64)> {
    let inputs = &case("funnel_bristol")["inputs"];
    let (events, cases) = (numbers(&inputs["r"]), numbers(&inputs["n"]));
    events.iter().zip(cases).map(|(r, n)| (*r as u64, n as u64)).collect()
}

/// The chance of so many events or more.
fn as_many(events: u64, cases: u64, centre: f64) -> f64 {
    binomial::cdf(cases - events, cases, 1.0 - centre).unwrap()
}

/// Within a part of what is expected.
fn near(got: f64, expected: f64, relative: f64) {
    assert!(
        (got - expected).abs() <= relative * expected.abs(),
        "{got} instead of {expected}"
    );
}

#[test]
fn units_stand_as_published() {
    let published = case("funnel_bristol");
    let expected = &published["expected"];
    let funnel = Funnel::of(&centres()).unwrap();
    let number = |what: &str| expected[what].as_f64().unwrap();
    close(&published, "centre", funnel.centre, number("p0"));
    close(&published, "heterogeneity", funnel.heterogeneity_p, number("chi2_p"));
    near(funnel.heterogeneity_p, number("chi2_p"), 1e-8);
    let list = |what: &str| numbers(&expected[what]);
    for (i, (events, cases)) in centres().into_iter().enumerate() {
        let at = |level| limits(funnel.centre, cases, level).unwrap();
        for (what, got) in [
            ("exact_0.025", at(Level::Warning).lower),
            ("exact_0.975", at(Level::Warning).upper),
            ("exact_0.001", at(Level::Action).lower),
            ("exact_0.999", at(Level::Action).upper),
            ("p_upper", as_many(events, cases, funnel.centre)),
        ] {
            close(&published, what, got, list(what)[i]);
            near(got, list(what)[i], 1e-8);
        }
    }
    let beyond = |i: usize| funnel.units[i].unwrap().beyond.map(|of| (of.level, of.side));
    assert_eq!(beyond(0), Some((Level::Action, Side::Above)));
    assert_eq!(beyond(2), Some((Level::Warning, Side::Below)));
    assert_eq!(beyond(3), Some((Level::Warning, Side::Above)));
    let others = [1, 4, 5, 6, 7, 8, 9, 10, 11];
    assert!(others.into_iter().all(|i| beyond(i).is_none()));
}

/// R 4.2.2 `qbinom`, `pbinom`, in the formula of the module; negative ones are 0.
#[test]
fn exact_limits_equal_references_for_few_and_very_many_cases() {
    let few = limits(0.12, 100, Level::Warning).unwrap();
    near(few.lower, 0.054_544_731_092_640_2, 1e-12);
    near(few.upper, 0.182_355_743_870_043_58, 1e-12);
    let rare = (
        limits(0.02, 30, Level::Warning).unwrap(),
        limits(0.02, 30, Level::Action).unwrap(),
    );
    assert_eq!(rare.0.lower, 0.0);
    near(rare.0.upper, 0.065_559_635_499_809_78, 1e-11);
    near(rare.1.upper, 0.124_339_519_752_265_56, 1e-11);
    let many = (
        limits(0.01, 1_000_000, Level::Warning).unwrap(),
        limits(0.01, 1_000_000, Level::Action).unwrap(),
    );
    near(many.0.lower, 0.009_804_951_281_980_983, 1e-11);
    near(many.1.upper, 0.010_308_369_267_724_033, 1e-11);
}

/// Chances worked in whole fractions: of 30 cases at 0.02, two events or more happen in 0.1205 of
/// all series, three in 0.0217, four in 0.0029.
#[test]
fn a_count_just_outside_the_drawn_limit_is_no_signal_unless_it_is_rare() {
    let network =
        |events: u64| Funnel::of(&[(events, 30), (99_980, 5_000_000), (100_020 - events, 4_999_970)]).unwrap();
    let at = |funnel: &Funnel, level| limits(funnel.centre, 30, level).unwrap().upper;
    let (two, three) = (network(2), network(3));
    near(as_many(2, 30, two.centre), 0.120_545_689_158_927_81, 1e-6);
    let unit = two.units[0].unwrap();
    assert!(unit.value > at(&two, Level::Warning));
    assert_eq!(unit.beyond, None);
    near(as_many(3, 30, three.centre), 0.021_717_834_543_617_45, 1e-6);
    let unit = three.units[0].unwrap();
    assert_eq!(unit.beyond.map(|of| of.level), Some(Level::Warning));
    assert!(unit.value > at(&three, Level::Warning) && unit.value < at(&three, Level::Action));
}

/// Whoever is beyond by the exact chance is drawn outside, on both sides.
#[test]
fn units_beyond_are_drawn_outside() {
    let centre = 0.3;
    for cases in 1..=60 {
        for events in 0..=cases {
            let ballast = 1_000_000_000;
            let funnel = Funnel::of(&[(events, cases), (300_000_000, ballast), (300_000_000, ballast)]).unwrap();
            let unit = funnel.units[0].unwrap();
            assert!((funnel.centre - centre).abs() < 1e-7);
            let warning = limits(funnel.centre, cases, Level::Warning).unwrap();
            let action = limits(funnel.centre, cases, Level::Action).unwrap();
            match unit.beyond {
                Some(Beyond { side: Side::Above, .. }) => assert!(unit.value > warning.upper),
                Some(Beyond { side: Side::Below, .. }) => assert!(unit.value < warning.lower),
                None => assert!(unit.value >= warning.lower, "{events}/{cases}"),
            }
            assert!(action.lower <= warning.lower && warning.upper <= action.upper);
        }
    }
}

#[test]
fn the_drawn_funnel_narrows_and_stays_within_0_and_1() {
    let cases = spaced(600, 80);
    assert_eq!((cases[0], *cases.last().unwrap()), (1, 600));
    assert!(cases.windows(2).all(|pair| pair[0] < pair[1]));
    let drawn = curve(0.05, Level::Action, &cases);
    assert_eq!(drawn.len(), cases.len());
    assert!(
        drawn
            .iter()
            .all(|(_, at)| 0.0 <= at.lower && at.lower <= 0.05 && 0.05 <= at.upper && at.upper <= 1.0)
    );
    assert!(drawn[0].1.upper > drawn.last().unwrap().1.upper + 0.5);
    assert!(curve(0.05, Level::Action, &[0]).is_empty());
    assert!(spaced(0, 80).is_empty());
    assert_eq!(spaced(3, 80), [1, 2, 3]);
    assert_eq!(spaced(9, 0), [1, 9]);
    let funnel = Funnel::of(&centres()).unwrap();
    assert_eq!(
        funnel.curve(Level::Warning, &[0, 100]),
        curve(funnel.centre, Level::Warning, &[100])
    );
}

#[test]
fn degenerate_funnels_have_documented_answers() {
    assert_eq!(Funnel::of(&[]), None);
    assert_eq!(Funnel::of(&[(1, 10), (2, 10), (0, 0)]), None);
    assert_eq!(Funnel::of(&[(1, 10), (2, 10), (3, 2)]), None);
    for (events, centre) in [(0, 0.0), (10, 1.0)] {
        let funnel = Funnel::of(&[(events, 10); 11]).unwrap();
        assert_eq!(funnel.centre, centre);
        assert_eq!(funnel.heterogeneity_p, 1.0);
        assert_eq!(funnel.units[0].unwrap().beyond, None);
        for level in [Level::Warning, Level::Action] {
            let found = limits(funnel.centre, 10, level).unwrap();
            assert_eq!((found.lower, found.upper), (centre, centre));
        }
    }
    // One event in very many, and none in one.
    let wide = Funnel::of(&[(1, u64::MAX), (0, 1), (0, 5)]).unwrap();
    assert!((0.0..=1.0).contains(&wide.heterogeneity_p));
    assert!(
        wide.units
            .iter()
            .flatten()
            .all(|unit| (0.0..=1.0).contains(&unit.value))
    );
    assert!(limits(wide.centre, u64::MAX, Level::Action).unwrap().upper <= 1.0);
    assert_eq!(limits(f64::NAN, 10, Level::Warning), None);
}

/// R 4.2.2 `poisson.test(x, T = expected)`.
#[test]
fn observed_over_expected_has_the_exact_interval() {
    for (observed, expected, lower, upper) in [
        (36, 28.5, 0.884_700_260_256_675, 1.748_742_964_534_604_5),
        (0, 3.2, 0.0, 1.152_774_829_410_604_6),
        (250_000, 240_000.0, 1.037_587_356_268_005, 1.045_758_044_837_404_6),
    ] {
        let found = indirect::ratio(observed, expected).unwrap();
        near(found.value, observed as f64 / expected, 1e-15);
        near(found.interval.lower, lower, 1e-9);
        near(found.interval.upper, upper, 1e-9);
    }
}

/// By hand: 200·0.01 + 100·0.05 + 50·0.2 = 17 expected, 34 observed; the standard's crude rate is
/// (10 + 50 + 100) / (1000 + 1000 + 500) = 0.064.
#[test]
fn an_indirectly_standardised_rate_equals_the_example_worked_by_hand() {
    let stratum = |events, exposure, standard_events, standard_exposure| indirect::Stratum {
        events,
        exposure,
        standard_events,
        standard_exposure,
    };
    let strata = [
        stratum(4, 200.0, 10, 1000.0),
        stratum(10, 100.0, 50, 1000.0),
        stratum(20, 50.0, 100, 500.0),
    ];
    let found = indirect::standardise(&strata).unwrap();
    let ratio = indirect::ratio(34, 17.0).unwrap();
    near(ratio.value, 2.0, 1e-15);
    near(found.value, 0.128, 1e-15);
    near(found.interval.upper, ratio.interval.upper * 0.064, 1e-14);
    // A stratum without the group adds nothing, not even where the standard is empty too.
    let more = [&strata[..], &[stratum(0, 0.0, 0, 0.0)]].concat();
    assert_eq!(indirect::standardise(&more), Some(found));
}

#[test]
fn degenerate_indirect_standardisation_has_documented_answers() {
    let stratum = |events, exposure, standard_events, standard_exposure| indirect::Stratum {
        events,
        exposure,
        standard_events,
        standard_exposure,
    };
    for strata in [
        vec![],
        vec![stratum(1, 10.0, 0, 0.0)],
        vec![stratum(0, 10.0, 0, 100.0)],
        vec![stratum(3, 10.0, 0, 100.0)],
        vec![stratum(3, 0.0, 5, 100.0)],
        vec![stratum(3, 10.0, 5, f64::NAN)],
        vec![stratum(3, -1.0, 5, 100.0)],
        vec![stratum(u64::MAX, 1.0, 5, 100.0), stratum(1, 1.0, 5, 100.0)],
    ] {
        assert_eq!(indirect::standardise(&strata), None, "{strata:?}");
    }
    assert_eq!(indirect::ratio(3, f64::INFINITY), None);
    assert_eq!(indirect::ratio(3, 1e-320), None);
    let none = indirect::standardise(&[stratum(0, 10.0, 5, 100.0)]).unwrap();
    assert_eq!((none.value, none.interval.lower), (0.0, 0.0));
}

/// Invented units and strata of hardly any cases: everything given is a number.
#[test]
fn thin_strata_give_numbers_or_nothing() {
    let mut state = 7_u64;
    // Knuth's linear congruential numbers, the upper bits.
    let mut up_to = |most: u64| {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) % (most + 1)
    };
    let mut found = [0; 2];
    for _ in 0..3000 {
        let count = up_to(14);
        let units: Vec<(u64, u64)> = (0..count)
            .map(|_| {
                let cases = up_to(6);
                (up_to(cases), cases)
            })
            .collect();
        if let Some(funnel) = Funnel::of(&units) {
            found[0] += 1;
            assert!((0.0..=1.0).contains(&funnel.heterogeneity_p));
            for (unit, (_, cases)) in funnel.units.iter().zip(&units) {
                assert_eq!(unit.is_some(), *cases > 0);
            }
            for (_, at) in funnel.curve(Level::Action, &[1, 2, 6]) {
                assert!(0.0 <= at.lower && at.upper <= 1.0);
            }
        }
        let strata: Vec<indirect::Stratum> = (0..up_to(3))
            .map(|_| indirect::Stratum {
                events: up_to(2),
                exposure: up_to(2) as f64,
                standard_events: up_to(2),
                standard_exposure: up_to(2) as f64,
            })
            .collect();
        if let Some(of) = indirect::standardise(&strata) {
            found[1] += 1;
            assert!(of.interval.lower <= of.value && of.value <= of.interval.upper);
            assert!(of.interval.upper.is_finite());
        }
    }
    assert!(found.iter().all(|n| *n > 300), "{found:?}");
}
