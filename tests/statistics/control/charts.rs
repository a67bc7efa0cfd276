//! Whole charts: kind, baseline, phases, limits and signals.

use serde_json::Value;

use siskin::statistics::control::chart::{BASELINE, Chart, Kind, Rule, Scale, Series, Signal, Why};
use siskin::statistics::control::chart::{BASELINE_OF_SPREAD, false_signals};
use siskin::statistics::control::dispersion::Dispersion;
use siskin::statistics::control::run_chart::RunChart;
use siskin::statistics::control::{Limits, Side, g, p, t, u};

use super::super::published::{case, close, numbers};

fn whole(value: &Value) -> Vec<u64> {
    numbers(value).iter().map(|x| *x as u64).collect()
}

fn proportions(months: &[(u64, u64)]) -> Chart {
    let months: Vec<Option<(u64, u64)>> = months.iter().copied().map(Some).collect();
    Chart::of(Series::Proportions(&months), &[], &[])
}

fn values(values: &[f64]) -> Chart {
    let months: Vec<Option<f64>> = values.iter().copied().map(Some).collect();
    let series = Series::Values {
        months: &months,
        scale: Scale::Plain,
    };
    Chart::of(series, &[], &[])
}

fn of_rule(chart: &Chart, rule: Rule) -> Vec<Signal> {
    chart
        .signals
        .iter()
        .filter(|signal| signal.rule == rule)
        .copied()
        .collect()
}

/// About 20 of 100 a month, up and down.
fn steady(months: usize) -> Vec<(u64, u64)> {
    (0..months)
        .map(|month| ([20, 23, 17, 22, 18, 19, 21][month % 7], 100))
        .collect()
}

/// NHS emergency departments (Mohammed and others 2013): months differ far more than by chance.
#[test]
fn departments_that_differ_get_laneys_published_limits() {
    let case = case("laney_pprime_nhs_ae");
    let counts = whole(&case["inputs"]["r"]).into_iter().zip(whole(&case["inputs"]["n"]));
    let chart = proportions(&counts.collect::<Vec<_>>());
    let phase = &chart.phases[0];
    assert_eq!(phase.kind, Kind::LaneyP);
    assert_eq!(phase.baseline.len(), 20);
    let expected = &case["expected"];
    close(
        &case,
        "centre",
        phase.centre.unwrap(),
        expected["pbar"].as_f64().unwrap(),
    );
    close(
        &case,
        "sigma z",
        phase.sigma_z.unwrap(),
        expected["sigma_z_1.128"].as_f64().unwrap(),
    );
    let columns = numbers(&expected["ucl_1.128"])
        .into_iter()
        .zip(numbers(&expected["lcl_1.128"]));
    for (month, (upper, lower)) in chart.months.iter().zip(columns) {
        let limits = month.limits.unwrap();
        close(&case, "upper", limits.upper, upper);
        close(&case, "lower", limits.lower, lower);
        assert!(!month.is_exact);
    }
    assert!(chart.signals.is_empty());
}

/// Montgomery, example 7.6: twenty times, all of the baseline.
#[test]
fn valve_failures_get_the_books_limits() {
    let case = case("t_chart_valve_failures");
    let hours = numbers(&case["inputs"]["hours"]);
    let months: Vec<Option<f64>> = hours.into_iter().map(Some).collect();
    let series = Series::Values {
        months: &months,
        scale: Scale::LongTail,
    };
    let chart = Chart::of(series, &[], &[]);
    assert_eq!(chart.phases[0].kind, Kind::Individuals);
    let expected = &case["expected"]["pow_1_over_3.6"];
    let limits = chart.months[0].limits.unwrap();
    close(
        &case,
        "centre",
        chart.phases[0].centre.unwrap(),
        expected["center_back"].as_f64().unwrap(),
    );
    close(&case, "upper", limits.upper, expected["ucl_back"].as_f64().unwrap());
    close(&case, "lower", limits.lower, expected["lcl_back"].as_f64().unwrap());
    assert!(chart.signals.is_empty());
}

