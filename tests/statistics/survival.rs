//! Times until an event. The Freireich trial, the men of the Amsterdam cohort and the liver trial
//! stand in the published file with their sources.

use serde_json::Value;

use super::published::{case, close, numbers};
use siskin::statistics::clustered::clustered;
use siskin::statistics::proportion::wilson;
use siskin::statistics::student;
use siskin::statistics::survival::log_rank::log_rank;
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

/// The share without the event by a time, of the steps of a curve.
fn without_by<T: Time>(steps: &[kaplan_meier::Step<T>], time: T) -> f64 {
    let until = steps.iter().take_while(|step| step.time <= time);
    until.last().map_or(1.0, |step| step.survival)
}

/// R `survival::survfit`; lifelines agrees.
#[test]
fn kaplan_meier_equals_the_freireich_trial() {
    for id in ["km_freireich_6mp", "km_freireich_control"] {
        let case = case(id);
        let steps = kaplan_meier::survival(&single(&case["inputs"]));
        let expected = |of: &str| numbers(&case["expected"][of]);
        assert_eq!(steps.iter().map(|s| s.time).collect::<Vec<_>>(), expected("t"));
        for (step, expected) in steps.iter().zip(expected("surv")) {
            close(&case, "S", step.survival, expected);
        }
    }
}

/// R `survival::survdiff`; a chi-square of 16.79 in Cox & Oakes (1984).
#[test]
fn log_rank_equals_the_freireich_trial() {
    let case = case("logrank_freireich");
    let inputs = &case["inputs"];
    let a = follow_ups(&inputs["time_A"], &inputs["event_A"], 1.0);
    let b = follow_ups(&inputs["time_B"], &inputs["event_B"], 1.0);
    let found = log_rank(&a, &b).unwrap();
    close(&case, "p", found, case["expected"]["p"].as_f64().unwrap());
    close(&case, "turned round", log_rank(&b, &a).unwrap(), found);
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
        let wrong = 1.0 - without_by(&naive, *time);
        close(
            &case,
            "naive",
            wrong,
            numbers(&expected["naive_1minusKM_cause1_WRONG"])[i],
        );
        assert!(wrong > aalen_johansen::by(&steps, *time));
        let event_free = numbers(&expected["event_free"])[i];
        close(&case, "event free", without_by(&free, *time), event_free);
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
    assert_eq!(without_by(&kaplan_meier::survival(&ends), 4), 0.375);
}

/// With a single time, the variance is the binomial one with n - 1, whatever competes: F = 3/8,
/// (3/8)(5/8)/7; and the interval that of the log-log scale, worked here.
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
    let at_half = free.iter().find(|step| step.survival <= 0.5).unwrap();
    assert_eq!(at_half.time, median);
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

