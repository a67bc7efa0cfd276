//! What is called a signal: verdicts on series made by hand, notes, and the effects planted in the
//! sample, which must be found, while what was left alone stays quiet.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use serde_json::Value;

use siskin::engine::{Limits, Session};
use siskin::intake::settle::Through;
use siskin::month::Month;
use siskin::notes::Notes;
use siskin::protocol::Protocol;
use siskin::queries::explain::measure_of;
use siskin::queries::figures::Figure;
use siskin::queries::measure::Measuring;
use siskin::queries::split::Split;
use siskin::signals::agreement::{self, Agreed};
use siskin::signals::pairs::Pair;
use siskin::signals::to_serum::{self, Curve};
use siskin::signals::units::{self, AllUnits};
use siskin::signals::verdict::{FoundBy, Verdict, Way, way};
use siskin::signals::{Looked, Signalled, drift};
use siskin::statistics::control::Side;
use siskin::warehouse::Warehouse;

use crate::commands::{demo, siskin, text};
use crate::harness::TestWarehouse;

fn month(text: &str) -> Month {
    text.parse().unwrap()
}

/// Figures of the network, a month each from January 2025 on.
fn figures(measure: &str, counts: &[(u64, u64)]) -> Vec<Figure> {
    let each = counts.iter().zip(0..);
    each.map(|((numerator, denominator), later)| Figure {
        measure: measure.to_owned(),
        month: month("2025-01").plus(later).to_string(),
        split: "all".to_owned(),
        group: "all".to_owned(),
        numerator: Some(*numerator),
        denominator: Some(*denominator),
        value: (*denominator > 0).then(|| *numerator as f64 / *denominator as f64),
        lower: None,
        upper: None,
        difference: None,
        difference_lower: None,
        difference_upper: None,
        outcomes: BTreeMap::new(),
        left_out: BTreeMap::new(),
        open: 0,
        provisional: false,
        protocol: String::new(),
        load: 1,
    })
    .collect()
}

fn signalled(figures: &[Figure], gaps: &[&str], notes: &str) -> Signalled {
    let name = figures[0].measure.clone();
    let query = measure_of(&name).unwrap();
    let gaps: BTreeSet<String> = gaps.iter().map(|gap| (*gap).to_owned()).collect();
    let all: Vec<&Figure> = figures.iter().collect();
    Signalled::of(query, &name, &all, &gaps, &Notes::parse(notes).unwrap()).unwrap()
}

/// Twelve months about 10 of 100, none alike to the next.
const STEADY: [(u64, u64); 12] = [
    (10, 100),
    (12, 100),
    (9, 100),
    (11, 100),
    (8, 100),
    (10, 100),
    (12, 100),
    (9, 100),
    (11, 100),
    (8, 100),
    (12, 100),
    (9, 100),
];

fn after(more: &[(u64, u64)]) -> Vec<(u64, u64)> {
    STEADY.iter().chain(more).copied().collect()
}

#[test]
fn a_steady_series_has_no_signal() {
    let found = signalled(
        &figures("missed_referral", &after(&[(10, 100), (9, 100), (12, 100)])),
        &[],
        "",
    );
    assert_eq!(found.verdict, Verdict::NoSignal);
}

#[test]
fn one_month_outside_its_limits_is_an_unusual_month_and_later_no_shift() {
    let figures = figures(
        "missed_referral",
        &after(&[(10, 100), (31, 100), (9, 100), (12, 100), (10, 100)]),
    );
    assert_eq!(
        signalled(&figures[..14], &[], "").verdict,
        Verdict::UnusualMonth(Side::Above)
    );
    for months in 15..=17 {
        assert_eq!(
            signalled(&figures[..months], &[], "").verdict,
            Verdict::NoSignal,
            "{months}"
        );
    }
}

#[test]
fn a_level_that_changed_and_stayed_is_a_shift_since_its_first_month() {
    let more = [
        (24, 100),
        (26, 100),
        (22, 100),
        (27, 100),
        (23, 100),
        (25, 100),
        (24, 100),
        (26, 100),
    ];
    let found = signalled(&figures("missed_referral", &after(&more)), &[], "");
    let Verdict::Shift { since, side, found_by } = found.verdict else {
        panic!("{:?}", found.verdict)
    };
    assert_eq!((since, side), (month("2026-01"), Side::Above));
    assert_eq!(found_by, FoundBy::Level);
    assert_eq!(way(side, found.better), Way::Worse);
    let in_time = signalled(&figures("referral_in_time", &after(&more)), &[], "");
    assert_eq!(way(side, in_time.better), Way::Better);
}

