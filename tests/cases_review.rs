//! `report --cases`: which babies are listed, in which order and words, and their reviews.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use serde_json::Value;

use siskin::reviews::{Category, Reviews, counts_by_category};

use crate::commands::{demo, siskin, text};
use crate::harness::PROTOCOL;

/// One baby of each kind, all born at 08:00 on 1 April 2026 but two: `early` on 28 March, before
/// the clock changed, and `dated` at a time unknown. Lines: NICE CG98 from 38 weeks.
const EXTRACTS: [(&str, &str); 7] = [
    (
        "births.csv",
        "infant_id,born_at,gestation,unit,feeding\n\
         missed,2026-04-01T08:00,40+0,harbour,formula\n\
         late,2026-04-01T08:00,40+0,harbour,formula\n\
         died,2026-04-01T08:00,40+0,harbour,formula\n\
         never,2026-04-01T08:00,40+0,harbour,formula\n\
         after,2026-04-01T08:00,40+0,harbour,formula\n\
         slow,2026-04-01T08:00,40+0,harbour,formula\n\
         near,2026-04-01T08:00,40+0,harbour,formula\n\
         meter,2026-04-01T08:00,40+0,harbour,formula\n\
         back,2026-04-01T08:00,40+0,harbour,formula\n\
         early,2026-03-28T08:00,40+0,harbour,formula\n\
         unclosed,2026-04-01T08:00,40+0,harbour,formula\n\
         severe,2026-04-01T08:00,40+0,harbour,formula\n\
         dated,2026-04-01,40+0,harbour,formula\n\
         =<b>1,2026-04-01T08:00,40+0,\"\"\"><script>alert(1)</script>\",formula\n\
         fine,2026-04-01T08:00,40+0,harbour,formula\n",
    ),
    (
        "screens.csv",
        "screen_id,infant_id,measured_at,value,unit_of_measure,readings,unit\n\
         t-missed,missed,2026-04-03T10:00,262,umol/L,3,harbour\n\
         t-late,late,2026-04-04T10:00,290,umol/L,3,harbour\n\
         t-died,died,2026-04-03T10:00,262,umol/L,3,harbour\n\
         t-meter,meter,2026-04-03T20:00,240,umol/L,3,harbour\n\
         <i>t,=<b>1,2026-04-02T10:00,262,umol/L,3,\"\"\"><script>alert(1)</script>\"\n\
         t-fine,fine,2026-04-02T20:00,90,umol/L,3,harbour\n",
    ),
    (
        "serum.csv",
        "specimen_id,infant_id,collected_at,resulted_at,value,unit_of_measure,analyte,specimen,status,unit\n\
         s-late,late,2026-04-04T19:24,2026-04-04T20:00,180,umol/L,total,serum,final,harbour\n\
         s-never,never,2026-04-03T20:00,2026-04-03T21:00,300,umol/L,total,serum,final,harbour\n\
         s-after,after,2026-04-03T20:00,2026-04-03T21:00,300,umol/L,total,serum,final,harbour\n\
         s-slow,slow,2026-04-03T20:00,2026-04-03T21:00,300,umol/L,total,serum,final,harbour\n\
         s-near,near,2026-04-03T10:00,2026-04-03T11:00,240,umol/L,total,serum,final,harbour\n\
         s-meter,meter,2026-04-03T20:25,2026-04-03T21:00,280,umol/L,total,serum,final,harbour\n\
         s-severe,severe,2026-04-05T12:00,2026-04-05T13:00,460,umol/L,total,serum,final,harbour\n",
    ),
    (
        "phototherapy.csv",
        "episode_id,infant_id,started_at,stopped_at,kind,setting,unit\n\
         p-after,after,2026-04-05T03:00,2026-04-05T23:00,single,inpatient,harbour\n\
         p-slow,slow,2026-04-04T07:00,2026-04-05T07:00,single,inpatient,harbour\n\
         p-dated,dated,2026-04-02T10:00,2026-04-03T10:00,single,inpatient,harbour\n",
    ),
    (
        "stays.csv",
        "stay_id,infant_id,unit,admitted_at,discharged_at,source,disposition,diagnoses\n\
         h-missed,missed,harbour,2026-04-01T08:00,2026-04-10T08:00,birth,home,\n\
         h-died,died,harbour,2026-04-01T08:00,2026-04-03T12:00,birth,died,\n\
         h-back,back,harbour,2026-04-01T08:00,2026-04-03T08:00,birth,home,\n\
         r-back,back,harbour,2026-04-08T10:00,2026-04-10T10:00,home,home,P59.9\n\
         h-early,early,harbour,2026-03-28T08:00,2026-03-30T08:00,birth,home,\n\
         r-early,early,harbour,2026-04-03T10:00,2026-04-04T10:00,home,home,P59.9\n\
         h-unclosed,unclosed,harbour,2026-04-01T08:00,,birth,,\n\
         r-unclosed,unclosed,harbour,2026-04-06T10:00,2026-04-07T10:00,home,home,P59.9\n\
         h-severe,severe,harbour,2026-04-01T08:00,2026-04-12T08:00,birth,home,Z38.0;P57.8\n",
    ),
    (
        "exchanges.csv",
        "exchange_id,infant_id,performed_at,unit\nx-severe,severe,2026-04-05T16:00,harbour\n",
    ),
    ("meter_checks.csv", "check_id,meter_id,checked_at,outcome,unit\n"),
];

