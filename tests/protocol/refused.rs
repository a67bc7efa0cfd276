//! What cannot hold is refused in words that name version and rule; its neighbours are not.

use siskin::protocol::{Protocol, ProtocolError, gestation_days, ready};

use crate::harness::{PROTOCOL, SAMPLE_PROTOCOL, aap_protocol};

pub(super) fn changed(text: &str, from: &str, to: &str) -> Result<Protocol, String> {
    assert!(text.contains(from), "{from}");
    Protocol::parse(&text.replacen(from, to, 1)).map_err(|error| error.to_string())
}

#[track_caller]
pub(super) fn refused(text: &str, from: &str, to: &str, why: &str) {
    assert!(text.contains(from), "{from}");
    let error = Protocol::parse(&text.replacen(from, to, 1)).expect_err(to);
    let said = error.to_string();
    assert!(said.contains(why), "{to}: {said}");
    assert!(said.contains("\n  to do: "), "{to}: {said}");
    assert!(
        matches!(error, ProtocolError::Meaning { .. }),
        "not a refusal of the syntax: {said}"
    );
}

#[track_caller]
pub(super) fn accepted(text: &str, from: &str, to: &str) {
    changed(text, from, to).unwrap_or_else(|said| panic!("{to}: {said}"));
}

#[test]
fn the_sample_and_the_ready_protocols_are_accepted() {
    let protocol = Protocol::parse(SAMPLE_PROTOCOL).unwrap();
    assert_eq!(protocol.versions().len(), 1);
    assert_eq!(protocol.newest().targets.len(), 6);
    assert_eq!(protocol.newest().referral.clauses[0].umol_l, Some(250.0));
    for (name, text) in ready::ALL {
        Protocol::parse(text).unwrap_or_else(|error| panic!("{name}: {error}"));
    }
}

/// The sample judges by the ready protocol, under its own name, and has targets of its own.
#[test]
fn the_sample_has_the_rules_of_the_ready_protocol() {
    let rules = |text: &str| text[text.find("[version.line]").unwrap()..].to_owned();
    assert_eq!(rules(PROTOCOL), rules(ready::NICE_CG98));
}

#[test]
fn a_refusal_names_version_and_rule() {
    let said = changed(
        PROTOCOL,
        "earliest_h = 12\nlatest_h = 18",
        "earliest_h = 19\nlatest_h = 18",
    )
    .unwrap_err();
    assert_eq!(
        said,
        format!(
            "the protocol is not valid, line {}: version 'NICE CG98 manner, 2026': recheck rule rebound (course_end): it closes before it opens
  to do: mend it in protocol.toml; `siskin describe --protocol nice_cg98` prints a ready protocol to compare with",
            line_of("rule = \"rebound\"") - 1
        )
    );
}

/// The line of the sample's protocol that begins so, counted from 1.
fn line_of(beginning: &str) -> usize {
    let mut lines = PROTOCOL.lines();
    lines.position(|line| line.trim_start().starts_with(beginning)).unwrap() + 1
}