/// With the change on record each phase has limits of its own, and the two are compared.
#[test]
fn a_documented_change_begins_a_phase_that_is_compared_with_the_one_before() {
    let note =
        "[[note]]\nmonth = \"2026-01\"\ntext = \"asked twice\"\nfigures = [\"missed_referral\"]\nnew_phase = true\n";
    let more = [(24, 100), (26, 100), (22, 100), (27, 100)];
    let found = signalled(&figures("missed_referral", &after(&more)), &[], note);
    let expected = Verdict::Shift {
        since: month("2026-01"),
        side: Side::Above,
        found_by: FoundBy::Phases,
    };
    assert_eq!(found.verdict, expected);
    let compared = found.compared.unwrap();
    assert_eq!(compared.months_before, 12);
    assert!((compared.before - 121.0 / 1200.0).abs() < 1e-12 && (compared.after - 99.0 / 400.0).abs() < 1e-12);
    assert!(compared.interval.lower > 0.0);
    assert_eq!(compared.trend, None, "four months bear no trend");
    // Two months are not compared, and too few for limits.
    let found = signalled(&figures("missed_referral", &after(&more[..2])), &[], note);
    assert_eq!(found.compared, None);
    assert!(matches!(found.verdict, Verdict::TooFew(_)), "{:?}", found.verdict);
    // The same note about another figure changes nothing.
    let other = note.replace("missed_referral", "referral_in_time");
    assert_eq!(
        signalled(&figures("missed_referral", &after(&more)), &[], &other)
            .charted
            .chart
            .phases
            .len(),
        1
    );
}

#[test]
fn what_is_not_final_or_not_there_is_not_judged() {
    let mut all = figures("missed_referral", &after(&[(60, 100)]));
    // 12 open of 112 cases are more than one in ten, 11 of 111 are not.
    all[12].open = 12;
    assert_eq!(signalled(&all, &[], "").verdict, Verdict::Provisional);
    all[12].open = 11;
    assert_eq!(signalled(&all, &[], "").verdict, Verdict::UnusualMonth(Side::Above));
    all[12].open = 0;
    assert_eq!(signalled(&all, &["2026-01"], "").verdict, Verdict::NoData);
    assert_eq!(signalled(&all, &[], "").verdict, Verdict::UnusualMonth(Side::Above));
    assert!(matches!(signalled(&all[..5], &[], "").verdict, Verdict::TooFew(_)));
    let none = figures("missed_referral", &[(0, 0); 14]);
    assert_eq!(signalled(&none, &[], "").verdict, Verdict::NoData);
    let looked = Looked::at([&signalled(&all, &[], ""), &signalled(&none, &[], "")]);
    assert_eq!(looked.charts, 1);
    assert!(looked.expected_false > 0.0 && looked.expected_false < 0.1);
}

#[test]
fn a_small_lasting_change_is_a_shift_though_no_month_is_outside_its_limits() {
    let more: Vec<(u64, u64)> = (0..14).map(|i| (15 + i % 3, 100)).collect();
    let found = signalled(&figures("missed_referral", &after(&more)), &[], "");
    let Verdict::Shift { since, side, found_by } = found.verdict else {
        panic!("{:?}", found.verdict)
    };
    assert_eq!((since, side, found_by), (month("2026-01"), Side::Above, FoundBy::Level));
}

fn pair(meter: &str, later: i32, difference: f64) -> Pair {
    Pair {
        month: month("2025-01").plus(later),
        baby: 0,
        meter: meter.to_owned(),
        body_site: String::new(),
        gestation: String::new(),
        skin_tone: String::new(),
        age: String::new(),
        screen: 200.0 + difference,
        serum: 200.0,
        apart_s: 0,
        is_first: true,
        called: None,
        above_line: None,
        line: None,
    }
}