/// Gravest first; inside a grade untreated, then by how far above the exchange line, then the newest.
const EXPECTED: [&str; 20] = [
    "severe_jaundice_above_exchange_line/s-severe",
    "severe_jaundice_exchange_transfusion/x-severe",
    "died/h-died",
    "severe_jaundice_kernicterus_code/h-severe",
    "never_treated/s-severe",
    "never_treated/s-never",
    "never_treated/s-meter",
    "severe_jaundice_above_340/s-severe",
    "severe_jaundice_above_425/s-severe",
    "treated_after_follow_up/s-after",
    "dangerous_miss/t-meter",
    "missed_referral/t-missed",
    "unanswered_referral/left/t-died",
    "missed_referral/<i>t",
    "treated_late/s-slow",
    "home_at_risk/referral_unanswered/t-missed",
    "late_referral/t-late",
    "readmission/r-back",
    "readmission/r-unclosed",
    "readmission/r-early",
];

const RECHECKS: [&str; 7] = [
    "missed_recheck/near_line/serum/s-near",
    "missed_recheck/rebound/courses/after course 1",
    "missed_recheck/rebound/courses/dated course 1",
    "missed_recheck/rebound/courses/slow course 1",
    "missed_recheck/treatment_first/courses/after course 1",
    "missed_recheck/treatment_first/courses/dated course 1",
    "missed_recheck/treatment_first/courses/slow course 1",
];

struct Reviewed {
    folder: tempfile::TempDir,
}

impl Reviewed {
    /// The extracts above, loaded.
    fn new() -> Self {
        let reviewed = Self {
            folder: tempfile::tempdir().unwrap(),
        };
        fs::create_dir(reviewed.warehouse()).unwrap();
        fs::write(reviewed.warehouse().join("protocol.toml"), PROTOCOL).unwrap();
        reviewed.load("1", &EXTRACTS);
        reviewed
    }

    fn warehouse(&self) -> PathBuf {
        self.folder.path().join("W")
    }

    fn load(&self, name: &str, files: &[(&str, &str)]) {
        self.load_through(name, files, "2026-05-01T00:00");
    }

    fn load_through(&self, name: &str, files: &[(&str, &str)], through: &str) {
        let folder = self.folder.path().join(name);
        fs::create_dir(&folder).unwrap();
        for (name, text) in files {
            fs::write(folder.join(name), with_all_columns(name, text)).unwrap();
        }
        let folder = folder.to_str().unwrap();
        self.run(&["load", "--through", through, folder]);
    }

    /// Runs the binary on the warehouse, which must do as it is told.
    fn run(&self, arguments: &[&str]) -> String {
        let out = self.tried(arguments);
        assert!(out.status.success(), "{}", text(&out.stderr));
        text(&out.stdout)
    }

    fn tried(&self, arguments: &[&str]) -> std::process::Output {
        let warehouse = self.warehouse();
        let own = ["--warehouse", warehouse.to_str().unwrap()];
        siskin(&[&arguments[..1], &own[..], &arguments[1..]].concat())
    }

    /// Page and table of April.
    fn report(&self, more: &[&str]) -> (String, Vec<Row>) {
        self.report_of("2026-04", more)
    }

    /// Page and table of a month.
    fn report_of(&self, month: &str, more: &[&str]) -> (String, Vec<Row>) {
        let out = tempfile::tempdir().unwrap();
        let arguments = ["report", "--month", month, "--cases", "--out"];
        self.run(&[&arguments[..], &[out.path().to_str().unwrap()], more].concat());
        let folder = out.path().join(month).join("quality");
        (
            fs::read_to_string(folder.join("cases.html")).unwrap(),
            rows(&folder.join("cases.csv")),
        )
    }

    fn review(&self, text: &str) {
        fs::write(self.warehouse().join("reviews.csv"), text).unwrap();
    }
}

/// An extract with the columns that it leaves out, empty.
fn with_all_columns(name: &str, text: &str) -> String {
    let more = match name {
        "births.csv" => "mother_id,birth_weight_g,sex,plurality,birth_order,risk_factors,skin_tone,ethnicity",
        "screens.csv" => "body_site,meter_id,operator_id,id_entry,setting",
        _ => return text.to_owned(),
    };
    let empty = ",".repeat(more.split(',').count());
    let mut lines = text.lines();
    let header = format!("{},{more}\n", lines.next().unwrap());
    let rows = lines.map(|line| format!("{line}{empty}\n"));
    header + &rows.collect::<String>()
}

