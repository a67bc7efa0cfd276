//! Tiny cases worked out by hand: one baby, born 2026-07-01 00:00 UTC, 40+0 weeks.

use super::*;

mod aap;
mod coverage;
mod links;
mod meters;
mod pairs;
mod screens;
mod severe;
mod splits;
mod treatment;

/// 2026-07-01T00:00:00Z.
const BIRTH: i64 = 1_782_864_000;
const H: i64 = 3600;

/// One baby's extract, written in hours of age.
#[derive(Default)]
struct Case {
    screens: Vec<(i64, &'static str)>,
    serums: Vec<(i64, &'static str)>,
    courses: Vec<(i64, Option<i64>)>,
    stays: Vec<(i64, Option<i64>, &'static str, &'static str, &'static str)>,
    gestation: &'static str,
    more: Vec<(&'static str, String)>,
    data_end_s: Option<i64>,
    /// NICE manner unless said.
    rules: Rules,
    /// Risk factors, feeding, skin tone and ethnicity of the birth.
    words: &'static str,
    /// The day of birth is known, not the moment.
    by_date_only: bool,
}

fn at(age_s: i64) -> String {
    jiff::Timestamp::from_second(BIRTH + age_s)
        .expect("in range")
        .to_string()
}

impl Case {
    fn loads(&self) -> Vec<Load> {
        let gestation = if self.gestation.is_empty() {
            "40+0"
        } else {
            self.gestation
        };
        let columns = "infant_id,born_at,gestation,unit,risk_factors,feeding,skin_tone,ethnicity\n";
        let mut births = columns.to_string();
        let words = if self.words.is_empty() { ",,," } else { self.words };
        let born = if self.by_date_only {
            "2026-07-01".to_string()
        } else {
            at(0)
        };
        births += &format!("b,{born},{gestation},hill,{words}\n");
        let mut screens = "screen_id,infant_id,measured_at,value,unit_of_measure,unit\n".to_string();
        for (number, (age_s, value)) in self.screens.iter().enumerate() {
            screens += &format!("t{number},b,{},{value},umol/L,hill\n", at(*age_s));
        }
        // Something in every table and month, of a value that triggers nothing.
        screens += &format!("t-far,other,{},10,umol/L,hill\n", at(-600));
        let mut serum = "specimen_id,infant_id,collected_at,resulted_at,value,unit_of_measure,\
                         analyte,specimen,status,unit\n"
            .to_string();
        for (number, (age_s, value)) in self.serums.iter().enumerate() {
            let collected = at(*age_s);
            let resulted = at(*age_s + H);
            serum += &format!("s{number},b,{collected},{resulted},{value},umol/L,total,,final,hill\n");
        }
        serum += &format!("s-far,other,{},,10,umol/L,direct,,final,hill\n", at(-600));
        let mut phototherapy = "episode_id,infant_id,started_at,stopped_at,unit\n".to_string();
        for (number, (start_s, stop_s)) in self.courses.iter().enumerate() {
            let stop = stop_s.map(at).unwrap_or_default();
            phototherapy += &format!("p{number},b,{},{stop},hill\n", at(*start_s));
        }
        let mut stays = "stay_id,infant_id,admitted_at,discharged_at,source,disposition,diagnoses\n".to_string();
        for (number, (admitted_s, discharged_s, source, disposition, codes)) in self.stays.iter().enumerate() {
            let discharged = discharged_s.map(at).unwrap_or_default();
            let admitted = at(*admitted_s);
            stays += &format!("a{number},b,{admitted},{discharged},{source},{disposition},{codes}\n");
        }
        // A second baby keeps the other tables from being empty in the month.
        births += &format!("other,{},,,,,,\n", at(0));
        phototherapy += &format!("p-far,other,{},{},\n", at(0), at(H));
        stays += &format!("a-far,other,{},{},,home,\n", at(0), at(H));
        let mut files = vec![
            ("births".to_string(), births),
            ("screens".to_string(), screens),
            ("serum".to_string(), serum),
            ("phototherapy".to_string(), phototherapy),
            ("stays".to_string(), stays),
        ];
        for (table, text) in &self.more {
            files.push(((*table).to_string(), text.clone()));
        }
        vec![Load {
            at: BIRTH + 1000 * H,
            files,
            through: vec![(None, BIRTH + self.data_end_s.unwrap_or(900 * H))],
        }]
    }

    fn network(&self) -> Network<'_> {
        Network::new(&self.loads(), &self.rules)
    }

    fn figure(&self, measure: &str) -> Figure {
        let all = self.network().figures("2026-07");
        let found = all
            .iter()
            .find(|figure| figure.measure == measure && figure.split == "all");
        found.expect("a figure of this name").clone()
    }

    /// The outcome of the one thing the hill's baby makes, or why it is left out.
    fn outcome(&self, measure: &str) -> String {
        let all = self.network().figures("2026-07");
        let figure = all
            .iter()
            .find(|figure| figure.measure == measure && figure.group == "hill");
        let Some(figure) = figure else {
            return "nothing".to_string();
        };
        let counted: Vec<String> = figure
            .outcomes
            .iter()
            .chain(&figure.left_out)
            .filter(|(_, count)| **count > 0)
            .map(|(name, count)| format!("{name} {count}"))
            .collect();
        counted.join(", ")
    }
}

#[test]
fn the_window_of_a_referral_includes_its_ends() {
    let due = 30 * H;
    for (after_s, expected) in [
        // Below the line within 6 h before: recent.
        (-6 * H - 1, "missed 1"),
        (-6 * H, "recent_serum 1"),
        (-H - 1, "recent_serum 1"),
        (-H, "in_time 1"),
        (6 * H, "in_time 1"),
        (6 * H + 1, "late 1"),
        (24 * H, "late 1"),
        (24 * H + 1, "missed 1"),
    ] {
        let case = Case {
            screens: vec![(due, "251")],
            serums: vec![(due + after_s, "150")],
            ..Case::default()
        };
        assert_eq!(case.outcome("missed_referral"), expected, "{after_s}");
    }
}

#[test]
fn a_referral_is_open_until_24_hours_have_passed() {
    for (end_s, expected) in [(54 * H - 1, "open 1"), (54 * H, "missed 1")] {
        let case = Case {
            screens: vec![(30 * H, "251")],
            data_end_s: Some(end_s),
            ..Case::default()
        };
        assert_eq!(case.outcome("missed_referral"), expected);
    }
}

#[test]
fn screens_call_for_serum_above_the_limit_at_the_line_or_out_of_range() {
    // Line at 30 h is 212, at 96 h 350.
    for (age_s, value, expected) in [
        (96 * H, "250", "nothing"),
        (96 * H, "250.000001", "missed 1"),
        (30 * H, "212", "missed 1"),
        (30 * H, "211.999999", "nothing"),
        (96 * H, ">100", "missed 1"),
        (24 * H, "251", "age_below_limit 1"),
        (24 * H + 1, "251", "missed 1"),
        (24 * H, "250", "nothing"),
    ] {
        let case = Case {
            screens: vec![(age_s, value)],
            ..Case::default()
        };
        assert_eq!(case.outcome("missed_referral"), expected, "{age_s} {value}");
    }
}

#[test]
fn a_serum_in_between_opens_a_new_episode() {
    let first = 30 * H;
    let second = first + 24 * H - 1;
    for (serum_s, expected) in [
        (first + 30 * H, "missed 1"),
        // The latest second that still belongs to the second screen: one episode.
        (second - H, "late 1"),
        (second - H - 1, "late 1, recent_serum 1"),
        (first - H, "in_time 1, missed 1"),
        (first - H - 1, "recent_serum 1"),
    ] {
        let case = Case {
            screens: vec![(first, "251"), (second, "251")],
            serums: vec![(serum_s, "150")],
            ..Case::default()
        };
        assert_eq!(case.outcome("missed_referral"), expected, "{serum_s}");
    }
}

#[test]
fn who_is_back_by_the_end_of_the_follow_up_has_not_left() {
    // Chained, back later, back at the end of the follow-up, and after it.
    for (gap_s, expected) in [
        (6 * H, "missed 1"),
        (6 * H + 1, "missed 1"),
        (23 * H, "missed 1"),
        (23 * H + 1, "left 1"),
    ] {
        let out = 31 * H;
        let case = Case {
            screens: vec![(30 * H, "251")],
            stays: vec![
                (0, Some(out), "birth", "transfer", ""),
                (out + gap_s, Some(200 * H), "transfer", "home", ""),
            ],
            ..Case::default()
        };
        assert_eq!(case.outcome("missed_referral"), expected);
    }
}

#[test]
fn going_home_competes_with_the_serum() {
    let case = Case {
        screens: vec![(30 * H, "251")],
        serums: vec![(33 * H, "150")],
        stays: vec![(0, Some(32 * H), "birth", "home", "")],
        ..Case::default()
    };
    let by_24h = case.figure("time_to_serum_24h");
    assert_eq!((by_24h.numerator, by_24h.denominator), (Some(0), Some(1)));
    assert_eq!(by_24h.value, Some(0.0));
    assert_eq!(case.outcome("missed_referral"), "in_time 1");

    let drawn = Case {
        stays: vec![(0, Some(33 * H), "birth", "home", "")],
        ..case
    };
    assert_eq!(drawn.figure("time_to_serum_2h").value, Some(0.0));
    assert_eq!(drawn.figure("time_to_serum_4h").value, Some(1.0));
    assert_eq!(drawn.figure("time_to_serum_median").value, Some(3.0));
    assert_eq!(drawn.figure("time_to_result_median").value, Some(4.0));
}

#[test]
fn near_line_is_between_the_line_and_50_below_it() {
    // Line at 96 h is 350.
    for (value, later_s, expected) in [
        ("350", 24 * H, "on_time 1"),
        ("350.000001", 24 * H, "nothing"),
        ("300", 24 * H + 1, "late 1"),
        ("299.999999", 24 * H, "nothing"),
        (">320", 24 * H, "nothing"),
        ("320", H - 1, "none 1"),
        ("320", H, "on_time 1"),
        ("320", 48 * H, "late 1"),
        ("320", 48 * H + 1, "none 1"),
    ] {
        let case = Case {
            serums: vec![(96 * H, value), (96 * H + later_s, "40")],
            words: "none,formula,,",
            ..Case::default()
        };
        let outcome = case.outcome("recheck_adherence_near_line");
        assert_eq!(outcome, expected, "{value} {later_s}");
    }
}

/// Latest 18 h or 24 h, by risk factors and feeding, and by how unknown risk is judged.
#[test]
fn feeding_or_risk_factors_that_are_not_recorded() {
    let drawn_after = |words: &'static str, judged: UnknownRisk| {
        let case = Case {
            serums: vec![(96 * H, "320"), (96 * H + 18 * H + 1, "40")],
            words,
            rules: Rules::nice().with_unknown_risk(judged),
            ..Case::default()
        };
        case.outcome("recheck_adherence_near_line")
    };
    let (at_18_h, at_24_h) = ("late 1", "on_time 1");
    for (words, absent, present, left_out) in [
        ("none,formula,,", at_24_h, at_24_h, at_24_h),
        ("g6pd,formula,,", at_24_h, at_24_h, at_24_h),
        ("sibling_phototherapy,formula,,", at_18_h, at_18_h, at_18_h),
        ("none,breast,,", at_18_h, at_18_h, at_18_h),
        ("none,,,", at_18_h, at_18_h, at_18_h),
        (",,,", at_18_h, at_18_h, at_18_h),
        (",formula,,", at_24_h, at_18_h, "not_recorded 1"),
    ] {
        assert_eq!(drawn_after(words, UnknownRisk::Absent), absent, "{words}");
        assert_eq!(drawn_after(words, UnknownRisk::Present), present, "{words}");
        assert_eq!(drawn_after(words, UnknownRisk::LeftOut), left_out, "{words}");
    }
}

#[test]
fn the_three_treatment_rules_at_their_edges() {
    let start = 50 * H;
    let outcome = |course_h: i64, serum_s: &[i64], rule: &str| {
        let case = Case {
            serums: serum_s.iter().map(|s| (start + s, "40")).collect(),
            courses: vec![(start, Some(start + course_h * H))],
            ..Case::default()
        };
        case.outcome(&format!("recheck_adherence_{rule}"))
    };
    assert_eq!(outcome(40, &[4 * H], "treatment_first"), "on_time 1");
    assert_eq!(outcome(40, &[4 * H - 1], "treatment_first"), "early_only 1");
    assert_eq!(outcome(40, &[H - 1], "treatment_first"), "none 1");
    assert_eq!(outcome(40, &[6 * H + 1], "treatment_first"), "late 1");
    assert_eq!(outcome(3, &[], "treatment_first"), "excused 1");
    assert_eq!(outcome(4, &[], "treatment_first"), "none 1");

    assert_eq!(outcome(40, &[4 * H], "treatment_next"), "none 1");
    assert_eq!(outcome(16, &[4 * H], "treatment_next"), "excused 1");
    assert_eq!(outcome(40, &[4 * H - 1], "treatment_next"), "nothing");
    let two = [5 * H, 17 * H];
    assert_eq!(outcome(40, &two, "treatment_next"), "none 1, on_time 1");

    assert_eq!(outcome(20, &[32 * H], "rebound"), "on_time 1");
    assert_eq!(outcome(20, &[32 * H - 1], "rebound"), "early_only 1");
    assert_eq!(outcome(20, &[38 * H + 1], "rebound"), "late 1");
    assert_eq!(outcome(20, &[62 * H + 1], "rebound"), "none 1");
}

#[test]
fn an_assumed_stop_ends_a_course_and_its_rebound_is_left_out() {
    let case = Case {
        courses: vec![(50 * H, None)],
        stays: vec![(0, Some(53 * H), "birth", "home", "")],
        ..Case::default()
    };
    assert_eq!(case.outcome("recheck_adherence_rebound"), "stop_unknown 1");
    let first = case.outcome("recheck_adherence_treatment_first");
    assert_eq!(first, "excused 1");
}

#[test]
fn first_day_needs_a_serum_above_the_line_under_24_hours() {
    // Line at 12 h is 150.
    for (age_s, value, gestation, later_s, expected) in [
        (12 * H, "150", "", 6 * H, "nothing"),
        (12 * H, "150.000001", "", 6 * H, "on_time 1"),
        (12 * H, ">150", "", 6 * H + 1, "late 1"),
        (12 * H, "160", "22", 30 * H, "no_line 1"),
        (24 * H, "300", "", 6 * H, "nothing"),
        (24 * H - 1, "300", "", 6 * H, "on_time 1"),
    ] {
        let case = Case {
            serums: vec![(age_s, value), (age_s + later_s, "40")],
            gestation,
            ..Case::default()
        };
        let outcome = case.outcome("recheck_adherence_first_day");
        assert_eq!(outcome, expected, "{age_s} {value}");
    }
}

#[test]
fn readmission_counts_by_age_code_and_source() {
    for (age_s, source, code, measure, expected) in [
        (168 * H, "home", "P59.9", "7d", "readmitted 1"),
        (168 * H + 1, "home", "P59.9", "7d", "not_readmitted 1"),
        (168 * H + 1, "home", "P59.9", "14d", "readmitted 1"),
        (672 * H, "", "p551;X", "28d", "readmitted 1"),
        (672 * H + 1, "home", "P551", "28d", "not_readmitted 1"),
        (100 * H, "home", "P59.20", "28d", "not_readmitted 1"),
        (100 * H, "home", "P07.3;P59.9", "28d", "not_readmitted 1"),
        (100 * H, "transfer", "P59.9", "28d", "readmitted 1"),
    ] {
        let case = Case {
            stays: vec![
                (0, Some(48 * H), "birth", "home", ""),
                (age_s, Some(age_s + 24 * H), source, "home", code),
            ],
            ..Case::default()
        };
        let measure = format!("jaundice_readmission_{measure}");
        assert_eq!(case.outcome(&measure), expected, "{age_s} {source} {code}");
    }
    for (disposition, expected) in [
        ("", "disposition_unknown 1"),
        ("died", "left 1"),
        ("transfer", "left 1"),
    ] {
        let case = Case {
            stays: vec![(0, Some(48 * H), "birth", disposition, "")],
            ..Case::default()
        };
        assert_eq!(case.outcome("jaundice_readmission_7d"), expected);
    }
}

#[test]
fn a_cohort_is_provisional_until_its_last_birth_is_28_days_old() {
    for (end_s, expected) in [(672 * H - 1, true), (672 * H, false)] {
        let case = Case {
            data_end_s: Some(end_s),
            ..Case::default()
        };
        let figure = case.figure("jaundice_readmission_28d");
        assert_eq!(figure.provisional, expected);
    }
}

#[test]
fn versions_duplicates_and_withdrawals_balance() {
    let header = "specimen_id,infant_id,collected_at,resulted_at,value,unit_of_measure,analyte,\
                  specimen,status,unit\n";
    let row =
        |id: &str, value: &str, status: &str| format!("{id},b,{},,{value},umol/L,total,,{status},hill\n", at(32 * H));
    let more = [
        header.to_string(),
        row("x", "150", "final"),
        row("x", "150", "final"),
        row("x", "", "cancelled"),
        row("y", "150", "final"),
        row("y", "", "withdrawn"),
        row("z", "900", "final"),
        row("z", "900", "final"),
        row("w", "150", "final").replace(",b,", ",nobody,"),
    ];
    let case = Case {
        screens: vec![(30 * H, "251")],
        more: vec![("serum", more.concat())],
        ..Case::default()
    };
    assert_eq!(case.outcome("missed_referral"), "missed 1");
    let attempts = case.figure("referral_failed_attempts");
    assert_eq!((attempts.numerator, attempts.denominator), (Some(1), Some(1)));

    let all = balance(&case.loads(), &Rules::default());
    let serum = all.iter().find(|one| one.table == "serum");
    let expected = Balance {
        load: 0,
        table: "serum".to_string(),
        rows_in: 9,
        kept: 2,
        superseded: 1,
        duplicate: 2,
        withdrawn: 2,
        held: 1,
        set_aside: 1,
    };
    assert_eq!(serum, Some(&expected));
}