/// Three clusters of which 4 of 4, 0 of 3 and 2 of 3 have the event at 1 and the others are followed to 2: the
/// example of `clustered.rs`, a design effect of 3.285; t(9) = 2.262157, t(2) = 4.302653.
#[test]
fn without_censoring_clusters_widen_the_variance_as_that_of_a_proportion() {
    let cluster = |events: usize, of: usize| {
        let each = (0..of).map(|i| {
            if i < events {
                (1, End::Event)
            } else {
                (2, End::Censored)
            }
        });
        each.collect::<Vec<(i64, End)>>()
    };
    let clusters = [cluster(4, 4), cluster(0, 3), cluster(2, 3)];
    let (steps, plain) = (
        aalen_johansen::incidence_of_clusters(&clusters),
        aalen_johansen::incidence(&clusters.concat()),
    );
    assert_eq!((steps.len(), steps[0].incidence), (1, plain[0].incidence));
    let factor = 3.285 * (4.302_653_f64 / 2.262_157).powi(2);
    assert!((steps[0].variance / plain[0].variance - factor).abs() < 1e-5);
    // Of one cluster it counts as one follow-up: ten alike are worth one.
    let one = [clusters.concat()];
    assert_eq!(
        aalen_johansen::incidence_of_clusters(&one)[0].variance,
        10.0 * plain[0].variance
    );
    // In any order, and with clusters of one as without clusters.
    let turned = [cluster(2, 3), cluster(4, 4), cluster(0, 3)];
    let again = aalen_johansen::incidence_of_clusters(&turned)[0].variance;
    assert!((again / steps[0].variance - 1.0).abs() < 1e-12);
    let single: Vec<_> = clusters.concat().into_iter().map(|one| vec![one]).collect();
    assert_eq!(aalen_johansen::incidence_of_clusters(&single), plain);
    assert_eq!(
        aalen_johansen::interval_by_of_clusters(&single, 1),
        aalen_johansen::interval_by(&clusters.concat(), 1)
    );
    // Before any event the interval is that of clusters without one.
    let none = aalen_johansen::interval_by_of_clusters(&clusters, 0);
    assert_eq!(none, clustered(&[(0, 4), (0, 3), (0, 3)]));
    assert!(aalen_johansen::incidence_of_clusters::<i64>(&[]).is_empty());
    assert_eq!(aalen_johansen::interval_by_of_clusters::<i64>(&[], 1), None);
}

/// With censoring and competing events: what a cluster adds to the incidence is how much it moves when
/// the cluster weighs a little more, here one part in 400, counted by repeating all others.
#[test]
fn the_influence_of_a_cluster_is_what_more_of_it_moves() {
    use End::{Censored, Competing, Event};
    const TIMES: usize = 400;
    let clusters: [Vec<(i64, End)>; 6] = [
        vec![(1, Event), (2, Event), (5, Censored)],
        vec![(2, Competing), (3, Event)],
        vec![(3, Censored)],
        vec![(4, Event), (4, Competing), (6, Event), (6, Event)],
        vec![(5, Competing), (7, Event)],
        vec![(8, Censored), (2, Event)],
    ];
    let steps = aalen_johansen::incidence_of_clusters(&clusters);
    let plain = aalen_johansen::incidence(&clusters.concat());
    let single: Vec<_> = clusters.concat().into_iter().map(|one| vec![one]).collect();
    let moved = |groups: &[Vec<(i64, End)>], time: i64| -> f64 {
        let all = groups.concat();
        let repeated = |more: &[(i64, End)]| {
            let many = [all.repeat(TIMES), more.to_vec()].concat();
            aalen_johansen::by(&aalen_johansen::incidence(&many), time)
        };
        let usual = repeated(&[]);
        let squares = groups
            .iter()
            .map(|group| ((repeated(group) - usual) * TIMES as f64).powi(2));
        squares.sum()
    };
    let (n, m) = (single.len() as f64, clusters.len() as f64);
    let few = student::quantile_95(clusters.len() - 1).unwrap() / student::quantile_95(single.len() - 1).unwrap();
    for (step, plain) in steps.iter().zip(&plain) {
        let time = step.time;
        let effect = (m / (m - 1.0) * moved(&clusters, time)) / (n / (n - 1.0) * moved(&single, time));
        let expected = effect.max(1.0) * few.powi(2);
        let found = step.variance / plain.variance;
        assert!(
            (found / expected - 1.0).abs() < 0.02,
            "at {time}: {found} instead of {expected}"
        );
    }
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
    // Ten steps of a tenth: 0.1 summed up misses one half by a rounding.
    let ten: Vec<(i64, End)> = (1..=10).map(|time| (time, End::Event)).collect();
    assert_eq!(aalen_johansen::median(&aalen_johansen::incidence(&ten)), Some(5));
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
    assert!(kaplan_meier::survival(&[(1, End::Censored), (2, End::Competing)]).is_empty());
    let all = kaplan_meier::survival(&[(2, End::Event), (2, End::Event)]);
    assert_eq!((all[0].time, all[0].survival), (2, 0.0));
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
    assert_eq!(same, Some(1.0));
}