type Row = std::collections::BTreeMap<String, String>;

fn rows(path: &Path) -> Vec<Row> {
    let mut reader = csv::Reader::from_path(path).unwrap();
    reader.deserialize().map(|row| row.unwrap()).collect()
}

fn column<'a>(rows: &'a [Row], name: &str) -> Vec<&'a str> {
    rows.iter().map(|row| row[name].as_str()).collect()
}

/// April as it was first loaded; for tests that write nothing into the warehouse.
fn april() -> &'static (Reviewed, String, Vec<Row>) {
    static APRIL: OnceLock<(Reviewed, String, Vec<Row>)> = OnceLock::new();
    APRIL.get_or_init(|| {
        let reviewed = Reviewed::new();
        let (page, rows) = reviewed.report(&[]);
        (reviewed, page, rows)
    })
}

#[test]
fn every_kind_of_case_is_listed_gravest_first() {
    let (_, page, rows) = april();
    let ids = column(rows, "case_id");
    let (mut rechecks, others): (Vec<&str>, Vec<&str>) = ids.iter().partition(|id| id.starts_with("missed_recheck/"));
    assert_eq!(others, EXPECTED);
    rechecks.sort_unstable();
    assert_eq!(rechecks, RECHECKS);
    let grades: Vec<u8> = rows.iter().map(|row| row["grade"].parse().unwrap()).collect();
    assert!(grades.is_sorted(), "{grades:?}");
    assert!(!page.contains(">fine<"), "a baby without a case is not listed");
    // A baby is one section, under its gravest case.
    assert_eq!(page.matches("<h2 id=\"baby-").count(), 14);
    assert!(page.contains("<h2 id=\"baby-1\">severe</h2>"));
}

#[test]
fn a_case_is_told_in_a_sentence_with_its_numbers() {
    let (_, page, rows) = april();
    let sentence = |id: &str| {
        let row = rows.iter().find(|row| row["case_id"] == id).unwrap();
        row["sentence"].as_str()
    };
    // The line of CG98 at 48 h is 250, at 54 h 262: at 50 h 254.
    for (id, told) in [
        (
            "missed_referral/t-missed",
            "Screen of 262 umol/L at 50.0 h (3 Apr, 10:00), above the line of 254, called for a serum within 6 h; none was drawn within 24 h.",
        ),
        (
            "unanswered_referral/left/t-died",
            "Screen of 262 umol/L at 50.0 h (3 Apr, 10:00), above the line of 254, called for a serum within 6 h; none was drawn before the baby died at 52.0 h (3 Apr, 12:00).",
        ),
        (
            "late_referral/t-late",
            "Screen of 290 umol/L at 74.0 h (4 Apr, 10:00), below the line of 304, called for a serum within 6 h; the first was drawn after 9.4 h.",
        ),
        (
            "treated_late/s-slow",
            "Serum of 300 umol/L at 60.0 h (3 Apr, 20:00), above the line of 275; from its result at 61.0 h (3 Apr, 21:00) phototherapy was due within 6 h; it started after 10.0 h.",
        ),
        (
            "dangerous_miss/t-meter",
            "Screen of 240 umol/L at 60.0 h (3 Apr, 20:00), below the line of 275, called for no serum; the serum of 280 umol/L taken 25 min later was above the line of 275.8.",
        ),
        (
            "readmission/r-back",
            "Readmitted for jaundice at 7.1 days (8 Apr, 10:00), 5.1 days after going home, primary diagnosis P599.",
        ),
        (
            "died/h-died",
            "The baby died at 2.2 days (3 Apr, 12:00). The other findings listed here are of this baby.",
        ),
        (
            "home_at_risk/referral_unanswered/t-missed",
            "Went home at 216.0 h (10 Apr, 08:00): the screen of 262 umol/L at 50.0 h (3 Apr, 10:00) had called for a serum, and none had been drawn.",
        ),
        // Its birth stay was never closed: in no rate, and yet on the list.
        (
            "readmission/r-unclosed",
            "Readmitted for jaundice at 5.1 days (6 Apr, 10:00); when the baby went home is not recorded, primary diagnosis P599.",
        ),
    ] {
        assert_eq!(sentence(id), told);
        assert!(page.contains(&told.replace('/', "&#x2f;")), "{told}");
    }
    // What followed the first finding of a baby, in one sentence.
    assert!(page.contains(
        "After the first of these: phototherapy from 71.0 h (4 Apr, 07:00); no serum shows a fall below the line; \
         no exchange transfusion is recorded."
    ));
}

#[test]
fn times_tell_their_offset_where_the_clock_changed() {
    let (_, page, _) = april();
    assert!(page.contains("28 Mar 2026, 08:00 +00:00"));
    assert!(page.contains("3 Apr 2026, 10:00 +01:00"));
    assert!(
        page.contains("Born, harbour") && page.contains("1 Apr 2026, 08:00<"),
        "others tell none"
    );
}