#[test]
fn a_meter_that_moves_away_from_the_others_is_found_and_a_steady_one_is_not() {
    let noise = [-9.0, 4.0, 11.0, -3.0, 7.0, -12.0, 2.0, 8.0, -6.0, -2.0];
    let mut pairs = Vec::new();
    for later in 0..12 {
        for (i, noise) in noise.iter().enumerate() {
            pairs.push(pair("A", later, *noise));
            pairs.push(pair("B", later, noise + if later >= 6 { 20.0 } else { 0.0 }));
            pairs.push(pair("D", later, *noise));
            if i < 1 {
                pairs.push(pair("C", later, 90.0));
            }
        }
    }
    let found = drift::drifts(&pairs);
    // C has 12 pairs, too few to be judged.
    assert_eq!(found.judged, 3);
    assert_eq!(found.found.len(), 1, "{found:?}");
    let drift = &found.found[0];
    assert_eq!((drift.meter.as_str(), drift.side), ("B", Side::Above));
    assert_eq!(drift.flagged, month("2025-07"));
    assert!(drift.began >= month("2025-06") && drift.began <= month("2025-07"));
    assert!((drift.by - 20.0).abs() < 5.0, "{drift:?}");
    // Of two meters nobody can tell which one moved.
    let two: Vec<Pair> = pairs.iter().filter(|pair| pair.meter.as_str() < "C").cloned().collect();
    assert_eq!(drift::drifts(&two).judged, 0);
    assert_eq!(drift::drifts(&[]).judged, 0);
    assert_eq!(drift::drifts(&pairs[..1]).judged, 0);
}

#[test]
fn no_pairs_or_one_or_all_alike_have_an_answer() {
    let empty = agreement::agreed(&[], month("2025-12"));
    assert!(empty.headline.is_none() && empty.groups.is_empty() && empty.points.is_empty());
    let one = agreement::agreed(&[pair("A", 11, 3.0)], month("2025-12"));
    assert!(one.headline.is_none());
    assert_eq!(one.groups.len(), 5);
    assert!(
        one.groups
            .iter()
            .all(|group| group.bias == 3.0 && group.difference.is_none())
    );
    let alike = agreement::agreed(&vec![pair("A", 11, 3.0); 9], month("2025-12"));
    let headline = alike.headline.unwrap();
    assert_eq!(
        (headline.bias, headline.limits.lower, headline.limits.upper),
        (3.0, 3.0, 3.0)
    );
}

/// What the sample shows, read once.
struct Sample {
    months: Vec<Figure>,
    split: Vec<Figure>,
    agreed: Agreed,
    before_drift: Agreed,
    curve: Curve,
    units: AllUnits,
}

fn sample() -> Sample {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .build()
        .unwrap();
    runtime.block_on(async {
        let warehouse = Warehouse::at(&demo().warehouse()).unwrap();
        let snapshot = warehouse.newest().unwrap();
        let protocol = Protocol::parse(&snapshot.protocol_text().unwrap()).unwrap();
        let session = Session::of(&snapshot, &Limits::default()).unwrap();
        let measuring = Measuring {
            session: &session,
            protocol: &protocol,
            load: 24,
        };
        let (first, last) = (month("2024-10"), month("2026-09"));
        let year = month("2025-10");
        let by = [Split::Night, Split::Gestation].map(Some);
        let by_split = measuring.count(Month::range(year, last), &by).await.unwrap();
        Sample {
            months: measuring.figures(first, last).await.unwrap(),
            split: by_split.figures((last, last), None, Some(Split::Night)).by_month,
            agreed: agreement::read(&session, last, "").await.unwrap(),
            before_drift: agreement::read(&session, month("2025-05"), "").await.unwrap(),
            curve: to_serum::of(&by_split, last, None),
            units: units::units(
                &by_split
                    .figures((last, last), Some(year), Some(Split::Gestation))
                    .together,
            ),
        }
    })
}