/// The line is that of the key in its own section and version, however it is spaced.
#[test]
fn a_refusal_names_the_line() {
    let line_said = |from: &str, to: &str| {
        let said = changed(PROTOCOL, from, to).unwrap_err();
        let (_, rest) = said.split_once("not valid, line ").unwrap_or_else(|| panic!("{said}"));
        rest.split(':').next().unwrap().parse::<usize>().unwrap()
    };
    for (from, to, beginning) in [
        ("zone = \"Europe/London\"", "zone = \"Europe/Nowhere\"", "zone"),
        ("course_gap_h = 6", "course_gap_h   =  -1.0 # a slip", "course_gap_h"),
        ("within_h = 6,", "within_h = 0,", "{ age_from_h = 24"),
        ("{ age_from_h = 24,", "{ age_from_h = 30,", "{ age_from_h = 24"),
        ("tolerance_min = 0", "tolerance_min = -5", "tolerance_min"),
        ("umol_l = 250,", "umol_l = -1,", "{ when = \"value_above\""),
        ("\"38+0\"", "\"38+7\"", "gestation_at_least = \"38+0\""),
        ("name = \"above_425\"", "name = \"above 425\"", "{ name = \"above_425\""),
        ("[7, 14, 28]", "[7, 28, 14]", "within_days"),
        ("readings_at_least = 2", "readings_at_least = 0", "readings_at_least"),
    ] {
        assert_eq!(line_said(from, to), line_of(beginning), "{to}");
    }
    // Both treatment and severe have this key.
    let severe = PROTOCOL.find("[version.severe]").unwrap();
    let line = PROTOCOL[..severe].lines().count() + 2;
    assert_eq!(
        line_said("age_at_most_d = 28\nbands", "age_at_most_d = 28.5\nbands"),
        line
    );
    let version = &PROTOCOL[PROTOCOL.find("[[version]]").unwrap()..];
    let later = version
        .replacen("manner, 2026", "manner, again", 1)
        .replacen("2026-01-01", "2026-07-01", 1)
        .replacen("course_gap_h = 6", "course_gap_h = -1", 1);
    let said = Protocol::parse(&format!("{PROTOCOL}\n{later}"))
        .unwrap_err()
        .to_string();
    let before = PROTOCOL.lines().count() + 1 - (PROTOCOL.lines().count() - version.lines().count());
    assert!(
        said.contains(&format!(
            "line {}: version 'NICE CG98 manner, again'",
            line_of("course_gap_h") + before
        )),
        "{said}"
    );
}

/// What would be read as a rule, and be one that no audit can mean.
#[test]
fn rules_that_make_no_sense_are_refused_with_what_to_do() {
    let with_line = |from: &str, to: &str, line: usize, why: &str, to_do: &str| {
        let said = changed(PROTOCOL, from, to).expect_err(to);
        assert!(
            said.starts_with(&format!("the protocol is not valid, line {line}: ")),
            "{said}"
        );
        assert!(
            said.contains(why) && said.contains(&format!("\n  to do: {to_do}")),
            "{said}"
        );
    };
    with_line(
        "network = \"Fieldfare network (invented)\"",
        "network = \" \"",
        line_of("network"),
        "network is empty",
        "give the network's name",
    );
    with_line(
        "within_days = [7, 14, 28]",
        "within_days = []",
        line_of("within_days"),
        "within_days = [] counts no readmission",
        "name the ages in days",
    );
    with_line(
        "late_until_h = 24",
        "late_until_h = 0",
        line_of("late_until_h"),
        "recheck late_until_h = 0 is not above 0",
        "give the hours that are allowed",
    );
    accepted(PROTOCOL, "late_until_h = 24", "late_until_h = 0.5");
    let records = |limits: &str| format!("[records]\n{limits}\n\n[plausible]");
    let line = line_of("[plausible]") + 1;
    let refused_limit =
        |limit: &str, why: &str, to_do: &str| with_line("[plausible]", &records(limit), line, why, to_do);
    let left_out = "give another number, or leave stop_percent out: 50 then holds";
    refused_limit("stop_percent = 800", "no more than 100 percent", left_out);
    refused_limit("stop_percent = -1", "cannot be negative", left_out);
    refused_limit("stop_percnt = 80", "records.stop_percnt is no limit", "use one of: ");
    accepted(PROTOCOL, "[plausible]", &records("stop_percent = 100"));
    // This one is a rise, no share.
    accepted(PROTOCOL, "[plausible]", &records("shift_at_most_percent = 3000"));
}