/// Constructed counts of the published case, a baseline of twelve.
#[test]
fn cases_between_events_get_exact_limits() {
    let between = whole(&case("g_chart_constructed")["inputs"]["cases_between"]);
    let chart = Chart::of(Series::CasesBetween(&between), &[], &[]);
    let phase = &chart.phases[0];
    assert_eq!((phase.kind, phase.baseline.len()), (Kind::G, BASELINE));
    let mean = between[..BASELINE].iter().sum::<u64>() as f64 / BASELINE as f64;
    assert_eq!(phase.centre, Some(mean));
    assert_eq!(chart.months[15].limits, g::exact(mean));
    assert!(chart.months.iter().all(|month| month.is_exact));
    assert!(chart.signals.is_empty());
    let mut quiet = between.clone();
    quiet[19] = 300;
    let signal = Chart::of(Series::CasesBetween(&quiet), &[], &[]).signals[0];
    assert_eq!(
        (signal.rule, signal.first, signal.side),
        (Rule::BeyondLimit, 19, Some(Side::Above))
    );
}

/// The published run charts: the rules of runs on the whole chart.
#[test]
fn runs_signal_as_on_the_published_run_charts() {
    for id in ["run_chart_oj", "run_chart_lew", "run_chart_nhs"] {
        let case = case(id);
        let chart = values(&numbers(&case["inputs"]["y"]));
        let by_runs = chart.signals.iter().any(|signal| signal.rule != Rule::BeyondLimit);
        assert_eq!(by_runs, case["expected"]["signal"].as_bool().unwrap(), "{id}");
    }
}

/// Montgomery, table 7.3: of 50 samples off the median 7, runs up to 9 are allowed. Ten high ones
/// before the machine was adjusted and twelve low ones after it are longer.
#[test]
fn a_long_run_names_its_months_and_side() {
    let cans: Vec<(u64, u64)> = whole(&case("run_chart_oj")["inputs"]["y"])
        .into_iter()
        .map(|count| (count, 50))
        .collect();
    let chart = proportions(&cans);
    let runs = of_rule(&chart, Rule::LongRun);
    let spans: Vec<_> = runs.iter().map(|run| (run.first, run.last, run.side)).collect();
    assert_eq!(spans, [(18, 28, Some(Side::Above)), (33, 45, Some(Side::Below))]);
    for (index, month) in chart.months.iter().enumerate() {
        let is_within = (18..=28).contains(&index) || (33..=45).contains(&index);
        let is_marked = month.signals.contains(&Rule::LongRun);
        assert_eq!(is_marked, is_within && cans[index].0 != 7, "{index}");
    }
    let marked = |from: usize, to: usize| {
        let months = chart.months[from..=to].iter();
        months.filter(|month| month.signals.contains(&Rule::LongRun)).count()
    };
    assert_eq!((marked(18, 28), marked(33, 45)), (10, 12));
    let crossings = of_rule(&chart, Rule::FewCrossings);
    assert_eq!(
        (crossings[0].first, crossings[0].last, crossings[0].side),
        (0, 53, None)
    );
    assert!(chart.signals.is_sorted_by_key(|signal| signal.first));
}

#[test]
fn twelve_months_set_the_limits_and_later_ones_are_judged() {
    let mut months = steady(18);
    months[14] = (60, 100);
    let chart = proportions(&months);
    let phase = &chart.phases[0];
    assert_eq!(phase.kind, Kind::P);
    assert_eq!(phase.baseline, (0..12).collect::<Vec<_>>());
    assert_eq!(phase.centre, p::centre(&months[..12]));
    assert_eq!(chart.months[17].limits, p::three_sigma(phase.centre.unwrap(), 100));
    let signal = Signal {
        rule: Rule::BeyondLimit,
        first: 14,
        last: 14,
        side: Some(Side::Above),
        phase: 0,
    };
    assert_eq!(chart.signals, [signal]);
    assert_eq!(chart.months[14].signals, [Rule::BeyondLimit]);
    assert_eq!(phase.false_signal, false_signals::probability(Kind::P, 18));
    assert!((chart.false_signal() - phase.false_signal).abs() < 1e-12);
}

#[test]
fn where_spread_is_learnt_the_baseline_grows_to_two_years() {
    let series: Vec<f64> = (0..30).map(|month| f64::from(month * 7 % 11)).collect();
    for months in [12, 20, 30] {
        let chart = values(&series[..months]);
        let phase = &chart.phases[0];
        assert_eq!(phase.kind, Kind::Individuals);
        assert_eq!(phase.baseline.len(), months.min(BASELINE_OF_SPREAD));
    }
}