/// The effects planted in the sample (`sample-warehouse/README.md`), with their sizes from
/// `scenario.toml`.
#[test]
fn planted_effects_are_found_in_the_sample_and_what_was_left_alone_stays_quiet() {
    let sample = sample();
    let of = |measure: &str, notes: &str| {
        let own = sample
            .months
            .iter()
            .filter(|f| f.split == "all" && f.measure == measure);
        signalled(&own.cloned().collect::<Vec<_>>(), &[], notes)
    };
    let notes = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-warehouse/notes.toml")).unwrap();

    // The intervention of October 2025: without a note the rules find it, within two months.
    for measure in ["time_to_serum_median", "time_to_result_median", "referral_in_time"] {
        let found = of(measure, "");
        let Verdict::Shift { since, side, .. } = found.verdict else {
            panic!("{measure}: {:?}", found.verdict)
        };
        let apart = (-1..=1).map(|by| month("2025-10").plus(by));
        assert!(apart.into_iter().any(|near| near == since), "{measure}: {since}");
        assert_eq!(way(side, found.better), Way::Better, "{measure}");
        // With it, the comparison of the phases does.
        let found = of(measure, &notes);
        let documented = matches!(found.verdict, Verdict::Shift { since, found_by: FoundBy::Phases, .. } if since == month("2025-10"));
        assert!(documented, "{measure}: {:?}", found.verdict);
    }
    // How soon: the month whose own report is the first to say so, without a note.
    let all: Vec<Month> = Month::range(month("2024-10"), month("2026-09"));
    for (measure, at_most) in [
        ("time_to_result_median", 5),
        ("time_to_serum_median", 9),
        ("referral_in_time", 9),
    ] {
        let own = sample
            .months
            .iter()
            .filter(|f| f.split == "all" && f.measure == measure);
        let own: Vec<Figure> = own.cloned().collect();
        let is_shift = |place: &usize| matches!(signalled(&own[..=*place], &[], "").verdict, Verdict::Shift { .. });
        let first = (0..all.len()).find(is_shift).unwrap();
        println!(
            "{measure}: found by the report of {}, month {} of the change",
            all[first],
            first - 11
        );
        assert!((13..=12 + at_most).contains(&(first + 1)), "{measure}: {}", all[first]);
    }

    // A serum late or never drawn becomes 0.55 times as frequent: the interval covers that.
    let compared = of("referral_in_time", &notes).compared.unwrap();
    let planted = (1.0 - 0.55) * (1.0 - compared.before);
    assert!(
        compared.interval.lower < planted && planted < compared.interval.upper,
        "{compared:?}"
    );

    // Harbour's M01 reads more and more from June 2025, until it is replaced in April 2026.
    assert_eq!(sample.agreed.drifts.found.len(), 1, "{:?}", sample.agreed.drifts);
    let drift = &sample.agreed.drifts.found[0];
    assert_eq!((drift.meter.as_str(), drift.side), ("M01", Side::Above));
    assert!(
        drift.began >= month("2025-05") && drift.flagged <= month("2025-12"),
        "{drift:?}"
    );
    assert_eq!(drift.last, month("2026-03"));
    assert!(
        sample.before_drift.drifts.found.is_empty(),
        "{:?}",
        sample.before_drift.drifts
    );
    assert!(sample.before_drift.drifts.judged >= 4);

    // The meters read dark skin 19 umol/L low, light 1 high, medium 2 low.
    let tone = |name: &str| {
        let mut groups = sample.agreed.groups.iter();
        groups
            .find(|group| group.by == "skin_tone" && group.name == name)
            .unwrap()
    };
    let dark = tone("dark");
    assert!(dark.differs(), "{dark:?}");
    let interval = dark.difference.unwrap().interval;
    assert!(interval.lower < -19.0 && -19.0 < interval.upper, "{dark:?}");
    let quiet = sample
        .agreed
        .groups
        .iter()
        .filter(|group| group.by == "body_site" || group.by == "age");
    assert!(quiet.clone().count() >= 4);
    assert!(
        quiet.clone().all(|group| !group.differs()),
        "{:?}",
        quiet.collect::<Vec<_>>()
    );

    // At night a serum takes 1.45 times as long.
    let night = sample.curve.night.as_ref().unwrap();
    assert!(
        night.p.unwrap() < 0.01 && night.night_median_s > night.day_median_s,
        "{night:?}"
    );
    assert!(sample.split.iter().any(|f| f.split == "night"));

    // Meadow checks less often in time after phototherapy.
    let rebound = &sample.units["recheck_adherence_rebound"];
    let meadow = rebound.units.iter().find(|unit| unit.name == "meadow").unwrap();
    let below = meadow
        .beyond
        .is_some_and(|beyond| format!("{:?}", beyond.side) == "Below");
    assert!(below, "{meadow:?}");
    assert!(rebound.heterogeneity_p < 0.001);
    // Shares with the network's mix of gestations are shares.
    let standardised = sample.units.values().flat_map(|units| &units.units);
    for (value, interval) in standardised.filter_map(|unit| unit.standardised) {
        let ends = [0.0, interval.lower, value, interval.upper, 1.0];
        assert!(ends.is_sorted(), "{ends:?}");
    }

    // Nothing was planted in these; 20 charts of 24 months would show about two false signals in
    // some month, and much fewer in the last.
    let quiet = [
        "referral_failed_attempts",
        "time_to_treatment",
        "untreated_6h",
        "treatment_below_line",
        "recheck_adherence_near_line",
        "recheck_adherence_treatment_first",
        "recheck_adherence_treatment_next",
        "recheck_adherence_rebound",
        "jaundice_readmission_7d",
        "jaundice_readmission_14d",
        "severe_jaundice_above_340",
        "severe_jaundice_above_exchange_line",
        "screens_outside_limits",
        "screens_outside_limits_few_readings",
        "screens_outside_limits_typed_identity",
        "failed_specimens",
        "specimen_delay_median",
        "meter_checks",
        "unverified_readings",
        "screening_coverage",
    ];
    for measure in quiet {
        let verdict = of(measure, "").verdict;
        let is_quiet = matches!(verdict, Verdict::NoSignal | Verdict::Provisional);
        assert!(is_quiet, "{measure}: {verdict:?}");
    }
}