#[test]
fn what_holds_for_the_whole_file() {
    refused(PROTOCOL, "Europe/London", "Europe/Nowhere", "IANA time zone");
    refused(PROTOCOL, "umol_l_at_most = 855", "umol_l_at_most = 0", "not below");
    refused(PROTOCOL, "umol_l_at_most = 855", "umol_l_at_most = nan", "not below");
    refused(PROTOCOL, "umol_l_at_most = 855", "umol_l_at_most = inf", "not below");
    refused(
        PROTOCOL,
        "test_before_birth_min = 15",
        "test_before_birth_min = -1",
        "cannot be negative",
    );
    accepted(PROTOCOL, "test_before_birth_min = 15", "test_before_birth_min = 0");
    let hide = |below: &str| format!("[suppression]\nhide_below = {below}\n\n[plausible]");
    refused(PROTOCOL, "[plausible]", &hide("0"), "hide_below = 0");
    accepted(PROTOCOL, "[plausible]", &hide("1"));
    refused(PROTOCOL, "name = \"NICE CG98 manner, 2026\"", "name = \" \"", "no name");
}

#[test]
fn gestations_and_referral_windows() {
    for of in ["[version.coverage]", "[version.referral]", "[version.readmission]"] {
        let place = PROTOCOL.find(of).unwrap();
        let text = format!(
            "{}{}",
            &PROTOCOL[..place],
            PROTOCOL[place..].replacen("\"35+0\"", "\"35w\"", 1)
        );
        let said = Protocol::parse(&text).unwrap_err().to_string();
        assert!(said.contains("gestation '35w' is not weeks+days"), "{of}: {said}");
    }
    refused(PROTOCOL, "\"38+0\"", "\"38+7\"", "weeks+days");
    refused(
        PROTOCOL,
        "{ age_from_h = 24, within_h",
        "{ age_from_h = 30, within_h",
        "gap or overlap",
    );
    refused(
        PROTOCOL,
        "{ age_from_h = 24, within_h",
        "{ age_from_h = 23, within_h",
        "gap or overlap",
    );
    let last = "age_from_h = 24, within_h";
    refused(
        PROTOCOL,
        last,
        "age_from_h = 24, age_below_h = 99, within_h",
        "end at 99 h",
    );
    refused(
        PROTOCOL,
        last,
        "age_from_h = 24, age_below_h = 24, within_h",
        "ends before it begins",
    );
    refused(
        PROTOCOL,
        "within_h = 6,",
        "within_h = 24.1,",
        "no more than follow_up_h = 24",
    );
    accepted(PROTOCOL, "within_h = 6,", "within_h = 24,");
    refused(PROTOCOL, "within_h = 6,", "within_h = 0,", "must be more than 0");
}

#[test]
fn hours_days_and_minutes_are_spans_an_audit_follows() {
    refused(
        PROTOCOL,
        "course_gap_h = 6",
        "course_gap_h = -1",
        "course_gap_h = -1 is not between 0 and 672",
    );
    refused(PROTOCOL, "course_gap_h = 6", "course_gap_h = nan", "course_gap_h = NaN");
    refused(PROTOCOL, "course_gap_h = 6", "course_gap_h = 672.5", "672");
    accepted(PROTOCOL, "course_gap_h = 6", "course_gap_h = 672");
    refused(PROTOCOL, "in_time_h = 6", "in_time_h = 0", "above 0");
    accepted(PROTOCOL, "in_time_h = 6", "in_time_h = 0.5");
    refused(
        PROTOCOL,
        "age_at_most_d = 28\nbands",
        "age_at_most_d = 28.5\nbands",
        "severe age_at_most_d",
    );
    refused(
        PROTOCOL,
        "age_at_most_d = 28\nin_time_h",
        "age_at_most_d = -1\nin_time_h",
        "treatment age_at_most_d",
    );
    refused(
        PROTOCOL,
        "outpatient_age_at_least_d = 14",
        "outpatient_age_at_least_d = inf",
        "outpatient_age",
    );
    refused(
        PROTOCOL,
        "paired_within_min = 60",
        "paired_within_min = -1",
        "paired_within_min",
    );
    refused(PROTOCOL, "tolerance_min = 0", "tolerance_min = -5", "tolerance_min");
    refused(
        PROTOCOL,
        "home_at_risk_within_h = 24",
        "home_at_risk_within_h = -1",
        "home_at_risk_within_h",
    );
    refused(
        PROTOCOL,
        "readings_at_least = 2",
        "readings_at_least = 0",
        "at least 1 reading",
    );
    accepted(PROTOCOL, "readings_at_least = 2", "readings_at_least = 1");
}

