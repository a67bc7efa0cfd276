//! Intervals of cases that are not independent go by babies, or by meter-days.

use std::collections::BTreeMap;

use siskin::intake::settle::Through;
use siskin::queries::catalogue;
use siskin::queries::figure_kinds::{Clusters, kind_of};
use siskin::queries::figures::Figure;
use siskin::queries::header::Counts;
use siskin::statistics::clustered::clustered;
use siskin::statistics::proportion::{Z_95, wilson};

use crate::harness::TestWarehouse;
use crate::{oracle_equality, random};

/// The figures that trade.md, section 8, wants by babies or by meter-days, and the dangerous miss, which
/// takes all pairs of a baby.
#[test]
fn the_figures_whose_cases_are_alike_say_what_they_come_in() {
    let of = |name: &str| kind_of(name).unwrap().clusters;
    for name in [
        "recheck_adherence_near_line",
        "time_to_treatment",
        "untreated_6h",
        "untreated_24h",
        "never_treated",
        "treatment_below_line",
        "failed_specimens",
        "dangerous_miss",
        "screens_outside_limits",
        "screens_outside_limits_few_readings",
    ] {
        assert_eq!(of(name), Some(Clusters::Babies), "{name}");
    }
    assert_eq!(of("unverified_readings"), Some(Clusters::MeterDays));
    // A meter-day is itself the case, and so is a birth.
    assert_eq!((of("meter_checks"), of("screening_coverage")), (None, None));
}

/// Eleven readings of one meter on three days. On the second no check was made, and the last one was
/// more than 24 hours old; one reading of that day has no unit and is set aside, but was taken.
fn eleven_readings() -> TestWarehouse {
    let births = "infant_id,mother_id,born_at,gestation,birth_weight_g,sex,plurality,birth_order,unit,feeding,risk_factors,skin_tone,ethnicity\n\
        b1,m1,2026-03-01T08:00,39+0,3300,F,1,1,u1,formula,none,light,white\n\
        b2,m2,2026-03-01T08:00,39+0,3300,F,1,1,u1,formula,none,light,white\n\
        b3,m3,2026-03-01T08:00,39+0,3300,F,1,1,u1,formula,none,light,white\n\
        b4,m4,2026-03-01T08:00,39+0,3300,F,1,1,u1,formula,none,light,white\n";
    let screen = |id: &str, baby: &str, at: &str, unit: &str, entry: &str| {
        format!("{id},{baby},2026-03-{at},100,{unit},sternum,3,M1,o1,{entry},inpatient,u1\n")
    };
    let screens = [
        ("s01", "b1", "03T08:00", "umol/L", "typed"),
        ("s02", "b2", "03T09:00", "umol/L", "scanned"),
        ("s03", "b3", "03T10:00", "umol/L", "typed"),
        ("s04", "b1", "03T14:00", "umol/L", "typed"),
        ("s05", "b1", "04T13:00", "umol/L", "typed"),
        ("s06", "b2", "04T14:00", "umol/L", "scanned"),
        ("s07", "b3", "04T15:00", "umol/L", "typed"),
        ("s08", "b3", "04T16:00", "", "scanned"),
        ("s09", "b1", "05T08:00", "umol/L", "typed"),
        ("s10", "b2", "05T09:00", "umol/L", "scanned"),
        ("s11", "b3", "05T10:00", "umol/L", "scanned"),
    ];
    let screens: String = screens
        .map(|(id, baby, at, unit, entry)| screen(id, baby, at, unit, entry))
        .concat();
    let screens = format!(
        "screen_id,infant_id,measured_at,value,unit_of_measure,body_site,readings,meter_id,operator_id,id_entry,setting,unit\n{screens}"
    );
    let files = [
        ("births.csv", births),
        ("screens.csv", screens.as_str()),
        (
            "serum.csv",
            "specimen_id,infant_id,collected_at,resulted_at,value,unit_of_measure,analyte,specimen,status,unit\n\
             p1,b4,2026-03-10T07:00,2026-03-10T08:00,350,umol/L,total,serum,final,u1\n",
        ),
        (
            "phototherapy.csv",
            "episode_id,infant_id,started_at,stopped_at,kind,setting,unit\n\
             e1,b4,2026-03-10T09:00,2026-03-11T09:00,single,inpatient,u1\n",
        ),
        (
            "stays.csv",
            "stay_id,infant_id,unit,admitted_at,discharged_at,source,disposition,diagnoses\n\
             a4,b4,u1,2026-03-01T08:00,2026-03-12T08:00,birth,home,\n",
        ),
        (
            "meter_checks.csv",
            "check_id,meter_id,checked_at,outcome,unit\n\
             c1,M1,2026-03-03T06:00,pass,u1\nc2,M1,2026-03-05T06:00,pass,u1\n",
        ),
    ];
    let through = Through {
        all: Some(1_775_001_600), // 2026-04-01 00:00 UTC
        ..Through::default()
    };
    let warehouse = TestWarehouse::new();
    warehouse.load_texts(&files, &through, 1_775_001_600).unwrap();
    warehouse
}

/// Wilson's interval of `p` in a number of trials that need not be whole.
fn wilson_of(p: f64, n: f64) -> (f64, f64) {
    let z2 = Z_95 * Z_95;
    let half = Z_95 * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt();
    let end = |half: f64| (p + z2 / (2.0 * n) + half) / (1.0 + z2 / n);
    (end(-half), end(half))
}

fn is_near(figure: &Figure, (lower, upper): (f64, f64)) -> bool {
    let near = |got: Option<f64>, expected: f64| got.is_some_and(|got| (got - expected).abs() < 1e-6);
    near(figure.lower, lower) && near(figure.upper, upper)
}

