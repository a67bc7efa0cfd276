//! What is allowed but suspicious, each at its edge.

use std::collections::BTreeMap;

use siskin::protocol::{Protocol, ready};

use crate::harness::{INVENTED_LINES, PROTOCOL, SAMPLE_PROTOCOL, TestWarehouse, aap_protocol};

fn doubts(text: &str, from: &str, to: &str) -> Vec<String> {
    assert!(text.contains(from), "{from}");
    let protocol = Protocol::parse(&text.replacen(from, to, 1));
    protocol.unwrap_or_else(|error| panic!("{to}: {error}")).doubts()
}

#[track_caller]
fn doubted(text: &str, from: &str, to: &str, why: &str) {
    let found = doubts(text, from, to);
    assert_eq!(found.len(), 1, "{to}: {found:?}");
    assert!(found[0].contains(why), "{to}: {found:?}");
}

#[track_caller]
fn undoubted(text: &str, from: &str, to: &str) {
    assert_eq!(doubts(text, from, to), [""; 0], "{to}");
}

#[test]
fn the_sample_and_the_ready_protocols_have_none() {
    for text in [SAMPLE_PROTOCOL, ready::NICE_CG98, ready::AAP_2022, &aap_protocol()] {
        undoubted(text, "[[version]]", "[[version]]");
    }
}

#[test]
fn a_doubt_names_its_version() {
    let found = doubts(PROTOCOL, "umol_l = 250", "umol_l = 25");
    assert_eq!(
        found,
        ["version 'NICE CG98 manner, 2026': clause value_above: 25 umol/L is a very low limit: was mg_dl meant?"]
    );
}

#[test]
fn limits_of_the_other_unit() {
    undoubted(PROTOCOL, "umol_l = 250", "umol_l = 50");
    doubted(PROTOCOL, "umol_l = 250", "umol_l = 49.9", "was mg_dl meant?");
    undoubted(PROTOCOL, "umol_l = 250", "umol_l = 855");
    doubted(PROTOCOL, "umol_l = 250", "umol_l = 855.1", "was mg_dl meant?");
    doubted(
        PROTOCOL,
        "umol_l = 340",
        "mg_dl = 340",
        "severe band above_340: no value is above 340 mg/dL",
    );
    undoubted(PROTOCOL, "umol_l = 340", "mg_dl = 20");
    // A margin below the line is small.
    undoubted(PROTOCOL, "\"line_minus\", umol_l = 0", "\"line_minus\", umol_l = 10");
}

/// The highest line that ships is 350 umol/L, at 38 weeks from 96 h on.
#[test]
fn distances_that_reach_below_any_line() {
    let both = PROTOCOL.replace("gap_at_most_umol_l = 50", "gap_at_most_mg_dl = 90");
    let found = doubts(&both, "[[version]]", "[[version]]");
    assert_eq!(found.len(), 2, "{found:?}");
    assert!(
        found[0].contains("near_line: 90 mg/dL below the line is further than the highest line, 350 umol/L")
            && found[0].contains("was umol_l meant?"),
        "{found:?}"
    );
    let both = |most: &str| PROTOCOL.replace("gap_at_most_umol_l = 50", most);
    undoubted(&both("gap_at_most_umol_l = 350"), "[[version]]", "[[version]]");
    let found = doubts(&both("gap_at_most_umol_l = 351"), "[[version]]", "[[version]]");
    assert_eq!(found.len(), 2, "{found:?}");
    let margin = "\"line_minus\", umol_l = 0";
    doubted(
        PROTOCOL,
        margin,
        "\"line_minus\", mg_dl = 30",
        "clause line_minus: 30 mg/dL below",
    );
    undoubted(PROTOCOL, margin, "\"line_minus\", mg_dl = 3");
    // Of a site's own lines their table tells.
    let aap = aap_protocol().replacen("gap_at_most_mg_dl = 5.4", "gap_at_most_mg_dl = 54", 1);
    undoubted(&aap, "[[version]]", "[[version]]");
    let warehouse = TestWarehouse::with_protocol(&aap);
    warehouse.set_lines(&with_plateaus(INVENTED_LINES));
    let found = Protocol::read(&warehouse.path().join("protocol.toml"))
        .unwrap()
        .doubts();
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].contains("discharge_gap: 54 mg/dL below"), "{found:?}");
}

#[test]
fn rows_of_a_rule_that_reach_further_with_risk_than_without() {
    let why =
        "near_line: with risk it holds from 0 umol/L to 30 umol/L below the line, without risk from 0 umol/L to 50";
    doubted(PROTOCOL, "gap_at_most_umol_l = 50", "gap_at_most_umol_l = 30", why);
    doubted(
        PROTOCOL,
        "gap_at_least_umol_l = 0",
        "gap_at_least_umol_l = 5",
        "with risk it holds from 5 umol/L",
    );
    let both = PROTOCOL.replace("gap_at_most_umol_l = 50", "gap_at_most_umol_l = 30");
    undoubted(&both, "[[version]]", "[[version]]");
    // The same gap in the other unit.
    undoubted(
        PROTOCOL,
        "gap_at_most_umol_l = 50",
        "gap_at_most_mg_dl = 2.923976608187135",
    );
}