#[test]
fn ages_and_hours_told_one_after_the_other_ascend() {
    refused(
        PROTOCOL,
        "to_age_h = 48",
        "to_age_h = 24",
        "coverage from_age_h = 24 is not below to_age_h = 24",
    );
    accepted(PROTOCOL, "to_age_h = 48", "to_age_h = 24.5");
    refused(PROTOCOL, "[2, 4, 6, 12, 24]", "[2, 4, 4, 12, 24]", "shares_at_h");
    refused(PROTOCOL, "[7, 14, 28]", "[7, 28, 14]", "within_days");
    let aap = aap_protocol();
    let first = "{ age_at_most_h = 24, mg_dl_per_h = 0.3 },";
    refused(
        &aap,
        first,
        "{ mg_dl_per_h = 0.3 },",
        "each rate but the last needs age_at_most_h",
    );
    refused(
        &aap,
        "{ mg_dl_per_h = 0.2 }",
        "{ age_at_most_h = 48, mg_dl_per_h = 0.2 }",
        "the last takes none",
    );
    let twice = format!("{first} {{ age_at_most_h = 24, mg_dl_per_h = 0.25 }},");
    refused(&aap, first, &twice, "does not ascend");
    accepted(
        &aap,
        first,
        &twice.replace("24, mg_dl_per_h = 0.25", "25, mg_dl_per_h = 0.25"),
    );
    accepted(&aap, first, "");
    let rates = &aap[aap.find("rates = [").unwrap()..aap.find("\n]\nsource").unwrap() + 2];
    refused(&aap, rates, "rates = []", "rates is empty");
    refused(&aap, "mg_dl_per_h = 0.2", "mg_dl_per_h = 0", "flags every pair");
    refused(
        &aap,
        "apart_at_least_h = 3",
        "apart_at_least_h = 0",
        "apart_at_least_h = 0 is not above 0",
    );
}

#[test]
fn a_limit_is_written_once_in_one_unit() {
    let aap = aap_protocol();
    refused(
        PROTOCOL,
        "umol_l = 250,",
        "",
        "clause value_above needs umol_l or mg_dl",
    );
    refused(
        PROTOCOL,
        "umol_l = 250,",
        "umol_l = 250, mg_dl = 15,",
        "both umol_l and mg_dl",
    );
    accepted(PROTOCOL, "umol_l = 250,", "mg_dl = 15,");
    refused(
        PROTOCOL,
        "umol_l = 250,",
        "umol_l = -1,",
        "umol_l = -1 is not between 0 and 1000",
    );
    refused(PROTOCOL, "umol_l = 250,", "mg_dl = nan,", "mg_dl = NaN");
    let range = "{ when = \"above_range\",";
    refused(
        PROTOCOL,
        range,
        "{ when = \"above_range\", umol_l = 3,",
        "takes no umol_l",
    );
    refused(
        PROTOCOL,
        range,
        "{ when = \"above_range\", mg_dl = 3,",
        "takes no mg_dl",
    );
    refused(PROTOCOL, "umol_l = 340,", "", "severe band above_340 needs");
    refused(
        PROTOCOL,
        "umol_l = 340,",
        "umol_l = 340, mg_dl = 20,",
        "severe band above_340 has both",
    );
    refused(
        &aap,
        "mg_dl_per_h = 0.2",
        "mg_dl_per_h = 0.2, umol_l_per_h = 3",
        "a rate of rise has both",
    );
    refused(&aap, ", mg_dl_per_h = 0.3", "", "a rate of rise needs");
    let step = "gap_rounded_to_mg_dl = 0.1";
    refused(
        &aap,
        step,
        "gap_rounded_to_mg_dl = 0.1\ngap_rounded_to_umol_l = 2",
        "both",
    );
    refused(&aap, step, "gap_rounded_to_mg_dl = 0", "rounded to 0");
    refused(&aap, step, "gap_rounded_to_mg_dl = -0.1", "not between");
    let least = "gap_at_least_mg_dl = 0.1";
    refused(&aap, least, "gap_at_least_mg_dl = 0.1\ngap_at_least_umol_l = 2", "both");
    refused(&aap, least, "gap_at_least_mg_dl = -0.1", "not between");
}