#[test]
fn a_documented_change_starts_a_phase_of_its_own() {
    let mut months = steady(14);
    months.extend(steady(14).iter().map(|(events, trials)| (events + 30, *trials)));
    let months: Vec<Option<(u64, u64)>> = months.into_iter().map(Some).collect();
    let series = Series::Proportions(&months);
    assert!(!Chart::of(series, &[], &[]).signals.is_empty());
    let chart = Chart::of(series, &[14], &[]);
    assert!(chart.signals.is_empty());
    assert_eq!(chart.phases.len(), 2);
    assert_eq!(
        (chart.phases[0].months.clone(), chart.phases[1].months.clone()),
        (0..14, 14..28)
    );
    assert_eq!(chart.phases[1].baseline, (14..26).collect::<Vec<_>>());
    let apart = chart.months[20].centre.unwrap() - chart.months[3].centre.unwrap();
    assert!((apart - 0.3).abs() < 0.02);
    let each = chart.phases[0].false_signal;
    assert!((chart.false_signal() - (1.0 - (1.0 - each) * (1.0 - each))).abs() < 1e-12);
    // Signals of the second phase name it.
    let mut worse = months.clone();
    worse[27] = Some((90, 100));
    let signal = Chart::of(Series::Proportions(&worse), &[14], &[]).signals[0];
    assert_eq!((signal.first, signal.phase), (27, 1));
}

#[test]
fn provisional_months_are_drawn_and_nothing_else() {
    let mut months: Vec<Option<(u64, u64)>> = steady(15).into_iter().map(Some).collect();
    let mut provisional = vec![false; 15];
    months[14] = Some((95, 100));
    provisional[14] = true;
    months[3] = Some((95, 100));
    provisional[3] = true;
    let chart = Chart::of(Series::Proportions(&months), &[], &provisional);
    let phase = &chart.phases[0];
    assert!(chart.signals.is_empty());
    assert_eq!(phase.false_signal, false_signals::probability(Kind::P, 13));
    assert_eq!(phase.baseline, [0, 1, 2, 4, 5, 6, 7, 8, 9, 10, 11, 12]);
    let month = &chart.months[14];
    assert!(month.is_provisional && month.signals.is_empty());
    assert_eq!(month.value, Some(0.95));
    assert!(month.limits.is_some());
}

#[test]
fn a_month_without_data_is_a_gap_with_a_centre_and_no_limits() {
    let mut months: Vec<Option<(u64, u64)>> = steady(15).into_iter().map(Some).collect();
    months[4] = None;
    months[5] = Some((0, 0));
    let chart = Chart::of(Series::Proportions(&months), &[], &[]);
    assert_eq!(chart.phases[0].baseline.len(), 12);
    assert_eq!(chart.phases[0].baseline[4], 6);
    for month in [&chart.months[4], &chart.months[5]] {
        assert_eq!((month.value, month.limits), (None, None));
        assert!(month.centre.is_some());
    }
}

#[test]
fn small_counts_get_exact_limits() {
    let months: Vec<(u64, u64)> = (0..16)
        .map(|month| ([1, 2, 0, 3][month % 4], 60 + month as u64))
        .collect();
    let chart = proportions(&months);
    assert_eq!(chart.phases[0].kind, Kind::PExact);
    let centre = chart.phases[0].centre.unwrap();
    assert_eq!(chart.months[13].limits, p::exact(centre, 73));
    assert!(chart.months[13].is_exact);
    let rates: Vec<Option<(u64, u64)>> = months.into_iter().map(Some).collect();
    let series = Series::Rates {
        months: &rates,
        per: 1000.0,
    };
    let chart = Chart::of(series, &[], &[]);
    assert_eq!(chart.phases[0].kind, Kind::UExact);
    assert!((chart.months[1].value.unwrap() - 2000.0 / 61.0).abs() < 1e-9);
    let centre = chart.phases[0].centre.unwrap();
    assert_eq!(chart.months[13].limits, u::exact(centre, 0.073));
}