#[test]
fn numbers_that_decide_nothing() {
    let clauses =
        &PROTOCOL[PROTOCOL.find("clauses = [").unwrap()..PROTOCOL.find("# A serum this long before").unwrap()];
    doubted(PROTOCOL, clauses, "clauses = []\n", "no screen ever calls for a serum");
    doubted(
        PROTOCOL,
        "in_time_h = 6",
        "in_time_h = 24.5",
        "longer than follow_up_h = 24",
    );
    undoubted(PROTOCOL, "in_time_h = 6", "in_time_h = 24");
    doubted(
        PROTOCOL,
        "[2, 4, 6, 12, 24]",
        "[2, 4, 6, 12, 25]",
        "has 25, but a referral is followed for 24 h",
    );
    let rebound = "earliest_h = 12\nlatest_h = 18";
    doubted(
        PROTOCOL,
        rebound,
        "earliest_h = 0\nlatest_h = 0.5",
        "rebound closes after 0.5 h",
    );
    undoubted(PROTOCOL, rebound, "earliest_h = 0\nlatest_h = 1");
    let hide = |below: u32| format!("[suppression]\nhide_below = {below}\n\n[plausible]");
    doubted(PROTOCOL, "[plausible]", &hide(4), "hide_below = 4 hides fewer");
    undoubted(PROTOCOL, "[plausible]", &hide(5));
}

#[test]
fn words_sources_and_risks() {
    doubted(
        PROTOCOL,
        "\"sibling_phototherapy\"",
        "\"sibling_photoherapy\"",
        "was 'sibling_phototherapy' meant?",
    );
    undoubted(PROTOCOL, "\"sibling_phototherapy\"", "\"cephalhaematoma\"");
    doubted(
        PROTOCOL,
        "risk_feeding = [\"breast\"]",
        "risk_feeding = [\"brest\"]",
        "was 'breast' meant?",
    );
    doubted(
        &aap_protocol(),
        "\"sepsis\", ",
        "\"sepsys\", ",
        "line.risk_factors has 'sepsys': was 'sepsis' meant?",
    );
    doubted(
        PROTOCOL,
        "\"sternum\"",
        "\"chest\"",
        "'chest' is not forehead or sternum",
    );
    undoubted(PROTOCOL, "\"sternum\"", "\"forehead\"");
    doubted(
        PROTOCOL,
        "above_when = \"greater\"",
        "above_when = \"at_least\"",
        "means values greater than the line",
    );
    doubted(
        PROTOCOL,
        "umol_l = 250, source = \"NICE CG98\"",
        "umol_l = 250, source = \" \"",
        "clause value_above has no source",
    );
    doubted(
        PROTOCOL,
        "[\"P59.1\", \"P59.2\"]",
        "[\"P59.1\", \"P70\"]",
        "has P70, which none of the codes covers",
    );
    let risks = "risk_factors = [\"sibling_phototherapy\"]\nrisk_feeding = [\"breast\"]";
    doubted(
        PROTOCOL,
        risks,
        "risk_factors = []\nrisk_feeding = []",
        "near_line asks for a risk",
    );
    let absent = &PROTOCOL[PROTOCOL.find("\nrisk = \"absent\"").unwrap() + 1..];
    let absent = &absent[..absent.find("[[version").unwrap()];
    let row = format!("[[version.recheck.rules]]\nrule = \"near_line\"\ntrigger = \"near_line\"\n{absent}");
    doubted(
        PROTOCOL,
        &row,
        "",
        "near_line has a row for risk present and none for risk absent",
    );
}

#[test]
fn rules_of_the_ready_protocol_that_are_missing() {
    let rebound = &PROTOCOL[PROTOCOL.find("[[version.recheck.rules]]\nrule = \"rebound\"").unwrap()..];
    let rebound = &rebound[..rebound[3..].find("[[version").unwrap() + 3];
    doubted(
        PROTOCOL,
        rebound,
        "",
        "no recheck rule has the trigger course_end; the ready protocol nice_cg98 has rebound",
    );
    let aap = aap_protocol();
    let first = &aap[aap
        .find("[[version.recheck.rules]]\nrule = \"treatment_first\"")
        .unwrap()..];
    let first = &first[..first[3..].find("[[version").unwrap() + 3];
    doubted(&aap, first, "", "the ready protocol aap_2022 has treatment_first");
    // Under another name it is there.
    undoubted(PROTOCOL, "rule = \"rebound\"", "rule = \"after_light\"");
}