/// 1 mg/dL is 17.1 umol/L in every limit: 15 mg/dL is 256.5 umol/L.
#[test]
fn limits_in_mg_dl_are_those_in_umol_l() {
    let aap = Protocol::parse(&aap_protocol()).unwrap();
    let version = aap.newest();
    let clauses = version.referral.clauses.iter().map(|c| c.limit().map(|l| l.micro()));
    assert_eq!(clauses.collect::<Vec<_>>(), [Some(51_300_000), Some(256_500_000), None]);
    let gaps = version
        .recheck
        .rules
        .iter()
        .map(|r| (r.gap_at_least(), r.gap_at_most()));
    let gaps: Vec<_> = gaps.filter_map(|(a, b)| Some((a?.micro(), b?.micro()))).collect();
    assert_eq!(
        gaps,
        [
            (1_710_000, 32_490_000),
            (34_200_000, 58_140_000),
            (59_850_000, 92_340_000)
        ]
    );
    let rates = version.rise.iter().flat_map(|rise| &rise.rates);
    let rates: Vec<_> = rates.filter_map(|rate| Some(rate.per_hour()?.micro())).collect();
    assert_eq!(rates, [5_130_000, 3_420_000]);
}

#[test]
fn lines_that_ship_and_lines_of_the_site() {
    refused(PROTOCOL, "\"nice_cg98\"", "\"our_own\"", "not built in");
    let table = "standard = \"nice_cg98\"\ntable = \"lines.csv\"";
    refused(PROTOCOL, "standard = \"nice_cg98\"", table, "takes no table");
    let risk = "above_when = \"greater\"\nrisk_factors = [\"g6pd\"]";
    refused(PROTOCOL, "above_when = \"greater\"", risk, "same with and without risk");
    let aap = aap_protocol();
    for name in [
        "../lines.csv",
        "tables/lines.csv",
        "C:lines.csv",
        ".lines.csv",
        "a\\\\b.csv",
        "",
    ] {
        refused(&aap, "\"lines.csv\"", &format!("\"{name}\""), "beside protocol.toml");
    }
    for standard in ["", "two, three", " spaced"] {
        refused(
            &aap,
            "\"invented_for_tests\"",
            &format!("\"{standard}\""),
            "cannot stand in a table",
        );
    }
}

#[test]
fn a_standard_is_one_table_in_all_versions() {
    let aap = aap_protocol();
    let second = aap[aap.find("[[version]]").unwrap()..]
        .replacen("AAP 2022 manner", "later", 1)
        .replacen("2026-01-01", "2026-07-01", 1);
    let both = format!("{aap}\n{second}");
    assert_eq!(Protocol::parse(&both).unwrap().versions().len(), 2);
    let other = format!("{aap}\n{}", second.replacen("lines.csv", "other.csv", 1));
    let said = Protocol::parse(&other).unwrap_err().to_string();
    assert!(said.contains("name different tables"), "{said}");
}