#[test]
fn a_baby_born_at_an_unknown_time_has_a_table_and_no_picture() {
    let (_, page, _) = april();
    let section = page
        .split("<section class=\"baby\"")
        .find(|section| section.contains(">dated</h2>"));
    let section = section.unwrap();
    assert!(section.contains("born on 1 April 2026, at a time unknown"));
    assert!(section.contains("known by date only") && !section.contains("<svg"));
    assert!(section.contains("2 Apr 2026, 10:00") && section.contains("Phototherapy started"));
}

#[test]
fn names_are_only_ever_text() {
    let (_, page, rows) = april();
    assert!(!page.contains("<script>alert") && !page.contains("<b>1") && !page.contains("<i>t"));
    assert!(page.contains("=&lt;b&gt;1"));
    let hostile = rows
        .iter()
        .find(|row| row["case_id"] == "missed_referral/<i>t")
        .unwrap();
    assert_eq!(hostile["infant_id"], "'=<b>1", "no spreadsheet takes it for a formula");
}

#[test]
fn the_page_says_what_it_is() {
    let (_, page, _) = april();
    for told in [
        "Holds identifiers: for its owner only",
        "An audit of past care, not for decisions about a baby",
        "Data complete through 30 April 2026, 24:00",
        "Rendered from load 1",
    ] {
        assert!(page.contains(told), "{told}");
    }
}

#[cfg(unix)]
#[test]
fn cases_are_written_only_when_asked_for_and_only_for_their_owner() {
    use std::os::unix::fs::PermissionsExt;
    let (reviewed, _, _) = april();
    let out = tempfile::tempdir().unwrap();
    let path = out.path().to_str().unwrap();
    reviewed.run(&["report", "--month", "2026-04", "--out", path]);
    let files = ["cases.html", "cases.csv"].map(|name| out.path().join("2026-04/quality").join(name));
    assert!(files.iter().all(|file| !file.exists()));
    reviewed.run(&["report", "--month", "2026-04", "--out", path, "--cases"]);
    for file in files {
        assert_eq!(fs::metadata(file).unwrap().permissions().mode() & 0o777, 0o600);
    }
}

#[test]
fn a_unit_alone_has_its_own_cases() {
    let (reviewed, ..) = april();
    let out = tempfile::tempdir().unwrap();
    let path = out.path().to_str().unwrap();
    reviewed.run(&[
        "report", "--month", "2026-04", "--out", path, "--cases", "--unit", "harbour",
    ]);
    let folder = out.path().join("2026-04/unit-harbour/quality");
    let rows = rows(&folder.join("cases.csv"));
    let units: BTreeSet<&str> = column(&rows, "unit").into_iter().collect();
    assert_eq!(units, BTreeSet::from(["harbour"]));
    assert_eq!(rows.len(), EXPECTED.len() + RECHECKS.len() - 1);
    let page = fs::read_to_string(folder.join("cases.html")).unwrap();
    assert!(page.contains("Babies to review, April 2026: harbour"));
}