/// A month of few trials on a chart of Laney's has the wider of both limits on either side.
#[test]
fn a_small_month_among_months_that_differ_has_the_wider_limits() {
    let mut months: Vec<(u64, u64)> = (0..14).map(|m| ([100, 300, 180, 40][m % 4], 1000)).collect();
    months[13] = (1, 12);
    let chart = proportions(&months);
    let phase = &chart.phases[0];
    assert_eq!(phase.kind, Kind::LaneyP);
    assert!(phase.sigma_z.unwrap() > 5.0);
    let (centre, limits) = (phase.centre.unwrap(), chart.months[13].limits.unwrap());
    let exact = p::exact(centre, 12).unwrap();
    assert!(limits.lower <= exact.lower && limits.upper >= exact.upper);
    assert_eq!(limits.upper, 1.0);
}

/// Two levels within the first year: neighbours differ by chance alone but for once, so the limits
/// stay narrow enough to tell.
#[test]
fn a_step_hardly_widens_the_limits() {
    let step = |month| if month < 6 { 0 } else { 45 };
    let months: Vec<(u64, u64)> = steady(14)
        .into_iter()
        .enumerate()
        .map(|(m, (x, n))| (x + step(m), n))
        .collect();
    let chart = proportions(&months);
    let phase = &chart.phases[0];
    let dispersion = Dispersion::of_proportions(&months[..BASELINE]).unwrap();
    assert!(dispersion.is_more_than_chance() && dispersion.chi_square > 20.0 * 11.0);
    assert!(phase.sigma_z.is_none_or(|sigma_z| sigma_z < 1.6), "{:?}", phase.sigma_z);
    assert!(!of_rule(&chart, Rule::BeyondLimit).is_empty());
}

#[test]
fn a_baseline_without_an_event_has_the_limits_of_one() {
    let mut months = vec![(0, 200); 15];
    months[13] = (2, 200);
    let none = proportions(&months);
    assert_eq!((none.phases[0].kind, none.phases[0].centre), (Kind::PExact, Some(0.0)));
    assert!(none.signals.is_empty());
    assert_eq!(none.months[13].limits, p::exact(1.0 / 2400.0, 200));
    months[14] = (3, 200);
    let signal = proportions(&months).signals[0];
    assert_eq!((signal.first, signal.side), (14, Some(Side::Above)));
    // The same the other way round: all covered, then three not.
    let covered: Vec<(u64, u64)> = months.iter().map(|(events, n)| (n - events, *n)).collect();
    let all = proportions(&covered);
    assert_eq!((all.phases[0].kind, all.phases[0].centre), (Kind::PExact, Some(1.0)));
    assert_eq!(all.signals.len(), 1);
    assert_eq!((all.signals[0].first, all.signals[0].side), (14, Some(Side::Below)));
    // And as a rate.
    let rates: Vec<Option<(u64, u64)>> = months.into_iter().map(Some).collect();
    let series = Series::Rates {
        months: &rates,
        per: 1000.0,
    };
    let rates = Chart::of(series, &[], &[]);
    assert_eq!(
        (rates.phases[0].kind, rates.phases[0].centre),
        (Kind::UExact, Some(0.0))
    );
    assert_eq!(
        rates.signals.iter().map(|signal| signal.first).collect::<Vec<_>>(),
        [14]
    );
}

#[test]
fn too_few_months_have_runs_only_or_nothing() {
    let chart = proportions(&steady(9));
    assert_eq!(chart.phases[0].kind, Kind::TooFew(Why::FewMonths { found: 9 }));
    assert!(chart.phases[0].baseline.is_empty());
    assert_eq!(chart.phases[0].false_signal, 0.0);
    assert!(
        chart
            .months
            .iter()
            .all(|month| month.centre.is_none() && month.limits.is_none())
    );
    // Eleven, one of them on the median: ten useful ones, five low and five high.
    let eleven = [1.0, 2.0, 1.5, 2.5, 1.0, 5.0, 9.0, 8.0, 9.5, 8.5, 9.0];
    let chart = values(&eleven);
    assert_eq!(chart.phases[0].kind, Kind::RunOnly(Why::FewMonths { found: 11 }));
    assert_eq!(chart.signals.len(), 1);
    assert_eq!(chart.signals[0].rule, Rule::FewCrossings);
    assert!(
        chart
            .months
            .iter()
            .all(|month| month.signals.is_empty() && month.limits.is_none())
    );
}