#[test]
fn the_report_writes_its_verdicts_and_the_points_of_its_plot_without_identifiers() {
    let folder = demo().report();
    let rows: Vec<Value> = serde_json::from_str(&fs::read_to_string(folder.join("signals.json")).unwrap()).unwrap();
    let in_time = rows.iter().find(|row| row["measure"] == "referral_in_time").unwrap();
    assert_eq!(in_time["verdict"], "shift");
    assert_eq!(
        (in_time["since"].as_str(), in_time["way"].as_str()),
        (Some("2025-10"), Some("better"))
    );
    assert_eq!(in_time["rule"], "documented_change");
    let pairs = fs::read_to_string(folder.join("pairs.csv")).unwrap();
    assert_eq!(pairs.lines().next(), Some("mean_umol_l,screen_minus_serum_umol_l"));
    assert!(pairs.lines().count() > 100);
    let page = fs::read_to_string(folder.join("dashboard.html")).unwrap();
    for told in [
        "Better since Oct 25",
        "Meter M01 drifted",
        "were looked at; were nothing changed",
        "verification bias",
    ] {
        assert!(page.contains(told), "{told}");
    }
}

/// A unit with one baby: nothing can be judged, and nothing that is not a number is shown.
#[test]
fn a_page_of_one_baby_shows_no_number_that_is_none() {
    let warehouse = TestWarehouse::new();
    let files = [
        (
            "births.csv",
            "infant_id,mother_id,born_at,gestation,birth_weight_g,sex,plurality,birth_order,unit,feeding,risk_factors,skin_tone,ethnicity\nb1,m1,2026-04-01T08:00,39+0,,,,,u1,,,,\n",
        ),
        (
            "screens.csv",
            "screen_id,infant_id,measured_at,value,unit_of_measure,body_site,readings,meter_id,operator_id,id_entry,setting,unit\ns1,b1,2026-04-02T12:00,260,umol/L,,,M1,,,,u1\n",
        ),
        (
            "serum.csv",
            "specimen_id,infant_id,collected_at,resulted_at,value,unit_of_measure,analyte,specimen,status,unit\nl1,b1,2026-04-02T12:30,2026-04-02T13:00,250,umol/L,total,serum,final,u1\n",
        ),
        (
            "phototherapy.csv",
            "episode_id,infant_id,started_at,stopped_at,kind,setting,unit\np1,b1,2026-04-03T12:00,2026-04-04T12:00,single,inpatient,u1\n",
        ),
        (
            "stays.csv",
            "stay_id,infant_id,unit,admitted_at,discharged_at,source,disposition,diagnoses\nt1,b1,u1,2026-04-01T08:00,2026-04-06T08:00,birth,home,\n",
        ),
    ];
    warehouse
        .load_texts(&files, &Through::default(), 1_782_860_400)
        .unwrap();
    let out = warehouse.path().join("reports");
    let (path, to) = (warehouse.path().to_str().unwrap(), out.to_str().unwrap());
    let done = siskin(&["report", "--warehouse", path, "--month", "2026-04", "--out", to]);
    assert!(done.status.success(), "{}", text(&done.stderr));
    let quality = out.join("2026-04/quality");
    for file in [
        "dashboard.html",
        "signals.json",
        "pairs.csv",
        "measures.json",
        "measures.csv",
    ] {
        let text = fs::read_to_string(quality.join(file)).unwrap();
        for word in [
            "NaN",
            "Infinity",
            ">inf",
            "-inf",
            "null,null,null,null,null,null,null,null,null,null",
        ] {
            assert!(!text.contains(word), "{file}: {word}");
        }
    }
    let page = fs::read_to_string(quality.join("dashboard.html")).unwrap();
    assert!(page.contains("Too few data") && page.contains("Fewer than two babies have a pair"));
}

