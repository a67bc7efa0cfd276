//! Times until an event. The Freireich trial, the men of the Amsterdam cohort and the liver trial
//! stand in the published file with their sources.

use serde_json::Value;

use super::published::{case, close, numbers};
use siskin::statistics::proportion::wilson;
use siskin::statistics::survival::log_rank::log_rank;
use siskin::statistics::survival::restricted_mean::{difference, restricted_mean};
use siskin::statistics::survival::{End, Limits, Time, aalen_johansen, kaplan_meier};

/// Follow-ups from a list of times and a list of ends, of which `event` is the one of interest,
/// 0 cut short and any other competing.
fn follow_ups(times: &Value, ends: &Value, event: f64) -> Vec<(f64, End)> {
    let end = |status: f64| match status {
        0.0 => End::Censored,
        status if status == event => End::Event,
        _ => End::Competing,
    };
    let pairs = numbers(times).into_iter().zip(numbers(ends));
    pairs.map(|(time, status)| (time, end(status))).collect()
}

fn single(inputs: &Value) -> Vec<(f64, End)> {
    follow_ups(&inputs["time"], &inputs["event"], 1.0)
}

/// Asserts two numbers are close, or that neither is defined.
fn both_close(case: &Value, what: &str, got: Option<f64>, expected: f64) {
    match got {
        Some(got) => close(case, what, got, expected),
        None => assert!(
            expected.is_nan(),
            "{}, {what}: nothing instead of {expected}",
            case["id"]
        ),
    }
}

/// R `survival::survfit(conf.type = "log-log")`; lifelines agrees.
#[test]
fn kaplan_meier_equals_the_freireich_trial() {
    for id in ["km_freireich_6mp", "km_freireich_control"] {
        let case = case(id);
        let steps = kaplan_meier::survival(&single(&case["inputs"]));
        let expected = |of: &str| numbers(&case["expected"][of]);
        assert_eq!(steps.iter().map(|s| s.time).collect::<Vec<_>>(), expected("t"));
        assert_eq!(
            steps.iter().map(|s| s.at_risk as f64).collect::<Vec<_>>(),
            expected("n_risk")
        );
        assert_eq!(
            steps.iter().map(|s| s.events as f64).collect::<Vec<_>>(),
            expected("n_event")
        );
        for (i, step) in steps.iter().enumerate() {
            close(&case, "S", step.survival, expected("surv")[i]);
            both_close(&case, "se", step.standard_error, expected("greenwood_se")[i]);
            let interval = step.interval;
            both_close(&case, "lower", interval.map(|of| of.lower), expected("loglog_lower")[i]);
            both_close(&case, "upper", interval.map(|of| of.upper), expected("loglog_upper")[i]);
        }
        let median = case["expected"]["median"].as_f64();
        assert!(median.is_some() && kaplan_meier::median(&steps) == median);
        let limits = &case["expected"]["median_ci_loglog"];
        let of_median = kaplan_meier::median_interval(&steps);
        assert_eq!(of_median.lower, limits[0].as_f64());
        assert_eq!(of_median.upper, limits[1].as_f64());
    }
}

/// R `survival::survdiff`; 16.79 in Cox & Oakes (1984).
#[test]
fn log_rank_equals_the_freireich_trial() {
    let case = case("logrank_freireich");
    let inputs = &case["inputs"];
    let a = follow_ups(&inputs["time_A"], &inputs["event_A"], 1.0);
    let b = follow_ups(&inputs["time_B"], &inputs["event_B"], 1.0);
    let found = log_rank(&a, &b).unwrap();
    let expected = |of: &str| case["expected"][of].as_f64().unwrap();
    assert_eq!(found.observed.map(|n| n as f64), [expected("O_A"), expected("O_B")]);
    close(&case, "E_A", found.expected[0], expected("E_A"));
    close(&case, "E_B", found.expected[1], expected("E_B"));
    close(&case, "variance", found.variance, expected("var"));
    close(&case, "chi-square", found.chi_square, expected("chisq"));
    close(&case, "p", found.p, expected("p"));
    let turned = log_rank(&b, &a).unwrap();
    close(&case, "turned round", turned.chi_square, found.chi_square);
}

