//! Centre and limits of each chart.

use serde_json::Value;

use siskin::statistics::control::cusum::Cusum;
use siskin::statistics::control::dispersion::Dispersion;
use siskin::statistics::control::individuals::Individuals;
use siskin::statistics::control::run_chart::{self, RunChart};
use siskin::statistics::control::{Limits, Side, g, laney, p, t, u};

use super::super::published::{case, close, numbers};

fn whole(value: &Value) -> Vec<u64> {
    numbers(value).iter().map(|x| *x as u64).collect()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

/// Indices of the values beyond their limits.
fn beyond(values: &[f64], limits: &[Limits]) -> Vec<u64> {
    let pairs = values.iter().zip(limits).enumerate();
    let out = pairs.filter(|(_, (value, limits))| limits.beyond(**value).is_some());
    out.map(|(index, _)| index as u64).collect()
}

fn all_close(case: &Value, what: &str, got: &[f64], expected: &Value) {
    let expected = numbers(expected);
    assert_eq!(got.len(), expected.len(), "{what}");
    for (index, (got, expected)) in got.iter().zip(expected).enumerate() {
        close(case, &format!("{what} {index}"), *got, expected);
    }
}

fn lowers(limits: &[Limits]) -> Vec<f64> {
    limits.iter().map(|limits| limits.lower).collect()
}

fn uppers(limits: &[Limits]) -> Vec<f64> {
    limits.iter().map(|limits| limits.upper).collect()
}

fn proportions(months: &[(u64, u64)]) -> Vec<f64> {
    months.iter().map(|month| month.0 as f64 / month.1 as f64).collect()
}

/// NIST/SEMATECH e-Handbook 6.3.3.2: thirty samples of 50 wafers.
#[test]
fn limits_of_proportions_equal_the_handbooks() {
    let case = case("p_chart_nist_wafers");
    let n = case["inputs"]["n"].as_u64().unwrap();
    let months: Vec<(u64, u64)> = whole(&case["inputs"]["count"]).iter().map(|x| (*x, n)).collect();
    let centre = p::centre(&months).unwrap();
    let limits = p::three_sigma(centre, n).unwrap();
    close(&case, "centre", centre, number(&case["expected"]["center"]));
    close(&case, "upper", limits.upper, number(&case["expected"]["ucl"]));
    close(&case, "lower", limits.lower, number(&case["expected"]["lcl"]));
    // 11.6 expected of 50: no exact limits.
    assert_eq!(p::limits(centre, n), Some(limits));
    let out = beyond(&proportions(&months), &vec![limits; months.len()]);
    assert_eq!(out, whole(&case["expected"]["out_idx0"]));
}

/// Montgomery, Introduction to Statistical Quality Control, table 7.4: denominators vary.
#[test]
fn limits_follow_the_denominator_of_the_month() {
    let case = case("p_chart_varying_purchase_orders");
    let counts = whole(&case["inputs"]["count"]);
    let months: Vec<(u64, u64)> = counts.into_iter().zip(whole(&case["inputs"]["n"])).collect();
    let centre = p::centre(&months).unwrap();
    let limits: Vec<Limits> = months.iter().map(|m| p::limits(centre, m.1).unwrap()).collect();
    close(&case, "centre", centre, number(&case["expected"]["center"]));
    all_close(&case, "upper", &uppers(&limits), &case["expected"]["ucl"]);
    all_close(&case, "lower", &lowers(&limits), &case["expected"]["lcl"]);
    let out = beyond(&proportions(&months), &limits);
    assert_eq!(out, whole(&case["expected"]["out_idx0"]));
}

/// R: of all counts those whose `pbinom` tail is not under 0.00135, the least and the greatest.
/// Chance, trials, least, greatest.
#[test]
fn exact_limits_of_proportions_are_the_outermost_counts_not_beyond() {
    let rows = [
        (0.05, 20, 0, 5),
        (0.02, 100, 0, 7),
        (0.95, 40, 33, 40),
        (0.01, 400, 0, 11),
        (0.5, 12, 1, 11),
        (0.0003, 1000, 0, 3),
        (0.3, 100_000, 29_566, 30_435),
        (0.1, 3, 0, 2),
        (0.992, 500, 489, 500),
    ];
    for (chance, trials, least, greatest) in rows {
        let limits = p::exact(chance, trials).unwrap();
        let n = f64::from(trials as u32);
        assert_eq!(limits.lower, f64::from(least) / n, "{chance} of {trials}: {limits:?}");
        assert_eq!(
            limits.upper,
            f64::from(greatest) / n,
            "{chance} of {trials}: {limits:?}"
        );
    }
    assert!(p::needs_exact(0.04, 100) && p::needs_exact(0.96, 100));
    assert!(!p::needs_exact(0.05, 100) && !p::needs_exact(0.5, 10));
}

/// R: as above with `ppois`. Expected count, least, greatest.
#[test]
fn exact_limits_of_rates_are_the_outermost_counts_not_beyond() {
    let rows = [
        (0.01, 0, 1),
        (0.5, 0, 4),
        (1.0, 0, 5),
        (2.5, 0, 8),
        (4.9, 0, 13),
        (10.0, 2, 21),
        (100.0, 71, 131),
    ];
    for (expected, least, greatest) in rows {
        let limits = u::exact(expected / 2.0, 2.0).unwrap();
        assert_eq!(limits.lower, f64::from(least) / 2.0, "{expected}: {limits:?}");
        assert_eq!(limits.upper, f64::from(greatest) / 2.0, "{expected}: {limits:?}");
    }
}

/// NIST/SEMATECH e-Handbook 6.3.3.1: 25 wafers. The third count is on the limit, not beyond.
#[test]
fn limits_of_counts_equal_the_handbooks() {
    let case = case("c_chart_nist");
    let counts = whole(&case["inputs"]["count"]);
    let months: Vec<(u64, f64)> = counts.iter().map(|x| (*x, 1.0)).collect();
    let centre = u::centre(&months).unwrap();
    let limits = u::limits(centre, 1.0).unwrap();
    close(&case, "centre", centre, number(&case["expected"]["center"]));
    close(&case, "upper", limits.upper, number(&case["expected"]["ucl"]));
    close(&case, "lower", limits.lower, number(&case["expected"]["lcl"]));
    let out = beyond(&numbers(&case["inputs"]["count"]), &vec![limits; months.len()]);
    assert_eq!(out, whole(&case["expected"]["out_idx0"]));
}

/// Montgomery, table 7.10 and example 7.4: twenty shipments of 50 units.
#[test]
fn limits_of_rates_equal_the_books() {
    let case = case("u_chart_fixed");
    let size = number(&case["inputs"]["size"]);
    let months: Vec<(u64, f64)> = whole(&case["inputs"]["count"]).iter().map(|x| (*x, size)).collect();
    let centre = u::centre(&months).unwrap();
    let limits = u::three_sigma(centre, size).unwrap();
    close(&case, "centre", centre, number(&case["expected"]["center"]));
    close(&case, "upper", limits.upper, number(&case["expected"]["ucl"]));
    close(&case, "lower", limits.lower, number(&case["expected"]["lcl"]));
    // 3.7 are expected of a shipment, so a chart of ours would draw exact limits.
    assert_eq!(u::limits(centre, size), u::exact(centre, size));
}

/// NIST/SEMATECH e-Handbook 6.3.2.2: ten flow rates. The other constants in use from the same mean
/// moving range.
#[test]
fn limits_of_individuals_equal_the_handbooks() {
    let case = case("xmr_nist_flowrate");
    let of = Individuals::of(&numbers(&case["inputs"]["x"])).unwrap();
    let expected = &case["expected"];
    close(&case, "centre", of.centre, number(&expected["center"]));
    close(&case, "mean range", of.mean_range, number(&expected["mrbar"]));
    close(&case, "upper", of.limits().upper, number(&expected["d2_1.128"]["ucl"]));
    close(&case, "lower", of.limits().lower, number(&expected["d2_1.128"]["lcl"]));
    let exact_d2 = 2.0 / std::f64::consts::PI.sqrt();
    for (kind, factor) in [("const_2.66", 2.66), ("d2_exact_2_over_sqrt_pi", 3.0 / exact_d2)] {
        let reach = factor * of.mean_range;
        close(&case, kind, of.centre + reach, number(&expected[kind]["ucl"]));
        close(&case, kind, of.centre - reach, number(&expected[kind]["lcl"]));
    }
}

fn laney_months(case: &Value) -> Vec<(u64, u64)> {
    whole(&case["inputs"]["r"])
        .into_iter()
        .zip(whole(&case["inputs"]["n"]))
        .collect()
}

/// Mohammed, Panesar, Laney, Wilson (2013) BMJ Qual Saf 22:362-368: emergency departments, twenty
/// weeks of about 280 000.
#[test]
fn laneys_limits_equal_those_of_the_emergency_departments() {
    let case = case("laney_pprime_nhs_ae");
    let months = laney_months(&case);
    let expected = &case["expected"];
    let centre = p::centre(&months).unwrap();
    let z = laney::standardised_proportions(&months, centre).unwrap();
    let mean_range = Individuals::of(&z).unwrap().mean_range;
    let sigma_z = laney::sigma_z(&z).unwrap();
    close(&case, "centre", centre, number(&expected["pbar"]));
    all_close(&case, "z", &z, &expected["z"]);
    close(&case, "mean range", mean_range, number(&expected["mr_z_bar"]));
    close(&case, "sigma z", sigma_z, number(&expected["sigma_z_1.128"]));
    let exact_d2 = 2.0 / std::f64::consts::PI.sqrt();
    close(
        &case,
        "exact d2",
        mean_range / exact_d2,
        number(&expected["sigma_z_d2_exact"]),
    );
    let wide = |m: &(u64, u64)| laney::proportion_limits(centre, m.1, sigma_z).unwrap();
    let wide: Vec<Limits> = months.iter().map(wide).collect();
    let plain: Vec<Limits> = months.iter().map(|m| p::limits(centre, m.1).unwrap()).collect();
    all_close(&case, "upper", &uppers(&wide), &expected["ucl_1.128"]);
    all_close(&case, "lower", &lowers(&wide), &expected["lcl_1.128"]);
    all_close(&case, "plain upper", &uppers(&plain), &expected["p_chart_ucl"]);
    all_close(&case, "plain lower", &lowers(&plain), &expected["p_chart_lcl"]);
    let values = proportions(&months);
    assert_eq!(beyond(&values, &plain), whole(&expected["p_chart_out_idx0"]));
    assert_eq!(beyond(&values, &wide), whole(&expected["pprime_out_idx0"]));
    assert!(Dispersion::of_proportions(&months).unwrap().is_more_than_chance());
}

/// Montgomery, table 7.4 again: a sigma_z under 1, as Laney allows it.
#[test]
fn a_sigma_z_under_one_is_given_as_it_is() {
    let case = case("laney_pprime_underdispersed");
    let months = laney_months(&case);
    let expected = &case["expected"];
    let centre = p::centre(&months).unwrap();
    let z = laney::standardised_proportions(&months, centre).unwrap();
    let sigma_z = laney::sigma_z(&z).unwrap();
    let limits = |m: &(u64, u64)| laney::proportion_limits(centre, m.1, sigma_z).unwrap();
    let limits: Vec<Limits> = months.iter().map(limits).collect();
    close(&case, "centre", centre, number(&expected["pbar"]));
    close(&case, "sigma z", sigma_z, number(&expected["sigma_z_1.128"]));
    all_close(&case, "upper", &uppers(&limits), &expected["ucl"]);
    all_close(&case, "lower", &lowers(&limits), &expected["lcl"]);
    assert!(!Dispersion::of_proportions(&months).unwrap().is_more_than_chance());
}

/// Large exposures and few events: u' of a rate is p' of the same counts to within the rarity.
#[test]
fn laneys_rates_are_the_proportions_of_rare_events() {
    let months = [(12, 100_000), (40, 110_000), (9, 90_000), (35, 120_000)];
    let rates: Vec<(u64, f64)> = months.iter().map(|m| (m.0, m.1 as f64)).collect();
    let (centre, rate) = (p::centre(&months).unwrap(), u::centre(&rates).unwrap());
    assert!((centre - rate).abs() < 1e-15);
    let of_p = laney::sigma_z(&laney::standardised_proportions(&months, centre).unwrap()).unwrap();
    let of_u = laney::sigma_z(&laney::standardised_rates(&rates, rate).unwrap()).unwrap();
    assert!(of_p > 3.0 && (of_p / of_u - 1.0).abs() < 2.0 * centre);
    let (a, b) = (
        laney::proportion_limits(centre, 100_000, of_p).unwrap(),
        laney::rate_limits(rate, 100_000.0, of_u).unwrap(),
    );
    assert!((a.upper / b.upper - 1.0).abs() < 1e-6);
    assert_eq!((a.lower, b.lower), (0.0, 0.0));
}

/// The statistic by hand from a table of 2 by 4, its level from R `qchisq(0.2, ..., lower = FALSE)`.
#[test]
fn dispersion_is_pearsons_chi_square() {
    // Common proportion 1/4, 25 expected of 100 each: chi-square = (25 + 0 + 25 + 0)/(100/4 * 3/4).
    let of = Dispersion::of_proportions(&[(20, 100), (25, 100), (30, 100), (25, 100)]).unwrap();
    assert!((of.chi_square - 8.0 / 3.0).abs() < 1e-12);
    assert!((of.largest - 4.0 / 3.0).abs() < 1e-12);
    // The month farthest out is left aside, and with it a degree of freedom.
    let is_more = |rest: f64, months: usize| {
        let of = Dispersion {
            chi_square: rest + 50.0,
            largest: 50.0,
            months,
        };
        of.is_more_than_chance()
    };
    for (months, level) in [
        (3, 1.642_374_415_149_8),
        (4, 3.218_875_824_868_2),
        (12, 13.441_957_574_973_1),
    ] {
        assert!(
            is_more(level + 1e-9, months) && !is_more(level - 1e-9, months),
            "{months}"
        );
    }
    // Rates: 10 expected each: (25 + 0 + 25)/10.
    let of = Dispersion::of_rates(&[(5, 1.0), (10, 1.0), (15, 1.0)]).unwrap();
    assert!((of.chi_square - 5.0).abs() < 1e-12);
}

#[test]
fn one_strange_month_is_no_overdispersion_and_many_are() {
    let mut months = vec![(20, 100); 11];
    months.push((60, 100));
    let one = Dispersion::of_proportions(&months).unwrap();
    assert!(one.chi_square > 50.0 && !one.is_more_than_chance());
    let many: Vec<(u64, u64)> = (0..12).map(|i| (if i % 2 == 0 { 10 } else { 40 }, 100)).collect();
    assert!(Dispersion::of_proportions(&many).unwrap().is_more_than_chance());
}

/// Montgomery, example 7.6: hours between valve failures.
#[test]
fn limits_of_a_long_tail_equal_the_books() {
    let case = case("t_chart_valve_failures");
    let hours = numbers(&case["inputs"]["hours"]);
    let of = t::individuals(&hours).unwrap();
    let expected = &case["expected"]["pow_1_over_3.6"];
    close(&case, "mean", of.centre, number(&expected["mean"]));
    close(&case, "mean range", of.mean_range, number(&expected["mrbar"]));
    close(&case, "upper", of.limits().upper, number(&expected["ucl_t"]));
    close(&case, "lower", of.limits().lower, number(&expected["lcl_t"]));
    close(
        &case,
        "centre",
        t::raised_back(of.centre),
        number(&expected["center_back"]),
    );
    close(&case, "upper time", t::limits(&of).upper, number(&expected["ucl_back"]));
    close(&case, "lower time", t::limits(&of).lower, number(&expected["lcl_back"]));
    // The book's own rounded exponent.
    let y = t::transformed(&hours, 0.2777).unwrap();
    let of = Individuals::of(&y).unwrap();
    let expected = &case["expected"]["pow_0.2777"];
    all_close(&case, "y", &y, &expected["y"]);
    close(&case, "mean", of.centre, number(&expected["mean"]));
    close(&case, "mean range", of.mean_range, number(&expected["mrbar"]));
    close(&case, "upper", of.limits().upper, number(&expected["ucl_t"]));
    close(&case, "lower", of.limits().lower, number(&expected["lcl_t"]));
}

/// The median of constructed counts.
#[test]
fn cases_between_events_have_the_published_median() {
    let case = case("g_chart_constructed");
    let between = numbers(&case["inputs"]["cases_between"]);
    let median = run_chart::median(&between).unwrap();
    close(&case, "median", median, number(&case["expected"]["median"]));
}

/// R: of all counts those whose `pgeom` tail is not under 0.00135, the least and the greatest.
#[test]
fn exact_limits_between_events_are_the_outermost_counts_not_beyond() {
    let rows = [
        (0.2, 0.0, 3.0),
        (1.0, 0.0, 9.0),
        (18.4, 0.0, 124.0),
        (250.0, 0.0, 1655.0),
        (2000.0, 2.0, 13_218.0),
    ];
    for (mean, lower, upper) in rows {
        assert_eq!(g::exact(mean), Some(Limits { lower, upper }), "{mean}");
    }
}

/// Anhøj and Olesen (2014) PLoS ONE 9:e113825, every number of useful values from 10 to 60.
#[test]
fn limits_of_runs_and_crossings_equal_the_published_ones() {
    let case = case("run_chart_limits_10_60");
    let longest = whole(&case["expected"]["longest_run_max"]);
    let crossings = whole(&case["expected"]["crossings_min"]);
    for (index, useful) in whole(&case["inputs"]["n_useful"]).into_iter().enumerate() {
        let allowed = run_chart::allowed(useful as usize).unwrap();
        assert_eq!(allowed.longest as u64, longest[index], "{useful}");
        assert_eq!(allowed.crossings as u64, crossings[index], "{useful}");
    }
}

/// R package qicharts2: orange juice (Montgomery, table 7.3), luteinizing hormone (R `lh`),
/// emergency departments.
#[test]
fn runs_about_the_median_equal_the_reference() {
    for id in ["run_chart_oj", "run_chart_lew", "run_chart_nhs"] {
        let case = case(id);
        let expected = &case["expected"];
        let values: Vec<Option<f64>> = numbers(&case["inputs"]["y"]).into_iter().map(Some).collect();
        let of = RunChart::of(&values).unwrap();
        close(&case, "median", of.median, number(&expected["median"]));
        let allowed = of.allowed.unwrap();
        let counts = [
            of.useful,
            longest(&of),
            allowed.longest,
            of.crossings,
            allowed.crossings,
        ];
        let names = ["n_useful", "longest", "longest_max", "cross", "cross_min"];
        for (count, name) in counts.into_iter().zip(names) {
            assert_eq!(count as u64, expected[name].as_u64().unwrap(), "{id}, {name}");
        }
        let is_signal = of.crosses_too_rarely() || of.too_long().next().is_some();
        assert_eq!(is_signal, expected["signal"].as_bool().unwrap(), "{id}");
    }
}

/// Length of the longest run.
fn longest(of: &RunChart) -> usize {
    of.runs.iter().map(|run| run.useful).max().unwrap_or(0)
}

#[test]
fn gaps_and_values_on_the_median_neither_break_a_run_nor_cross() {
    let plain = [1.0, 2.0, 8.0, 9.0, 1.0, 9.0].map(Some);
    let plain = RunChart::of(&plain).unwrap();
    assert_eq!(
        (plain.median, plain.useful, longest(&plain), plain.crossings),
        (5.0, 6, 2, 3)
    );
    let gaps = [
        Some(1.0),
        None,
        Some(2.0),
        Some(5.0),
        Some(8.0),
        Some(9.0),
        Some(1.0),
        Some(9.0),
    ];
    let gaps = RunChart::of(&gaps).unwrap();
    assert_eq!(
        (gaps.median, gaps.useful, longest(&gaps), gaps.crossings),
        (5.0, 6, 2, 3)
    );
    let first = gaps.runs[0];
    assert_eq!(
        (first.first, first.last, first.useful, first.side),
        (0, 2, 2, Side::Below)
    );
}

/// NIST/SEMATECH e-Handbook 6.3.2.3: first alarm at group 14.
#[test]
fn cumulative_sums_equal_the_handbooks() {
    let case = case("cusum_nist");
    let inputs = &case["inputs"];
    let of = Cusum {
        target: number(&inputs["target"]),
        allowance: number(&inputs["k"]),
        limit: number(&inputs["h"]),
    };
    let sums = of.sums(&numbers(&inputs["x"])).unwrap();
    let expected = &case["expected"];
    let above: Vec<f64> = sums.iter().map(|sums| sums.above).collect();
    let below: Vec<f64> = sums.iter().map(|sums| sums.below).collect();
    all_close(&case, "above", &above, &expected["s_hi"]);
    all_close(&case, "below", &below, &expected["s_lo"]);
    let on = |side: Side| -> Vec<u64> {
        let of = sums.iter().enumerate().filter(|(_, sums)| sums.signal == Some(side));
        of.map(|(index, _)| index as u64).collect()
    };
    assert_eq!(on(Side::Above), whole(&expected["hi_out_idx0"]));
    assert_eq!(on(Side::Below), whole(&expected["lo_out_idx0"]));
}

#[test]
fn degenerate_months_have_documented_answers() {
    assert_eq!(p::centre(&[]), None);
    assert_eq!(p::centre(&[(0, 0)]), None);
    assert_eq!(p::centre(&[(2, 1), (0, 9)]), None);
    for limits in [p::three_sigma, p::exact, p::limits] {
        assert_eq!(limits(0.2, 0), None);
        assert_eq!(limits(f64::NAN, 10), None);
        assert_eq!(limits(1.2, 10), None);
        assert_eq!(limits(0.0, 10), Some(Limits { lower: 0.0, upper: 0.0 }));
        assert_eq!(limits(1.0, 10), Some(Limits { lower: 1.0, upper: 1.0 }));
        assert!(limits(0.3, u64::MAX).unwrap().upper.is_finite());
    }
    assert_eq!(u::centre(&[]), None);
    assert_eq!(u::centre(&[(1, 0.0)]), None);
    assert_eq!(u::centre(&[(1, -1.0), (1, 2.0)]), None);
    assert_eq!(u::centre(&[(1, f64::NAN)]), None);
    assert_eq!(u::centre(&[(1, f64::INFINITY)]), None);
    for limits in [u::three_sigma, u::exact, u::limits] {
        assert_eq!(limits(1.0, 0.0), None);
        assert_eq!(limits(f64::NAN, 1.0), None);
        assert_eq!(limits(-1.0, 1.0), None);
        assert_eq!(limits(1.0, f64::INFINITY), None);
        assert_eq!(limits(0.0, 3.0), Some(Limits { lower: 0.0, upper: 0.0 }));
        assert!(limits(1e300, 1.0).unwrap().upper.is_finite());
    }
    assert_eq!(laney::standardised_proportions(&[(0, 5), (0, 7)], 0.0), None);
    assert_eq!(laney::standardised_rates(&[(0, 5.0)], 0.0), None);
    assert_eq!(laney::sigma_z(&[]), None);
    assert_eq!(laney::proportion_limits(0.5, 10, f64::INFINITY), None);
    assert_eq!(laney::rate_limits(0.5, 10.0, f64::NAN), None);
    assert_eq!(Dispersion::of_proportions(&[(0, 9), (0, 9), (0, 9)]), None);
    assert_eq!(Dispersion::of_proportions(&[(9, 9), (9, 9), (9, 9)]), None);
    assert_eq!(Dispersion::of_proportions(&[(3, 9), (3, 9)]), None);
    assert_eq!(Dispersion::of_rates(&[(0, 9.0), (0, 9.0), (0, 9.0)]), None);
    let same = Dispersion::of_rates(&[(3, 9.0), (3, 9.0), (3, 9.0)]).unwrap();
    assert_eq!((same.chi_square, same.is_more_than_chance()), (0.0, false));
}

#[test]
fn degenerate_values_have_documented_answers() {
    assert_eq!(Individuals::of(&[]), None);
    assert_eq!(Individuals::of(&[1.0, f64::NAN]), None);
    assert_eq!(Individuals::of(&[f64::MAX, f64::MAX, f64::MAX]), None);
    let same = Individuals::of(&[3.0, 3.0]).unwrap().limits();
    assert_eq!((same.lower, same.upper), (3.0, 3.0));
    assert_eq!(t::individuals(&[]), None);
    assert_eq!(t::individuals(&[4.0]), None);
    assert_eq!(t::individuals(&[4.0, f64::INFINITY]), None);
    assert_eq!(t::raised_back(-1.0), 0.0);
    let none = t::limits(&t::individuals(&[0.0, 0.0]).unwrap());
    assert_eq!((none.lower, none.upper), (0.0, 0.0));
    assert!(t::limits(&t::individuals(&[f64::MAX, 0.0]).unwrap()).upper.is_finite());
    assert_eq!(g::exact(0.0), Some(Limits { lower: 0.0, upper: 0.0 }));
    assert_eq!(g::exact(-1.0), None);
    assert_eq!(g::exact(f64::NAN), None);
    assert_eq!(g::exact(f64::INFINITY), None);
    assert!(g::exact(1e150).unwrap().upper.is_finite());
    assert_eq!(run_chart::median(&[]), None);
    assert_eq!(run_chart::median(&[f64::NAN]), None);
    assert_eq!(run_chart::median(&[f64::MAX, f64::MAX, f64::MIN, f64::MIN]), Some(0.0));
    assert_eq!(RunChart::of(&[None, None]), None);
    assert_eq!(RunChart::of(&[Some(f64::INFINITY)]), None);
    let same = RunChart::of(&[Some(2.0); 30]).unwrap();
    assert_eq!(
        (same.useful, longest(&same), same.crossings, same.allowed),
        (0, 0, 0, None)
    );
    assert!(!same.crosses_too_rarely() && same.too_long().next().is_none());
}

#[test]
fn degenerate_sums_have_documented_answers() {
    let of = Cusum {
        target: 0.0,
        allowance: 0.5,
        limit: 4.0,
    };
    assert_eq!(of.sums(&[]), Some(Vec::new()));
    assert_eq!(of.sums(&[f64::NAN]), None);
    assert_eq!(Cusum { target: f64::NAN, ..of }.sums(&[1.0]), None);
    assert_eq!(of.sums(&[-6.0]).unwrap()[0].signal, Some(Side::Below));
}