/// Keys of the cases that a figure counts as one of these outcomes.
fn counted(warehouse: &str, figure: &str, outcomes: &[&str]) -> BTreeSet<String> {
    let arguments = [
        "measure",
        "--warehouse",
        warehouse,
        "--explain",
        figure,
        "--month",
        "2026-09",
    ];
    let out = siskin(&[&arguments[..], &["--rows", "--format", "json"]].concat());
    assert!(out.status.success(), "{}", text(&out.stderr));
    let all: Vec<Value> = serde_json::from_slice(&out.stdout).unwrap();
    let own = all.iter().filter(|case| {
        case["kind"] == "outcome" && outcomes.contains(&case["name"].as_str().unwrap()) && case["figure"] == figure
    });
    own.map(|case| case["case_id"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn the_cases_are_those_that_the_figures_of_the_month_count() {
    let warehouse = demo().warehouse();
    let warehouse = warehouse.to_str().unwrap();
    let out = tempfile::tempdir().unwrap();
    let path = out.path().to_str().unwrap();
    let arguments = [
        "report",
        "--warehouse",
        warehouse,
        "--month",
        "2026-09",
        "--cases",
        "--out",
        path,
    ];
    let done = siskin(&arguments);
    assert!(done.status.success(), "{}", text(&done.stderr));
    let rows = rows(&out.path().join("2026-09/quality/cases.csv"));
    let listed = |findings: &[&str]| -> BTreeSet<String> {
        let own = rows.iter().filter(|row| findings.contains(&row["finding"].as_str()));
        own.map(|row| row["case_id"].split_once('/').unwrap().1.to_owned())
            .collect()
    };
    let mut told = 0;
    for (figure, outcomes, findings) in [
        ("missed_referral", &["missed"][..], &["missed_referral"][..]),
        ("missed_referral", &["late"], &["late_referral"]),
        (
            "untreated_6h",
            &["late", "none"],
            &["treated_late", "treated_after_follow_up", "never_treated"],
        ),
        (
            "untreated_24h",
            &["none"],
            &["treated_after_follow_up", "never_treated"],
        ),
        ("never_treated", &["never"], &["never_treated"]),
        ("dangerous_miss", &["above_line"], &["dangerous_miss"]),
        ("severe_jaundice_above_340", &["cases"], &["severe_jaundice_above_340"]),
        ("severe_jaundice_above_425", &["cases"], &["severe_jaundice_above_425"]),
        (
            "severe_jaundice_above_exchange_line",
            &["cases"],
            &["severe_jaundice_above_exchange_line"],
        ),
        (
            "severe_jaundice_kernicterus_code",
            &["cases"],
            &["severe_jaundice_kernicterus_code"],
        ),
        (
            "severe_jaundice_exchange_transfusion",
            &["cases"],
            &["severe_jaundice_exchange_transfusion"],
        ),
    ] {
        let counted = counted(warehouse, figure, outcomes);
        told += counted.len();
        assert_eq!(listed(findings), counted, "{figure}");
    }
    for rule in ["near_line", "treatment_first", "treatment_next", "rebound", "first_day"] {
        let own = counted(warehouse, &format!("recheck_adherence_{rule}"), &["none"]);
        let own: BTreeSet<String> = own.iter().map(|id| id.replacen(' ', "/", 1)).collect();
        told += own.len();
        let stem = format!("{rule}/");
        let listed = listed(&["missed_recheck"]);
        let listed = listed.iter().filter_map(|id| id.strip_prefix(&stem).map(str::to_owned));
        assert_eq!(listed.collect::<BTreeSet<_>>(), own, "{rule}");
    }
    // Of readmissions the figure knows the baby, in the month of its birth; the list that of admission.
    let readmitted = rows.iter().filter(|row| row["finding"] == "readmission");
    let readmitted: BTreeSet<String> = readmitted.map(|row| row["infant_id"].clone()).collect();
    let own = counted(warehouse, "jaundice_readmission_7d", &["readmitted"]);
    assert!(own.is_subset(&readmitted), "{own:?}");
    assert!(told > 40 && !own.is_empty(), "{told}: the sample has cases to compare");
    // The dashboard counts a baby once that is in several bands.
    let severe: BTreeSet<&str> = rows
        .iter()
        .filter(|row| row["finding"].starts_with("severe_jaundice_") && !row["finding"].ends_with("near_exchange_line"))
        .map(|row| row["infant_id"].as_str())
        .collect();
    let page = fs::read_to_string(out.path().join("2026-09/quality/dashboard.html")).unwrap();
    let told = format!("<li>{} babies with <a href=\"#severe_jaundice-section\">", severe.len());
    assert!(severe.len() > 1 && page.contains(&told), "{told}");
}

#[test]
fn ids_stay_when_a_later_load_corrects_something_else() {
    let reviewed = Reviewed::new();
    let (_, before) = reviewed.report(&[]);
    let corrected = "specimen_id,infant_id,collected_at,resulted_at,value,unit_of_measure,analyte,specimen,status,unit\n\
         s-never,never,2026-04-03T20:00,2026-04-06T21:00,100,umol/L,total,serum,corrected,harbour\n";
    reviewed.load("2", &[("serum.csv", corrected)]);
    let (_, after) = reviewed.report(&[]);
    let mut expected = column(&before, "case_id");
    expected.retain(|id| *id != "never_treated/s-never");
    assert_eq!(column(&after, "case_id"), expected);
}

#[test]
fn a_case_stays_listed_until_it_is_reviewed_and_comes_back_when_a_later_load_decides_it() {
    const BIRTHS: &str = "infant_id,born_at,gestation,unit,feeding\n";
    const SCREENS: &str = "screen_id,infant_id,measured_at,value,unit_of_measure,readings,unit\n";
    let reviewed = Reviewed::new();
    // A referral that is past its window, and open where the data end.
    let births = format!("{BIRTHS}end,2026-04-27T08:00,40+0,harbour,formula\n");
    let screens = format!("{SCREENS}t-end,end,2026-04-30T10:00,320,umol/L,3,harbour\n");
    reviewed.load("2", &[("births.csv", &births), ("screens.csv", &screens)]);
    let (_, april) = reviewed.report(&[]);
    let open = "unanswered_referral/open/t-end";
    assert!(column(&april, "case_id").contains(&open));
    reviewed.review(&format!(
        "case_id,category,reviewer,reviewed_on,note\n{open},other,AB,2026-05-04,\n"
    ));
    let births = format!("{BIRTHS}may,2026-05-10T08:00,40+0,harbour,formula\n");
    let screens = format!("{SCREENS}t-may,may,2026-05-13T10:00,320,umol/L,3,harbour\n");
    // The other tables are complete through May too, and hold nothing.
    let empty = EXTRACTS[2..]
        .iter()
        .map(|(name, text)| (*name, text.split_inclusive('\n').next().unwrap()));
    let own = [("births.csv", births.as_str()), ("screens.csv", screens.as_str())];
    let files: Vec<(&str, &str)> = own.into_iter().chain(empty).collect();
    reviewed.load_through("3", &files, "2026-06-01T00:00");
    let (page, may) = reviewed.report_of("2026-05", &[]);
    let ids = column(&may, "case_id");
    for (id, is_listed) in [
        ("missed_referral/t-may", true),
        // Of April: never reviewed, and decided since it was reviewed.
        ("missed_referral/t-missed", true),
        (open, false),
        ("missed_referral/t-end", true),
    ] {
        assert_eq!(ids.contains(&id), is_listed, "{id}");
    }
    reviewed.review("case_id,category,reviewer,reviewed_on,note\nlate_referral/t-late,other,AB,2026-06-04,\n");
    let (_, later) = reviewed.report_of("2026-05", &[]);
    let ids = column(&later, "case_id");
    assert!(!ids.contains(&"late_referral/t-late"), "reviewed");
    assert!(
        ids.contains(&"missed_referral/t-missed"),
        "of the month of a reviewed case"
    );
    assert!(page.contains("of earlier months are listed because they have not been reviewed, or changed since"));
    assert!(page.contains("(grade 3, harbour, April 2026)"));
}

#[test]
fn a_filled_table_of_cases_is_read_as_reviews() {
    let reviewed = Reviewed::new();
    let (_, rows) = reviewed.report(&[]);
    let mut filled = csv::WriterBuilder::new()
        .delimiter(b';')
        .from_writer(b"\xef\xbb\xbf".to_vec());
    let names: Vec<&str> = rows[0].keys().map(String::as_str).collect();
    filled.write_record(&names).unwrap();
    for row in &rows {
        let mut row = row.clone();
        if row["case_id"] == "missed_referral/t-missed" {
            row.insert("category".to_owned(), "handover_between_units".to_owned());
            row.insert("reviewer".to_owned(), "<b>AB</b>".to_owned());
            row.insert("reviewed_on".to_owned(), "2026-05-04".to_owned());
            row.insert("note".to_owned(), "two lines;\nof \"text\"".to_owned());
        }
        filled.write_record(names.iter().map(|name| &row[*name])).unwrap();
    }
    let mut text_of = String::from_utf8(filled.into_inner().unwrap()).unwrap();
    text_of.push_str(
        &names
            .iter()
            .map(|name| match *name {
                "case_id" => "missed_referral/gone",
                "category" => "no_gap_found",
                "reviewer" => "AB",
                "reviewed_on" => "2026-05-04",
                _ => "",
            })
            .collect::<Vec<_>>()
            .join(";"),
    );
    reviewed.review(&text_of);
    let (page, rows) = reviewed.report(&[]);
    let row = rows
        .iter()
        .find(|row| row["case_id"] == "missed_referral/t-missed")
        .unwrap();
    let told = ["reviewed", "category", "reviewer", "reviewed_on", "note"].map(|name| row[name].as_str());
    assert_eq!(
        told,
        [
            "yes",
            "handover_between_units",
            "<b>AB</b>",
            "2026-05-04",
            "two lines;\nof \"text\""
        ]
    );
    assert_eq!(rows.iter().filter(|row| row["reviewed"] == "yes").count(), 1);
    assert!(page.contains("Reviewed as <strong>handover_between_units</strong>"));
    assert!(
        page.contains("by &lt;b&gt;AB&lt;&#x2f;b&gt; on 4 May 2026"),
        "text stays text"
    );
    assert!(page.contains("1 reviewed, "));
    assert!(page.contains("1 review in reviews.csv is of a case that is none in the data any more"));
    assert!(page.contains("missed_referral&#x2f;gone"));
    // What was written then, is shown then.
    let (then, rows) = reviewed.report(&["--as-of", "1"]);
    assert!(then.contains("0 reviewed, ") && !then.contains("missed_referral&#x2f;gone"));
    assert!(rows.iter().all(|row| row["reviewed"] == "no"));
    // The page made from the same snapshot is the same.
    assert_eq!(reviewed.report(&[]).0, page);
}

#[test]
fn changed_reviews_make_a_snapshot_that_is_checked() {
    let reviewed = Reviewed::new();
    reviewed.review("case_id,category,reviewer,reviewed_on,note\nx/1,other,AB,2026-05-04,\n");
    let out = reviewed.tried(&["measure", "--month", "2026-04"]);
    assert!(
        text(&out.stderr).contains("reviews.csv has changed since load 1"),
        "{}",
        text(&out.stderr)
    );
    assert!(reviewed.run(&["check"]).contains("snapshot"));
    let kept = reviewed.warehouse().join("snapshots/000002/reviews.csv");
    fs::write(&kept, "").unwrap();
    let checked = reviewed.tried(&["check"]);
    assert!(
        text(&checked.stdout).contains("reviews.csv: not the bytes that were written"),
        "{}",
        text(&checked.stdout)
    );
}

#[test]
fn reviews_that_cannot_be_meant_are_refused_with_line_and_remedy() {
    let (reviewed, ..) = april();
    let header = "case_id,category,reviewer,reviewed_on,note\n";
    for (rows, told, remedy) in [
        (
            "x/1,equipmnt,AB,2026-05-04,\n",
            "line 2: 'equipmnt' is no category",
            "did you mean equipment?",
        ),
        (
            "x/1,laziness,AB,2026-05-04,\n",
            "line 2: 'laziness' is no category",
            "write one of: serum_delayed",
        ),
        (
            "x/0,,,,\nx/1,other,AB,4.5.2026,\n",
            "line 3: reviewed_on '4.5.2026' is no day",
            "YYYY-MM-DD",
        ),
        ("x/1,other,AB,,\n", "line 2: reviewed_on '' is no day", "YYYY-MM-DD"),
        (
            "x/1,other,,2026-05-04,\n",
            "line 2: a category without a reviewer",
            "initials",
        ),
        (
            ",other,AB,2026-05-04,\n",
            "line 2: a category without a case_id",
            "cases.csv",
        ),
        (
            "x/1,other,AB,2026-05-04,\"open\n",
            "line 2: a quote is never closed",
            "quote the whole cell",
        ),
        (
            "x/0,,,,\nx/1;other;AB;2026-05-04;\n",
            "line 3: it has 1 cells, the header 5",
            "one delimiter throughout",
        ),
        (
            "x/1;other;AB;2026-05-04;late, and lost\n",
            "line 2: it has 2 cells, the header 5",
            "one delimiter throughout",
        ),
        (
            "x/1,other,AB,2026-05-04,late, and lost\n",
            "line 2: it has 6 cells, the header 5",
            "quote a note that holds it",
        ),
    ] {
        let error = Reviews::parse(&format!("{header}{rows}")).unwrap_err().to_string();
        assert!(error.contains(told) && error.contains(remedy), "{error}");
    }
    let error = Reviews::parse("case_id,reviewer\n").unwrap_err().to_string();
    assert!(
        error.contains("no column category") && error.contains("to do"),
        "{error}"
    );
    let copy = Reviewed {
        folder: tempfile::tempdir().unwrap(),
    };
    crate::commands::copy_folder(&reviewed.warehouse(), &copy.warehouse());
    copy.review(&format!("{header}x/1,laziness,AB,2026-05-04,\n"));
    let refused = copy.tried(&["report", "--month", "2026-04"]);
    assert_eq!(refused.status.code(), Some(3), "{}", text(&refused.stderr));
    assert!(
        text(&refused.stderr).contains("reviews.csv, line 2"),
        "{}",
        text(&refused.stderr)
    );
}

/// As spreadsheets save rows whose last cells are empty, or with columns to spare.
#[test]
fn empty_cells_at_the_end_of_a_row_may_be_missing_or_too_many() {
    let reviews = Reviews::parse(
        "case_id,finding,category,reviewer,reviewed_on,note\n\
         a/1,found\n\
         a/2,found,other,AB,2026-05-04\n\
         a/3,found,other,AB,2026-05-04,,,\n\
         \n\
         ,\n",
    );
    assert_eq!(reviews.unwrap().case_ids().collect::<Vec<_>>(), ["a/2", "a/3"]);
}

#[test]
fn a_filled_table_is_kept_until_it_is_saved() {
    let reviewed = Reviewed::new();
    let out = reviewed.folder.path().join("reports");
    let words = [
        "report",
        "--month",
        "2026-04",
        "--cases",
        "--out",
        out.to_str().unwrap(),
    ];
    reviewed.run(&words);
    let folder = out.join("2026-04/quality");
    let path = folder.join("cases.csv");
    let empty = fs::read_to_string(&path).unwrap();
    let filled = |cells: &str| {
        let header = empty.lines().next().unwrap();
        format!("{header}\nmissed_referral/t-missed,2026-04,missed_referral,5,harbour,missed,,,no,{cells}\n")
    };
    // Renders anew beside such a table; the name under which it was kept.
    let kept_as = |text: &str, more: &[&str]| {
        fs::write(&path, text).unwrap();
        let done = reviewed.tried(&[&words[..], more].concat());
        let told = crate::commands::text(&done.stderr);
        assert!(done.status.success(), "{told}");
        let name = told.split("cases-kept-").nth(1)?.split(';').next()?;
        let name = format!("cases-kept-{name}");
        assert_eq!(fs::read_to_string(folder.join(&name)).unwrap(), text);
        assert_ne!(fs::read_to_string(&path).unwrap(), text);
        Some(name)
    };
    // Filled and saved nowhere; half filled; so that it cannot be read.
    let of_4_may = filled("other,AB,2026-05-04,asked");
    for (text, name) in [
        (&of_4_may, "cases-kept-1.csv"),
        (&filled(",AB,,"), "cases-kept-2.csv"),
        (&filled("other,AB,05/04/2026,"), "cases-kept-3.csv"),
    ] {
        assert_eq!(kept_as(text, &[]).as_deref(), Some(name));
    }
    assert_eq!(kept_as(&empty, &[]), None);
    let told = reviewed.tried(&[&words[..3], &words[4..]].concat());
    assert!(text(&told.stderr).contains("is of an earlier report"));
    // Saved, it is written anew with the review in it.
    reviewed.review(&of_4_may);
    assert_eq!(kept_as(&of_4_may, &[]), None);
    assert_eq!(rows(&path).iter().filter(|row| row["note"] == "asked").count(), 1);
    // Of an earlier load too, whose table has no review: those of now are saved all the same.
    assert_eq!(kept_as(&of_4_may, &["--as-of", "1"]), None);
    assert!(rows(&path).iter().all(|row| row["note"].is_empty()));
    // Another text, or another day, is more than is saved.
    for cells in ["other,AB,2026-05-04,asked again", "other,AB,2025-05-04,asked"] {
        assert!(kept_as(&filled(cells), &[]).is_some(), "{cells}");
    }
}

#[test]
fn reviews_that_are_gone_from_the_file_are_told() {
    let reviewed = Reviewed::new();
    let header = "case_id,category,reviewer,reviewed_on,note\n";
    let of = |id: &str| format!("x/{id},other,AB,2026-05-04,\n");
    let told = |text: &str| {
        reviewed.review(text);
        crate::commands::text(&reviewed.tried(&["measure", "--month", "2026-04"]).stderr)
    };
    let gone = "no more that it held by load";
    assert!(!told(&format!("{header}{}{}", of("1"), of("2"))).contains(gone));
    assert!(told(&format!("{header}{}", of("3"))).contains("reviews.csv holds 2 reviewed cases no more"));
    assert!(!told(&format!("{header}{}{}", of("3"), of("4"))).contains(gone));
    assert!(told("").contains("reviews.csv holds 2 reviewed cases no more"));
}

#[test]
fn the_check_of_a_warehouse_reads_its_reviews_and_notes() {
    let (reviewed, ..) = april();
    let copy = Reviewed {
        folder: tempfile::tempdir().unwrap(),
    };
    crate::commands::copy_folder(&reviewed.warehouse(), &copy.warehouse());
    copy.run(&["check"]);
    copy.review("case_id,category,reviewer,reviewed_on,note\nx/1,laziness,AB,2026-05-04,\n");
    fs::write(copy.warehouse().join("notes.toml"), "[[notes]]\n").unwrap();
    let checked = copy.tried(&["check"]);
    assert_eq!(checked.status.code(), Some(1));
    let told = text(&checked.stdout);
    for name in ["reviews.csv", "notes.toml"] {
        assert!(told.contains(&format!("FAULT      {name} can be read")), "{told}");
    }
    assert!(told.contains("line 2: 'laziness' is no category"), "{told}");
    let err = text(&checked.stderr);
    assert!(
        err.contains("2 things are") && err.contains("mend notes.toml or reviews.csv"),
        "{err}"
    );
    fs::remove_file(copy.warehouse().join("reviews.csv")).unwrap();
    let note = "[[note]]\nmonth = \"2026-04\"\ntext = \"x\"\nfigures = [\"missed_referrals\"]\n";
    fs::write(copy.warehouse().join("notes.toml"), note).unwrap();
    let told = text(&copy.tried(&["check"]).stdout);
    assert!(
        told.contains("FAULT      notes.toml can be read") && told.contains("missed_referrals"),
        "{told}"
    );
}

#[test]
fn the_later_review_of_a_case_counts() {
    let reviews = Reviews::parse(
        "note;Reviewed_On;reviewer;category;case_id;mine\n\
         first;2026-05-04;AB;other;a/1;x\n\
         '=later;2026-05-06;AB;Record incomplete;a/1;x\n\
         earlier day;2026-05-05;AB;equipment;a/1;x\n\
         same day;2026-05-04;AB;equipment;a/2;x\n\
         later line;2026-05-04;CD;no-gap-found;'=a/2;x\n\
         ;;;;a/3;x\n",
    )
    .unwrap();
    let first = reviews.of("a/1").unwrap();
    assert_eq!(
        (first.category, first.note.as_str()),
        (Category::RecordIncomplete, "=later")
    );
    assert_eq!(reviews.of("a/2").unwrap().note, "same day");
    assert_eq!(reviews.of("=a/2").unwrap().reviewer, "CD");
    assert!(reviews.of("a/3").is_none());
    let counted = counts_by_category(["a/1", "a/2", "a/3", "a/4"], &reviews);
    let of = |category| counted.by_category.iter().find(|(one, _)| *one == category).unwrap().1;
    assert_eq!(
        (
            of(Category::RecordIncomplete),
            of(Category::Equipment),
            of(Category::Other)
        ),
        (1, 1, 0)
    );
    assert_eq!((counted.by_category.len(), counted.awaiting), (Category::ALL.len(), 2));
    assert_eq!(Reviews::parse(" \n").unwrap(), Reviews::default());
}