/// R `survival`, `summary(fit, rmean = tau)`; without censoring the plain mean.
#[test]
fn restricted_means_equal_the_freireich_trial() {
    for id in [
        "rmst_freireich_tau23",
        "rmst_freireich_tau35",
        "rmst_freireich_control_tau35",
    ] {
        let case = case(id);
        let limit = case["inputs"]["tau"].as_f64().unwrap();
        let found = restricted_mean(&single(&case["inputs"]), limit).unwrap();
        close(&case, "mean", found.value, case["expected"]["rmst"].as_f64().unwrap());
        close(
            &case,
            "se",
            found.standard_error,
            case["expected"]["se"].as_f64().unwrap(),
        );
    }
}

/// The vignette of R `survRM2`: 7.146 against 7.283 years, difference -0.137 (-0.939 to 0.665).
#[test]
fn difference_of_restricted_means_equals_the_liver_trial() {
    let case = case("rmst_pbc_tau10");
    let inputs = &case["inputs"];
    let year = inputs["days_per_year"].as_f64().unwrap();
    let arms = numbers(&inputs["arm"]);
    let all = follow_ups(&inputs["time_days"], &inputs["event_death"], 1.0);
    let arm = |of: f64| -> Vec<(f64, End)> {
        let those = all.iter().zip(&arms).filter(|(_, arm)| **arm == of);
        those.map(|((days, end), _)| (days / year, *end)).collect()
    };
    let limit = inputs["tau"].as_f64().unwrap();
    let expected = &case["expected"];
    for (name, of) in [("arm0", 0.0), ("arm1", 1.0)] {
        let found = restricted_mean(&arm(of), limit).unwrap();
        close(&case, name, found.value, expected[name]["rmst"].as_f64().unwrap());
        close(
            &case,
            name,
            found.standard_error,
            expected[name]["se"].as_f64().unwrap(),
        );
    }
    let found = difference(&arm(1.0), &arm(0.0), limit).unwrap();
    close(&case, "difference", found.value, expected["diff"].as_f64().unwrap());
    close(
        &case,
        "its se",
        found.standard_error,
        expected["se_diff"].as_f64().unwrap(),
    );
    let interval = found.interval.unwrap();
    close(&case, "lower", interval.lower, numbers(&expected["ci"])[0]);
    close(&case, "upper", interval.upper, numbers(&expected["ci"])[1]);
}

/// Putter H, Fiocco M, Geskus RB (2007) Stat Med 26:2389-2430: 329 men, two competing causes.
/// Values of R `survival` and R `cmprsk`; the variance is that of `cmprsk` (Aalen's).
#[test]
fn cumulative_incidence_and_its_variance_equal_the_amsterdam_cohort() {
    let case = case("cuminc_aidssi");
    let (inputs, expected) = (&case["inputs"], &case["expected"]);
    let times = numbers(&inputs["eval_t"]);
    for cause in [1, 2] {
        let ends = follow_ups(&inputs["time"], &inputs["status"], f64::from(cause));
        let steps = aalen_johansen::incidence(&ends);
        for (i, time) in times.iter().enumerate() {
            let got = aalen_johansen::by(&steps, *time);
            close(&case, "incidence", got, numbers(&expected[format!("cif_{cause}")])[i]);
            let step = steps.iter().rev().find(|step| step.time <= *time).unwrap();
            let variance = numbers(&expected[format!("var_{cause}_cmprsk_delta")])[i];
            close(&case, "variance", step.variance, variance);
            // The other convention differs in the third digit only.
            let jackknife = numbers(&expected[format!("se_{cause}_infinitesimal_jackknife")])[i];
            assert!((step.variance.sqrt() / jackknife - 1.0).abs() < 0.01);
        }
    }
}