#[test]
fn rows_of_a_rule_that_leave_something_out() {
    let aap = aap_protocol();
    let gaps = "discharge_gap: its rows leave out some gaps";
    doubted(&aap, "gap_at_least_mg_dl = 2.0", "gap_at_least_mg_dl = 2.1", gaps);
    doubted(&aap, "gap_at_most_mg_dl = 3.4", "gap_at_most_mg_dl = 3.3", gaps);
    // Without rounding there are gaps between 1.9 and 2.0.
    doubted(&aap, "gap_rounded_to_mg_dl = 0.1\n", "", gaps);
    let found = doubts(&aap, "gap_at_least_mg_dl = 2.0", "gap_at_least_mg_dl = 1.95");
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].contains("its gap of 1.95 mg/dL is no multiple"), "{found:?}");
    // Ages: one row below 24 h and one above it leave out 24 h itself.
    let by_age = PROTOCOL
        .replacen("\nrisk = \"absent\"\n", "\nrisk = \"any\"\n", 1)
        .replacen("risk = \"present\"\n", "risk = \"any\"\n", 1);
    let first = "age_above_h = 24\nlatest_h = 18";
    doubted(
        &by_age,
        first,
        "age_below_h = 24\nlatest_h = 18",
        "near_line: its rows leave out some ages",
    );
    let at_least = by_age.replacen(
        "age_above_h = 24\nlatest_h = 24",
        "age_at_least_h = 24\nlatest_h = 24",
        1,
    );
    undoubted(&at_least, first, "age_below_h = 24\nlatest_h = 18");
}

/// The table with one more row a line, at a week of age, that says that it has become flat.
fn with_plateaus(table: &str) -> String {
    let mut last: BTreeMap<String, String> = BTreeMap::new();
    for line in table.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        last.insert(cells[..3].join(","), cells[4..].join(","));
    }
    let rows = last.iter().map(|(line, values)| format!("{line},168,{values}\n"));
    format!("{}\n{}", table.trim_end(), rows.collect::<String>())
}

/// Doubts about the lines of a table, which only a protocol read with it can have.
fn of_lines(table: &str) -> Vec<String> {
    of_table(&with_plateaus(table))
}

/// The same of a table as it is.
fn of_table(table: &str) -> Vec<String> {
    let warehouse = TestWarehouse::aap();
    warehouse.set_lines(table);
    let protocol = Protocol::read(&warehouse.path().join("protocol.toml"));
    protocol.unwrap_or_else(|error| panic!("{error}")).doubts()
}

fn changed(from: &str, to: &str) -> String {
    assert!(INVENTED_LINES.contains(from), "{from}");
    INVENTED_LINES.replacen(from, to, 1)
}

#[test]
fn lines_that_are_not_what_one_would_expect() {
    assert_eq!(of_lines(INVENTED_LINES), [""; 0]);
    let found = of_lines(&changed("tests,35,absent,120,328,423", "tests,35,absent,120,335,423"));
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(
        found[0].contains("at 35 weeks and 120 h a line for risk absent is above that of 36 weeks"),
        "{found:?}"
    );
    assert_eq!(
        of_lines(&changed("tests,35,absent,120,328,423", "tests,35,absent,120,334,423")),
        [""; 0]
    );
    let risky = changed("tests,40,absent,120,358,453", "tests,40,absent,120,358,999").replacen(
        "tests,40,present,120,328,423",
        "tests,40,present,120,359,423",
        1,
    );
    let found = of_lines(&risky);
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(
        found[0].contains("at 40 weeks and 120 h a line with risk is above that without"),
        "{found:?}"
    );
    let from_36: Vec<&str> = INVENTED_LINES.lines().filter(|line| !line.contains(",35,")).collect();
    let found = of_lines(&from_36.join("\n"));
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(
        found[0].contains("begins at 36 weeks, but screens are judged from 35"),
        "{found:?}"
    );
    let at_birth: Vec<&str> = INVENTED_LINES
        .lines()
        .filter(|l| l.contains(",0,") || l.starts_with("standard"))
        .collect();
    let found = of_table(&at_birth.join("\n"));
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].contains("age 0 only"), "{found:?}");
}

/// Values are judged by the line to 14 days; one that rises to the end of its table must reach
/// that age, or say where it is flat.
#[test]
fn lines_that_rise_up_to_their_last_row() {
    let found = of_table(INVENTED_LINES);
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(
        found[0].contains("lines.csv: the line of 35 weeks, risk absent, still rises up to its last row, at 120 h"),
        "{found:?}"
    );
    let last_at = |age_h: u32| INVENTED_LINES.replace("ent,120,", &format!("ent,{age_h},"));
    assert_eq!(of_table(&last_at(672)), [""; 0]);
    assert_eq!(of_table(&last_at(671)).len(), 1);
    // One line of many is enough, and its exchange line too.
    let one_rises = with_plateaus(INVENTED_LINES).replacen("38,present,168,316,411", "38,present,168,316,412", 1);
    let found = of_table(&one_rises);
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].contains("of 38 weeks, risk present"), "{found:?}");
}

#[test]
fn one_week_of_gestation_for_all() {
    let of_one: Vec<&str> = INVENTED_LINES
        .lines()
        .filter(|line| line.contains(",38,") || line.starts_with("standard"))
        .collect();
    let found = of_lines(&of_one.join("\n").replace(",38,", ",35,"));
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(
        found[0].contains("has the same lines for every week of gestation, from 35 on"),
        "{found:?}"
    );
}