#[test]
fn identical_values_have_no_spread() {
    assert_eq!(values(&[3.0; 20]).phases[0].kind, Kind::TooFew(Why::NoSpread));
    let mut later = vec![3.0; 24];
    later.extend((0..40).map(|month| f64::from(month % 2) * 2.0 + 2.0));
    let chart = values(&later);
    assert_eq!(chart.phases[0].kind, Kind::RunOnly(Why::NoSpread));
    assert!(chart.signals.is_empty());
    let counts = Chart::of(Series::CasesBetween(&[0; 15]), &[], &[]);
    assert_eq!(counts.phases[0].kind, Kind::TooFew(Why::NoSpread));
    let hours = Series::Values {
        months: &[Some(0.0); 15],
        scale: Scale::LongTail,
    };
    assert_eq!(Chart::of(hours, &[], &[]).phases[0].kind, Kind::TooFew(Why::NoSpread));
    // Proportions have chance within a month.
    assert_eq!(proportions(&[(20, 100); 15]).phases[0].kind, Kind::P);
}

fn rates(months: &[(u64, u64)]) -> Chart {
    let months: Vec<Option<(u64, u64)>> = months.iter().copied().map(Some).collect();
    let series = Series::Rates {
        months: &months,
        per: 1000.0,
    };
    Chart::of(series, &[], &[])
}

/// One case for each 70 births in every month: nothing ever changed, however many births there were.
#[test]
fn equal_rates_lie_on_their_median() {
    for (few, many) in [((1, 70), (3, 210)), ((1, 110), (3, 330)), ((7, 300), (21, 900))] {
        let mut months = vec![few; 12];
        months.extend([many; 12]);
        let chart = rates(&months);
        assert!(chart.signals.is_empty(), "{few:?}, {many:?}: {:?}", chart.signals);
        let values: Vec<Option<f64>> = chart.months.iter().map(|month| month.value).collect();
        assert!(values.iter().all(|value| *value == values[0]), "{values:?}");
        assert_eq!(RunChart::of(&values).unwrap().useful, 0);
    }
}

/// A month with as many cases as the exact limit allows lies on it, and is not beyond.
#[test]
fn a_count_on_its_exact_limit_is_not_beyond() {
    for births in (50..400).step_by(7) {
        let mut months = vec![(1, births); 12];
        let upper = rates(&months).months[0].limits.unwrap().upper;
        let most = (upper * births as f64 / 1000.0).round() as u64;
        months.extend([(most, births), (most + 1, births)]);
        let chart = rates(&months);
        let beyond = of_rule(&chart, Rule::BeyondLimit);
        assert_eq!(
            beyond.iter().map(|signal| signal.first).collect::<Vec<_>>(),
            [13],
            "{births}"
        );
        assert_eq!(
            chart.months[12].value,
            chart.months[12].limits.map(|limits| limits.upper)
        );
    }
}

#[test]
fn many_values_on_the_median_make_no_runs() {
    // Rare: mostly 0, the median. All others lie above it.
    let months: Vec<(u64, u64)> = (0..40).map(|month| (u64::from(month % 3 == 0), 300)).collect();
    let chart = proportions(&months);
    assert!(chart.signals.is_empty());
    // Runs by themselves would speak: one of fourteen, and no crossing.
    let values: Vec<Option<f64>> = chart.months.iter().map(|month| month.value).collect();
    let runs = RunChart::of(&values).unwrap();
    assert_eq!((runs.median, runs.useful, runs.runs.len()), (0.0, 14, 1));
    assert!(runs.crosses_too_rarely() && runs.too_long().next().is_some());
}

#[test]
fn hours_with_a_long_tail_are_judged_on_a_scale_of_their_own() {
    let hours: Vec<f64> = (0..16)
        .map(|month| [2.0, 3.5, 1.5, 6.0, 2.5, 0.0, 4.0][month % 7])
        .collect();
    let months: Vec<Option<f64>> = hours.iter().copied().map(Some).collect();
    let series = Series::Values {
        months: &months,
        scale: Scale::LongTail,
    };
    let chart = Chart::of(series, &[], &[]);
    let of = t::individuals(&hours).unwrap();
    assert_eq!(chart.phases[0].kind, Kind::Individuals);
    assert_eq!(chart.months[3].limits, Some(t::limits(&of)));
    assert_eq!(chart.phases[0].centre, Some(t::raised_back(of.centre)));
}