/// One minus Kaplan-Meier with the competing cause censored says 0.560 where it is 0.404.
#[test]
fn one_minus_kaplan_meier_overstates_the_incidence() {
    let case = case("cuminc_aidssi");
    let (inputs, expected) = (&case["inputs"], &case["expected"]);
    let ends = follow_ups(&inputs["time"], &inputs["status"], 1.0);
    let any = |of: &(f64, End)| (of.0, if of.1 == End::Competing { End::Event } else { of.1 });
    let either: Vec<(f64, End)> = ends.iter().map(any).collect();
    let (naive, free) = (kaplan_meier::survival(&ends), kaplan_meier::survival(&either));
    let steps = aalen_johansen::incidence(&ends);
    for (i, time) in numbers(&inputs["eval_t"]).iter().enumerate() {
        let wrong = 1.0 - kaplan_meier::by(&naive, *time);
        close(
            &case,
            "naive",
            wrong,
            numbers(&expected["naive_1minusKM_cause1_WRONG"])[i],
        );
        assert!(wrong > aalen_johansen::by(&steps, *time));
        let event_free = numbers(&expected["event_free"])[i];
        close(&case, "event free", kaplan_meier::by(&free, *time), event_free);
    }
}

/// Ten subjects, worked in fractions: CIF1(8) = 101/210, CIF2(8) = 109/210; R `survival::survfit`
/// gives the same.
#[test]
fn cumulative_incidence_equals_the_example_worked_by_hand() {
    let case = case("cuminc_tiny_by_hand");
    let (inputs, expected) = (&case["inputs"], &case["expected"]);
    let of_cause = |cause| aalen_johansen::incidence(&follow_ups(&inputs["time"], &inputs["status"], cause));
    let (first, second) = (of_cause(1.0), of_cause(2.0));
    for (i, time) in numbers(&expected["t"]).iter().enumerate() {
        let (one, two) = (aalen_johansen::by(&first, *time), aalen_johansen::by(&second, *time));
        close(&case, "first", one, numbers(&expected["cif_1"])[i]);
        close(&case, "second", two, numbers(&expected["cif_2"])[i]);
        close(&case, "free", 1.0 - one - two, numbers(&expected["event_free"])[i]);
    }
    assert!((aalen_johansen::by(&first, 8.0) - 101.0 / 210.0).abs() < 1e-12);
    assert!((aalen_johansen::by(&second, 8.0) - 109.0 / 210.0).abs() < 1e-12);
    assert_eq!(aalen_johansen::by(&first, 0.0), 0.0);
    assert_eq!(aalen_johansen::median(&first), None);
    assert_eq!(aalen_johansen::median(&second), Some(8.0));
}

/// Four subjects, by hand: 1/4 at 1, and 1/2 at 3; in whole seconds. One minus Kaplan-Meier would
/// say 1 - 3/4 * 1/2 = 0.625. Variance at 1: 1·3/3 / 4² = 1/16. At 3, F grew by 1/4 since 1 and
/// since 2, with S = 3/4 and 1/2: (1 - 1/3)²/16 + (3/4)²/9·(1/2)² + (1/2)²/4 = 1/36 + 1/64 + 1/16.
#[test]
fn whole_seconds_serve_as_times() {
    let ends = [
        (1, End::Event),
        (2, End::Competing),
        (3, End::Event),
        (4, End::Censored),
    ];
    let steps = aalen_johansen::incidence(&ends);
    assert_eq!(aalen_johansen::by(&steps, 4), 0.5);
    assert!((steps[0].variance - 1.0 / 16.0).abs() < 1e-15);
    assert!((steps[1].variance - (1.0 / 36.0 + 1.0 / 64.0 + 1.0 / 16.0)).abs() < 1e-15);
    assert_eq!(kaplan_meier::by(&kaplan_meier::survival(&ends), 4), 0.375);
}