/// By hand, with the formula of `src/statistics/clustered.rs` (Cochran 1977, section 9A; Korn and
/// Graubard 1998): readings by meter-days (0 of 4, 4 of 4, 0 of 3 unverified), typed identities by
/// babies (4 of 4, 0 of 3, 2 of 3). Quantiles of t of any handbook.
#[test]
fn readings_go_by_meter_days_and_screens_by_babies() {
    let warehouse = eleven_readings();
    let figures = warehouse.measure("2026-03");
    let figure = |name: &str, split: &str| {
        let found = figures.iter().find(|f| f.measure == name && f.split == split);
        found.unwrap_or_else(|| panic!("{name}"))
    };
    // p = 4/11; residuals -16/11, 28/11 and -12/11, whose squares sum to 1184/121; v = 3/2 of that
    // over 121; against 4/11 · 7/11 / 10 a design effect of 5.242.
    let effect = 1.5 * (1184.0 / 121.0) / 121.0 / (28.0 / 121.0 / 10.0);
    let few = (2.228_139_f64 / 4.302_653).powi(2);
    let by_days = wilson_of(4.0 / 11.0, 11.0 / effect * few);
    for split in ["all", "unit"] {
        let unverified = figure("unverified_readings", split);
        assert_eq!((unverified.numerator, unverified.denominator), (Some(4), Some(11)));
        assert!(is_near(unverified, by_days), "{unverified:?} instead of {by_days:?}");
    }
    // As if the readings were independent it would be much narrower.
    let plain = wilson(4, 11).unwrap();
    assert!(by_days.0 < plain.lower && plain.upper < by_days.1);

    // The example of `tests/statistics/clustered.rs`: a design effect of 3.285.
    let few = (2.262_157_f64 / 4.302_653).powi(2);
    let by_babies = wilson_of(0.6, 10.0 / 3.285 * few);
    let typed = figure("screens_outside_limits_typed_identity", "all");
    assert_eq!((typed.numerator, typed.denominator), (Some(6), Some(10)));
    assert!(is_near(typed, by_babies), "{typed:?} instead of {by_babies:?}");

    // Only a reading names a cluster that is not its baby.
    let cases = warehouse.rows("select figure, cluster_id from cases order by figure, case_id");
    for case in &cases {
        assert_eq!(
            case["cluster_id"].is_empty(),
            case["figure"] != "unverified_readings",
            "{case:?}"
        );
    }
    let days = |day: &str| {
        cases
            .iter()
            .filter(|case| case["cluster_id"] == format!("M1 {day}"))
            .count()
    };
    assert_eq!(["2026-03-03", "2026-03-04", "2026-03-05"].map(days), [4, 4, 3]);
}

/// Every figure of clusters, on random extracts: its interval is that of the cases stored, cluster by
/// cluster, counted here one by one.
#[test]
fn intervals_are_those_of_the_clusters_counted_again() {
    let (mut compared, mut wider) = (0, BTreeMap::new());
    for seed in [3, 4] {
        let warehouse = TestWarehouse::new();
        oracle_equality::load_all(&warehouse, &random::extracts(seed, 200));
        let months = random::months(seed);
        let figures = warehouse.measure_by(&months[0], &months[2], &[]);
        let cases = warehouse.rows(
            "select figure, month, unit, coalesce(cluster_id, infant_id) as cluster_key, name, also from cases \
             where kind = 'outcome'",
        );
        let formulas: Vec<_> = catalogue::measures()
            .iter()
            .flat_map(|query| query.header.figures())
            .collect();
        for figure in &figures {
            let is_clustered = kind_of(&figure.measure).is_some_and(|kind| kind.clusters.is_some());
            let Some(formula) = formulas.iter().find(|formula| formula.is_of(&figure.measure)) else {
                continue;
            };
            let (true, Some(lower), Some(upper)) = (is_clustered, figure.lower, figure.upper) else {
                continue;
            };
            let sets = formula.sets(&figure.measure);
            let mut of_cluster: BTreeMap<&str, (u64, u64)> = BTreeMap::new();
            for case in &cases {
                let is_own = case["month"] == figure.month && (figure.split == "all" || case["unit"] == figure.group);
                if !is_own || !sets.contains(&case["figure"].as_str()) {
                    continue;
                }
                let outcome = match formula.counts(&case["name"], &case["also"]) {
                    Some(Counts::As(outcome)) => outcome,
                    _ => "",
                };
                let sum = of_cluster.entry(&case["cluster_key"]).or_default();
                sum.0 += u64::from(formula.numerator.contains(&outcome));
                sum.1 += u64::from(formula.denominator.contains(&outcome));
            }
            let counts: Vec<(u64, u64)> = of_cluster.into_values().collect();
            let (n, of) = counts.iter().fold((0, 0), |sum, n| (sum.0 + n.0, sum.1 + n.1));
            assert_eq!(
                (figure.numerator, figure.denominator),
                (Some(n), Some(of)),
                "{figure:?}"
            );
            let expected = clustered(&counts).unwrap();
            let is_same = (lower - expected.lower).abs() < 1e-12 && (upper - expected.upper).abs() < 1e-12;
            assert!(is_same, "{figure:?} instead of {expected:?}");
            compared += 1;
            let plain = wilson(n, of).unwrap();
            if upper - lower > plain.upper - plain.lower + 1e-9 {
                *wider.entry(figure.measure.clone()).or_insert(0) += 1;
            }
        }
    }
    assert!(compared > 60, "{compared}");
    for name in [
        "unverified_readings",
        "failed_specimens",
        "screens_outside_limits_typed_identity",
    ] {
        assert!(
            wider.contains_key(name),
            "{name} is nowhere wider than of independent cases: {wider:?}"
        );
    }
}