#[test]
fn names_and_codes() {
    refused(PROTOCOL, "rule = \"rebound\"", "rule = \"Rebound!\"", "small letters");
    refused(PROTOCOL, "rule = \"rebound\"", "rule = \"\"", "small letters");
    refused(
        PROTOCOL,
        "name = \"above_425\"",
        "name = \"above 425\"",
        "small letters",
    );
    refused(
        PROTOCOL,
        "name = \"above_425\"",
        "name = \"above_340\"",
        "two severe bands are named above_340",
    );
    refused(
        PROTOCOL,
        "name = \"above_425\"",
        "name = \"kernicterus_code\"",
        "name of another figure",
    );
    refused(
        PROTOCOL,
        "kernicterus_codes = [\"P57\"]",
        "kernicterus_codes = []",
        "kernicterus_codes are empty",
    );
    refused(
        PROTOCOL,
        "kernicterus_codes = [\"P57\"]",
        "kernicterus_codes = [\"\"]",
        "ICD-10",
    );
    refused(
        PROTOCOL,
        "[\"P55\", \"P57\", \"P58\", \"P59\"]",
        "[]",
        "readmission codes are empty",
    );
    refused(
        PROTOCOL,
        "specimens = [\"\", \"serum\", \"plasma\"]",
        "specimens = []",
        "specimens are empty",
    );
    refused(
        PROTOCOL,
        "[\"P59.1\", \"P59.2\"]",
        "[\"59.1\"]",
        "'59.1' is not the beginning",
    );
    accepted(PROTOCOL, "[\"P59.1\", \"P59.2\"]", "[]");
}

#[test]
fn a_target_has_one_bound() {
    let target = |lines: &str| {
        format!("{PROTOCOL}\n[[version.targets]]\nfigure = \"missed_referral\"\n{lines}source = \"local\"\n")
    };
    let said = |lines: &str| Protocol::parse(&target(lines)).map(|_| ()).map_err(|e| e.to_string());
    assert_eq!(said("at_most_percent = 2\n"), Ok(()));
    assert_eq!(said("at_least_percent = 100\n"), Ok(()));
    assert!(said("").unwrap_err().contains("target for missed_referral needs"));
    assert!(
        said("at_most_percent = 2\nat_least_percent = 1\n")
            .unwrap_err()
            .contains("has both")
    );
    assert!(
        said("at_most_percent = 100.1\n")
            .unwrap_err()
            .contains("between 0 and 100")
    );
    assert!(
        said("at_most_percent = -1\n")
            .unwrap_err()
            .contains("between 0 and 100")
    );
    let twice = target("at_most_percent = 2\n")
        + "\n[[version.targets]]\nfigure = \"missed_referral\"\nat_most_percent = 3\nsource = \"local\"\n";
    let said = Protocol::parse(&twice).unwrap_err().to_string();
    assert!(said.contains("two targets for missed_referral"), "{said}");
}

#[test]
fn versions_must_follow_each_other() {
    let version = &PROTOCOL[PROTOCOL.find("[[version]]").unwrap()..];
    let with = |later: &str| Protocol::parse(&format!("{PROTOCOL}\n{later}"));
    let renamed = version.replacen("manner, 2026", "manner, again", 1);
    let said = with(&renamed).unwrap_err().to_string();
    assert!(said.contains("not after"), "{said}");
    let said = with(&version.replacen("2026-01-01", "2026-07-01", 1))
        .unwrap_err()
        .to_string();
    assert!(said.contains("two versions are named"), "{said}");
    let next_day = renamed.replacen("2026-01-01", "2026-01-02", 1);
    assert_eq!(with(&next_day).unwrap().versions().len(), 2);
    let earlier = renamed.replacen("2026-01-01", "2025-12-31", 1);
    assert!(with(&earlier).is_err());
}

#[test]
fn gestation_is_weeks_and_days() {
    assert_eq!(gestation_days("38+4"), Some(270));
    assert_eq!(gestation_days("35"), Some(245));
    for wrong in ["38+7", "38+", "+4", "38w4d", "19+6", "46", "380", "", "38 4"] {
        assert_eq!(gestation_days(wrong), None, "{wrong}");
    }
}