/// With a single time, the variance is the binomial one with n - 1, whatever competes: F = 3/8,
/// (3/8)(5/8)/7; and the interval that of Kaplan-Meier's log-log scale, worked here.
#[test]
fn at_a_single_time_the_variance_is_the_binomial_one() {
    let mut ends = vec![(1, End::Event); 3];
    ends.extend([(1, End::Competing), (1, End::Competing), (1, End::Censored)]);
    ends.extend([(2, End::Censored), (2, End::Censored)]);
    let step = aalen_johansen::incidence(&ends)[0];
    let variance: f64 = 0.375 * 0.625 / 7.0;
    assert!((step.variance - variance).abs() < 1e-15);
    let interval = step.interval().unwrap();
    assert_eq!(aalen_johansen::interval_by(&ends, 1), Some(interval));
    let half = 1.959_963_984_540_054 * variance.sqrt() / (0.625 * -(0.625_f64.ln()));
    let lower = 1.0 - 0.625_f64.powf((-half).exp());
    let upper = 1.0 - 0.625_f64.powf(half.exp());
    assert!((interval.lower - lower).abs() < 1e-12 && (interval.upper - upper).abs() < 1e-12);
    assert!(0.0 < lower && lower < 0.375 && 0.375 < upper && upper < 1.0);
}

/// The limits of the median are where the limits of the curve cross one half.
#[test]
fn the_interval_of_a_median_inverts_the_curve() {
    let case = case("cuminc_aidssi");
    let inputs = &case["inputs"];
    let either: Vec<(f64, End)> = follow_ups(&inputs["time"], &inputs["status"], 1.0)
        .into_iter()
        .map(|(time, end)| (time, if end == End::Censored { end } else { End::Event }))
        .collect();
    let steps = aalen_johansen::incidence(&either);
    let (median, limits) = (
        aalen_johansen::median(&steps).unwrap(),
        aalen_johansen::median_interval(&steps),
    );
    let (lower, upper) = (limits.lower.unwrap(), limits.upper.unwrap());
    assert!(lower < median && median < upper);
    let interval = |time| aalen_johansen::interval_by(&either, time).unwrap();
    assert!(interval(lower).upper >= 0.5 && interval(lower - 0.001).upper < 0.5);
    assert!(interval(upper).lower >= 0.5 && interval(upper - 0.001).lower < 0.5);
    // Without a competing event the estimate is Kaplan-Meier's.
    let free = kaplan_meier::survival(&either);
    assert_eq!(kaplan_meier::median(&free), Some(median));
}

#[test]
fn where_nothing_or_everything_happened_the_interval_is_wilsons() {
    let nothing = [
        (1, End::Competing),
        (2, End::Censored),
        (9, End::Censored),
        (9, End::Event),
    ];
    // By 5 three are known not to have had it: the one cut short at 2 is not.
    assert_eq!(aalen_johansen::interval_by(&nothing, 5), wilson(0, 3));
    // By 2 that one is known too: an event at 2 would have come first.
    assert_eq!(aalen_johansen::interval_by(&nothing, 2), wilson(0, 4));
    let everything = [(1, End::Censored), (2, End::Event), (3, End::Event)];
    assert_eq!(aalen_johansen::interval_by(&everything, 3), wilson(2, 2));
    assert_eq!(aalen_johansen::interval_by::<i64>(&[], 3), None);
    assert_eq!(aalen_johansen::interval_by(&[(1, End::Censored)], 3), None);
}

fn without_limits<T: Time>() -> Limits<T> {
    Limits {
        lower: None,
        upper: None,
    }
}

#[test]
fn degenerate_incidences_have_documented_answers() {
    assert!(aalen_johansen::incidence::<i64>(&[]).is_empty());
    assert_eq!(aalen_johansen::median::<i64>(&[]), None);
    assert_eq!(aalen_johansen::median_interval::<i64>(&[]), without_limits());
    assert!(aalen_johansen::incidence(&[(3, End::Censored)]).is_empty());
    let all = aalen_johansen::incidence(&[(2, End::Event), (2, End::Event)]);
    assert_eq!(aalen_johansen::by(&all, 2), 1.0);
    assert_eq!((all[0].variance, all[0].interval()), (0.0, None));
    assert_eq!(aalen_johansen::median(&all), Some(2));
    assert_eq!(aalen_johansen::median_interval(&all), without_limits());
    let odd = [
        (f64::NAN, End::Event),
        (f64::INFINITY, End::Event),
        (1.0, End::Censored),
    ];
    assert!(aalen_johansen::incidence(&odd).is_empty());
    assert_eq!(aalen_johansen::interval_by(&odd, 1.0), wilson(0, 1));
    // The last one at risk: nothing overflows where nobody is left.
    let one = aalen_johansen::incidence(&[(1, End::Competing), (2, End::Event)]);
    assert_eq!(one[0].incidence, 0.5);
    assert!(one[0].variance.is_finite() && one[0].interval().is_some());
}