#[test]
fn limits_of_single_values_stand_in_months_without_one() {
    let months: Vec<Option<f64>> = (0..14).map(|m| (m != 5).then_some(f64::from(m % 3))).collect();
    let series = Series::Values {
        months: &months,
        scale: Scale::Plain,
    };
    let chart = Chart::of(series, &[], &[]);
    assert_eq!(chart.months[5].value, None);
    assert_eq!(chart.months[5].limits, chart.months[6].limits);
}

#[test]
fn false_signals_lie_on_the_line_between_two_columns() {
    let at = |judged| false_signals::probability(Kind::G, judged);
    assert_eq!((at(0), at(9)), (0.0, 0.0));
    assert!((at(22) - 0.07).abs() < 1e-12);
    assert!((at(60) - 0.198).abs() < 1e-12);
    assert!((at(72) - 0.226).abs() < 1e-12);
    assert_eq!(at(100_000), 1.0);
    assert_eq!(false_signals::probability(Kind::TooFew(Why::NoSpread), 30), 0.0);
}

#[test]
fn degenerate_series_have_documented_answers() {
    let none = Chart::of(Series::Proportions(&[]), &[3], &[true]);
    assert!(none.months.is_empty() && none.phases.is_empty() && none.signals.is_empty());
    assert_eq!(none.false_signal(), 0.0);
    let gaps = Chart::of(Series::Proportions(&[None, Some((0, 0)), Some((3, 2))]), &[], &[]);
    assert_eq!(gaps.phases[0].kind, Kind::TooFew(Why::FewMonths { found: 0 }));
    // Starts outside the series, twice the same, and the first month.
    let months = [Some((1, 5)); 4];
    let starts = Chart::of(Series::Proportions(&months), &[9, 2, 2, 0], &[false; 9]);
    let ranges: Vec<_> = starts.phases.iter().map(|phase| phase.months.clone()).collect();
    assert_eq!(ranges, [0..2, 2..4]);
    for per in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let months = [Some((1, 5)); 14];
        let chart = Chart::of(Series::Rates { months: &months, per }, &[], &[]);
        assert!(chart.months.iter().all(|month| month.value.is_none()));
    }
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        assert_eq!(values(&[bad, 1.0]).months[0].value, None);
    }
    let negative = Series::Values {
        months: &[Some(-1.0), Some(f64::NAN), Some(2.0)],
        scale: Scale::LongTail,
    };
    let negative = Chart::of(negative, &[], &[]);
    assert_eq!(negative.months[0].value, None);
    assert_eq!(negative.phases[0].kind, Kind::TooFew(Why::FewMonths { found: 1 }));
    // Huge figures give finite ones.
    let huge: Vec<f64> = (0..14)
        .map(|month| if month % 2 == 0 { 1e308 } else { -1e308 })
        .collect();
    assert_eq!(values(&huge).phases[0].kind, Kind::RunOnly(Why::NoSpread));
    let many: Vec<(u64, u64)> = (0..14).map(|month| (u64::MAX / (month + 2), u64::MAX)).collect();
    let limits = |chart: &Chart| {
        chart
            .months
            .iter()
            .filter_map(|month| month.limits)
            .collect::<Vec<Limits>>()
    };
    let chart = proportions(&many);
    assert!(
        limits(&chart)
            .iter()
            .all(|of| of.lower.is_finite() && of.upper.is_finite())
    );
    let between = Chart::of(Series::CasesBetween(&[u64::MAX; 14]), &[], &[]);
    assert!(
        limits(&between)
            .iter()
            .all(|of| of.lower.is_finite() && of.upper.is_finite())
    );
    // One trial a month.
    let single = proportions(&[(1, 1), (0, 1)].repeat(9));
    assert_eq!(single.phases[0].kind, Kind::PExact);
    assert!(single.signals.is_empty());
}