#[test]
fn notes_that_cannot_be_meant_are_refused_with_what_to_do() {
    let refused = |text: &str| Notes::parse(text).unwrap_err().to_string();
    let note = |more: &str| format!("[[note]]\nmonth = \"2026-01\"\ntext = \"a change\"\n{more}");
    assert!(refused(&note("figure = []\n")).contains("unknown field"));
    assert!(refused("[[note]]\nmonth = \"January\"\ntext = \"a\"\n").contains("'January' is no month such as 2026-03"));
    assert!(refused(&note("new_phase = true\n")).contains("to do: name the figures"));
    assert!(refused("[[note]]\nmonth = \"2026-01\"\ntext = \" \"\n").contains("to do: say in at most 80 characters"));
    let notes = Notes::parse(&note("figures = [\"missed_referal\"]\n")).unwrap();
    let error = notes.check(&["missed_referral".to_owned()]).unwrap_err().to_string();
    assert!(error.contains("did you mean missed_referral?"), "{error}");
    assert_eq!(Notes::parse("").unwrap(), Notes::default());
}

/// Notes are part of a snapshot: an earlier report is as it was.
#[test]
fn changed_notes_make_a_snapshot_and_earlier_ones_keep_theirs() {
    let warehouse = TestWarehouse::new();
    let births = "infant_id,mother_id,born_at,gestation,birth_weight_g,sex,plurality,birth_order,unit,feeding,risk_factors,skin_tone,ethnicity\nb1,m1,2026-04-01T08:00,39+0,,,,,u1,,,,\n";
    warehouse
        .load_texts(&[("births.csv", births)], &Through::default(), 1_782_860_400)
        .unwrap();
    let note = "[[note]]\nmonth = \"2026-04\"\ntext = \"a second nurse at night\"\n";
    fs::write(warehouse.path().join("notes.toml"), note).unwrap();
    let (path, out) = (warehouse.path().to_str().unwrap(), warehouse.path().join("reports"));
    let report = |more: &[&str]| {
        let mut arguments = vec![
            "report",
            "--warehouse",
            path,
            "--month",
            "2026-04",
            "--out",
            out.to_str().unwrap(),
        ];
        arguments.extend(more);
        let done = siskin(&arguments);
        assert!(done.status.success(), "{}", text(&done.stderr));
        let page = fs::read_to_string(out.join("2026-04/quality/dashboard.html")).unwrap();
        (page.contains("a second nurse at night"), text(&done.stderr))
    };
    let (is_shown, said) = report(&[]);
    assert!(is_shown && said.contains("notes.toml has changed"), "{said}");
    assert!(!report(&["--as-of", "1"]).0);
    assert!(report(&["--as-of", "2"]).0);
    // Notes of a figure that does not exist are refused before anything is made.
    let wrong = note.to_owned() + "figures = [\"missed_referal\"]\n";
    fs::write(warehouse.path().join("notes.toml"), wrong).unwrap();
    let done = siskin(&["report", "--warehouse", path, "--month", "2026-04"]);
    assert!(
        text(&done.stderr).contains("did you mean missed_referral?"),
        "{}",
        text(&done.stderr)
    );
    assert!(done.status.code() == Some(3) && !warehouse.path().join("snapshots/000003").exists());
    fs::write(warehouse.path().join("notes.toml"), note).unwrap();
    // Nothing has changed since, so nothing is made anew.
    assert_eq!(report(&[]).1, "");
    fs::write(warehouse.path().join("snapshots/000002/notes.toml"), "").unwrap();
    let checked = siskin(&["check", "--warehouse", path]);
    assert!(
        text(&checked.stdout).contains("notes.toml: not the bytes that were written"),
        "{}",
        text(&checked.stdout)
    );
}