#[test]
fn degenerate_survivals_have_documented_answers() {
    assert!(kaplan_meier::survival::<f64>(&[]).is_empty());
    assert_eq!(kaplan_meier::by::<f64>(&[], 1.0), 1.0);
    assert!(kaplan_meier::survival(&[(1, End::Censored), (2, End::Competing)]).is_empty());
    let all = kaplan_meier::survival(&[(2, End::Event), (2, End::Event)]);
    assert_eq!(
        (all[0].survival, all[0].standard_error, all[0].interval),
        (0.0, None, None)
    );
    assert_eq!(kaplan_meier::median(&all), Some(2));
    assert_eq!(kaplan_meier::median_interval(&all), without_limits());
    // Ten steps of a tenth: 0.1 summed up misses one half by a rounding.
    let ten: Vec<(i64, End)> = (1..=10).map(|time| (time, End::Event)).collect();
    assert_eq!(kaplan_meier::median(&kaplan_meier::survival(&ten)), Some(5));
    assert_eq!(aalen_johansen::median(&aalen_johansen::incidence(&ten)), Some(5));
}

#[test]
fn without_a_common_time_at_risk_there_is_no_test() {
    let (event, censored) = ([(1, End::Event)], [(3, End::Censored)]);
    assert_eq!(log_rank::<i64>(&[], &[]), None);
    assert_eq!(log_rank(&event, &[]), None);
    assert_eq!(log_rank(&censored, &censored), None);
    // Everybody has it at once: nothing is left to chance.
    assert_eq!(log_rank(&event, &event), None);
    let same = log_rank(&[(1, End::Event), (2, End::Event)], &[(1, End::Event), (2, End::Event)]);
    assert_eq!(same.map(|of| (of.chi_square, of.p)), Some((0.0, 1.0)));
}

#[test]
fn degenerate_restricted_means_have_documented_answers() {
    let ends = [(1, End::Event), (3, End::Censored)];
    assert_eq!(restricted_mean::<i64>(&[], 1.0), None);
    assert_eq!(restricted_mean(&ends, 0.0), None);
    assert_eq!(restricted_mean(&ends, f64::NAN), None);
    assert_eq!(restricted_mean(&ends, f64::INFINITY), None);
    assert_eq!(restricted_mean(&[(-1, End::Event)], 1.0), None);
    // Nothing is known past the last follow-up, unless nobody is left.
    assert_eq!(restricted_mean(&ends, 3.5), None);
    let all = restricted_mean(&[(1, End::Event), (1, End::Event)], 9.0).unwrap();
    assert_eq!((all.value, all.standard_error, all.interval), (1.0, 0.0, None));
    let none = restricted_mean(&ends, 0.5).unwrap();
    assert_eq!((none.value, none.standard_error, none.interval), (0.5, 0.0, None));
    let same = difference(&ends, &ends, 0.5).unwrap();
    assert_eq!((same.value, same.interval), (0.0, None));
    // By hand: S is 1 to 1 and 1/2 from 1 to 3, and the variance 1²·1/(2·1).
    let half = restricted_mean(&ends, 3.0).unwrap();
    assert!((half.value - 2.0).abs() < 1e-15 && (half.standard_error.powi(2) - 0.5).abs() < 1e-15);
    // The normal limits 2 ± 1.386 reach past the limit of 3: it is their end.
    assert_eq!(half.interval.map(|of| of.upper), Some(3.0));
}
