//! What recheck rules cannot say: windows, excuses, conditions, two rows for one event.

use siskin::protocol::Protocol;

use super::refused::{accepted, refused};
use crate::harness::{PROTOCOL, aap_protocol};

#[test]
fn windows_and_excuses_of_a_recheck_rule() {
    let aap = aap_protocol();
    accepted(
        PROTOCOL,
        "earliest_h = 12\nlatest_h = 18",
        "earliest_h = 18\nlatest_h = 18",
    );
    let first = "trigger = \"course_start\"\nlatest_h = 12\naccepts = \"serum\"";
    refused(
        &aap,
        first,
        &format!("{first}\nscreens_from_h = 2"),
        "screens_from_h goes with",
    );
    refused(
        &aap,
        "screens_from_h = 24",
        "screens_from_h = 36.5",
        "after the window has closed",
    );
    accepted(&aap, "screens_from_h = 24", "screens_from_h = 36");
    refused(
        &aap,
        "\"never\"",
        "\"never\"\nexcused_within_h = 4",
        "takes no excused_within_h",
    );
    refused(&aap, "excused_within_h = 36\n", "", "it needs excused_within_h");
    let ends = "excused_when = \"course_ends_by\"\nexcused_within_h = 18\nsource = \"NICE CG98\"";
    let starts = "excused_when = \"course_starts_after_trigger\"\nexcused_within_h = 18\nsource = \"NICE CG98\"";
    assert!(PROTOCOL.contains(starts));
    let last = PROTOCOL.find("trigger = \"course_end\"").unwrap();
    let text = format!("{}{}", &PROTOCOL[..last], PROTOCOL[last..].replacen(starts, ends, 1));
    let said = Protocol::parse(&text).unwrap_err().to_string();
    assert!(
        said.contains("goes with the triggers course_start and serum_in_course"),
        "{said}"
    );
    refused(PROTOCOL, "into_course_h = 4\n", "", "into_course_h goes with");
    refused(
        PROTOCOL,
        "trigger = \"course_end\"",
        "trigger = \"course_end\"\ninto_course_h = 4",
        "into_course_h goes with",
    );
}

#[test]
fn conditions_of_a_recheck_rule() {
    let aap = aap_protocol();
    refused(
        PROTOCOL,
        "gap_at_least_umol_l = 0\n",
        "",
        "rule near_line (near_line): it needs both",
    );
    refused(
        PROTOCOL,
        "gap_at_most_umol_l = 50\n",
        "",
        "rule near_line (near_line): it needs both",
    );
    refused(
        &aap,
        "gap_at_least_mg_dl = 0.1\n",
        "",
        "rule discharge_gap (going_home): it needs both",
    );
    refused(
        &aap,
        "gap_at_most_mg_dl = 1.9\n",
        "",
        "rule discharge_gap (going_home): it needs both",
    );
    refused(
        &aap,
        "gap_at_most_mg_dl = 1.9",
        "gap_at_most_mg_dl = 0",
        "at least 0.1 mg/dL and at most 0 mg/dL",
    );
    let start = "trigger = \"course_start\"";
    refused(
        PROTOCOL,
        start,
        &format!("{start}\ngap_at_most_umol_l = 5"),
        "gaps go with",
    );
    refused(PROTOCOL, start, &format!("{start}\nage_below_h = 5"), "do not go with");
    refused(
        PROTOCOL,
        start,
        &format!("{start}\ngestation_at_least = \"38+0\""),
        "do not go with",
    );
    let above = "age_above_h = 24\nlatest_h = 18";
    refused(
        PROTOCOL,
        above,
        "age_above_h = 24\nage_at_least_h = 24\nlatest_h = 18",
        "both age_above_h and",
    );
    refused(
        PROTOCOL,
        above,
        "age_above_h = 24\nage_below_h = 24\nlatest_h = 18",
        "no age is both",
    );
    accepted(PROTOCOL, above, "age_above_h = 24\nage_below_h = 48\nlatest_h = 18");
}

#[test]
fn two_rows_of_a_rule_may_not_hold_for_one_event() {
    let aap = aap_protocol();
    let both = "two rows hold for the same event";
    // gaps
    refused(&aap, "gap_at_least_mg_dl = 2.0", "gap_at_least_mg_dl = 1.9", both);
    accepted(&aap, "gap_at_least_mg_dl = 2.0", "gap_at_least_mg_dl = 1.95");
    refused(&aap, "gap_at_most_mg_dl = 3.4", "gap_at_most_mg_dl = 3.5", both);
    // risk
    refused(PROTOCOL, "\nrisk = \"absent\"", "\nrisk = \"present\"", both);
    refused(PROTOCOL, "\nrisk = \"absent\"", "\nrisk = \"any\"", both);
    refused(PROTOCOL, "\nrisk = \"absent\"\n", "\n", both);
    // ages, with the risk of both rows alike
    let same_risk = PROTOCOL.replacen("\nrisk = \"absent\"", "\nrisk = \"present\"", 1);
    let first = "age_above_h = 24\nlatest_h = 18";
    accepted(&same_risk, first, "age_below_h = 24\nlatest_h = 18");
    let at_least = same_risk.replacen(
        "age_above_h = 24\nlatest_h = 24",
        "age_at_least_h = 24\nlatest_h = 24",
        1,
    );
    assert_ne!(at_least, same_risk);
    accepted(&at_least, first, "age_below_h = 24\nlatest_h = 18");
    refused(&at_least, first, "age_below_h = 24.001\nlatest_h = 18", both);
    // a gestation has no upper end, so it parts nothing
    refused(&same_risk, "\"38+0\"", "\"40+0\"", both);
    // another name is another rule; another trigger is no row of the same rule
    accepted(&same_risk, "rule = \"near_line\"", "rule = \"near_line_at_risk\"");
    refused(
        PROTOCOL,
        "rule = \"rebound\"",
        "rule = \"treatment_first\"",
        "give each trigger a rule of its own",
    );
}
