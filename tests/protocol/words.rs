//! The protocol in plain words: both ready ones as kept texts, and what they do not show.

use siskin::protocol::{AboveWhen, Accepts, BandWhen, ClauseKind, Excuse, Protocol, Risk, Trigger, lines, ready};

use crate::harness::{PROTOCOL, TestWarehouse, aap_protocol};

/// As `siskin check` prints it.
fn words(text: &str) -> String {
    let protocol = Protocol::parse(text).unwrap();
    let chapters: Vec<String> = protocol.in_words().iter().map(|chapter| chapter.to_text(100)).collect();
    chapters.join("\n")
}

#[track_caller]
fn same(found: &str, kept: &str) {
    for (number, (found, kept)) in (1..).zip(found.lines().zip(kept.lines())) {
        assert_eq!(found, kept, "line {number}");
    }
    assert_eq!(found.lines().count(), kept.lines().count());
}

#[test]
fn the_ready_protocols_in_plain_words() {
    same(&words(ready::NICE_CG98), include_str!("../protocols/nice_cg98.txt"));
    same(&words(ready::AAP_2022), include_str!("../protocols/aap_2022.txt"));
}

/// One sentence, unwrapped, that begins so.
fn sentence(text: &str, from: &str, to: &str, beginning: &str) -> String {
    assert!(text.contains(from), "{from}");
    let protocol = Protocol::parse(&text.replacen(from, to, 1)).unwrap();
    let chapters = protocol.in_words();
    let mut all = chapters.iter().flat_map(|chapter| &chapter.sentences);
    all.find(|sentence| sentence.starts_with(beginning)).unwrap().clone()
}

#[test]
fn what_the_ready_ones_do_not_say() {
    let coverage = &PROTOCOL[PROTOCOL.find("[version.coverage]").unwrap()..PROTOCOL.find("[version.meter]").unwrap()];
    assert_eq!(
        sentence(PROTOCOL, coverage, "", "Coverage:"),
        "Coverage: only visible jaundice is tested, so screening coverage is not measured."
    );
    assert_eq!(
        sentence(PROTOCOL, "tolerance_min = 0", "tolerance_min = 1", "Recheck: a window"),
        "Recheck: a window is widened by 1 minute at both ends; source: local definition."
    );
    let records = "[records]\nstop_percent = 80\nlate_days = 20\n\n[plausible]";
    assert_eq!(
        sentence(PROTOCOL, "[plausible]", records, "For the checks"),
        "For the checks of the records these limits take the place of those that ship: late_days = 20 and stop_percent = 80."
    );
    let hidden = |below: u32| {
        let text = format!("[suppression]\nhide_below = {below}\n\n[plausible]");
        sentence(PROTOCOL, "[plausible]", &text, "On the committee's page")
    };
    assert_eq!(hidden(1), "On the committee's page no count is hidden.");
    assert_eq!(
        hidden(2),
        "On the committee's page a count of 1 is hidden; source: local definition."
    );
    assert_eq!(
        hidden(11),
        "On the committee's page counts from 1 to 10 are hidden; source: local definition."
    );
    let audience = "[audiences]\ncommittee = [\"missed_referral\", \"severe_jaundice\"]\n\n[plausible]";
    assert_eq!(
        sentence(PROTOCOL, "[plausible]", audience, "The committee's page"),
        "The committee's page shows these measures: missed_referral and severe_jaundice."
    );
    let target = |bound: &str| {
        let text = format!(
            "[[version.targets]]\nfigure = \"missed_referral\"\n{bound}\nsource = \"local\"\n\n[version.severe]"
        );
        sentence(PROTOCOL, "[version.severe]", &text, "Target:")
    };
    assert_eq!(
        target("at_most_percent = 2.5"),
        "Target: missed_referral is to be at most 2.5 percent; source: local."
    );
    assert_eq!(
        target("at_least_percent = 90"),
        "Target: missed_referral is to be at least 90 percent; source: local."
    );
    let aap = aap_protocol();
    assert_eq!(
        sentence(
            &aap,
            "gap_at_most_mg_dl = 1.9",
            "gap_at_most_umol_l = 30",
            "Recheck discharge_gap:"
        ),
        "Recheck discharge_gap: after the last test before a baby without phototherapy goes home from the birth stay, 0.1 mg/dL to 30 umol/L below the line, at 12 hours of age or more, a serum is due within 24 hours, without excuse; source: AAP 2022 (from memory)."
    );
    assert_eq!(
        sentence(PROTOCOL, "umol_l = 250", "mg_dl = 15", "Referral: a screen calls"),
        "Referral: a screen calls for a serum when its value is above 15 mg/dL; source: NICE CG98."
    );
    assert_eq!(
        sentence(
            PROTOCOL,
            "{ age_below_h = 24, within_h = 2,",
            "{ age_below_h = 24, within_h = 1,",
            "Referral: after such a screen of a baby under"
        ),
        "Referral: after such a screen of a baby under 24 hours old the serum is in time within 1 hour (this never applies: no screen so early can call for a serum); source: NICE CG98, counted from the index screen: local definition."
    );
}

#[test]
fn each_version_says_from_when_until_when() {
    let version = &PROTOCOL[PROTOCOL.find("[[version]]").unwrap()..];
    let later = |name: &str, day: &str| {
        version
            .replacen("NICE CG98 manner, 2026", name, 1)
            .replacen("2026-01-01", day, 1)
    };
    let text = format!(
        "{PROTOCOL}\n{}\n{}",
        later("second", "2026-03-01"),
        later("third", "2026-03-02")
    );
    let titles: Vec<String> = Protocol::parse(&text)
        .unwrap()
        .in_words()
        .into_iter()
        .map(|c| c.title)
        .collect();
    assert_eq!(
        titles,
        [
            "Protocol of Fieldfare network (invented)",
            "NICE CG98 manner, 2026, in force from 2026-01-01 until the end of 2026-02-28; it also judges what happened before",
            "second, in force from 2026-03-01 until the end of 2026-03-01",
            "third, in force from 2026-03-02",
        ]
    );
}

/// Where the age limit lets such a screen in, the window for it applies.
#[test]
fn a_window_that_can_apply_is_not_said_never_to() {
    for (limit, is_never) in [("24", true), ("30", true), ("23.5", false), ("0", false)] {
        let said = sentence(
            PROTOCOL,
            "age_above_h = 24\nnot_after",
            &format!("age_above_h = {limit}\nnot_after"),
            "Referral: after such a screen of a baby under 24 hours old",
        );
        assert_eq!(said.contains("this never applies"), is_never, "{limit}: {said}");
    }
}

#[test]
fn a_section_may_say_where_it_comes_from() {
    let said = |to: &str, beginning: &str| sentence(PROTOCOL, "accept_after_h = 1\n", to, beginning);
    assert!(said("accept_after_h = 1\n", "Recheck: a test less").ends_with("; source: local definition."));
    let ours = "accept_after_h = 1\nsource = \"our rules\"\n";
    assert!(said(ours, "Recheck: a test less").ends_with("; source: our rules."));
}

/// Each sentence that has a number or a code says where it comes from.
#[test]
fn every_rule_has_a_source() {
    for text in [ready::NICE_CG98, ready::AAP_2022] {
        for chapter in Protocol::parse(text).unwrap().in_words() {
            for sentence in chapter.sentences {
                let is_rule = sentence.contains(|c: char| c.is_ascii_digit()) && !sentence.starts_with("Line: below");
                assert!(!is_rule || sentence.contains("; source: "), "{sentence}");
            }
        }
    }
}

/// Against the published table: 38 weeks or more at 24 h 200 / 300, at 96 h and after 350 / 450;
/// and the formula for 35 weeks, from 40 / 80 at birth to 250 / 350 at 72 h.
#[test]
fn the_line_is_shown_at_some_ages() {
    let chapters = Protocol::parse(PROTOCOL).unwrap().in_words();
    let table = &chapters[1].table;
    let row = |whose: &str| -> Vec<String> {
        let row = table.iter().find(|row| row.starts_with(whose)).unwrap();
        let cells = row[25..].split("  ").map(str::trim).filter(|cell| !cell.is_empty());
        cells.map(str::to_owned).collect()
    };
    assert_eq!(row("   "), ["0 h", "24 h", "48 h", "72 h", "96 h", "168 h"]);
    assert_eq!(
        row("38 weeks or more "),
        [
            "100 / 100",
            "200 / 300",
            "250 / 450",
            "300 / 450",
            "350 / 450",
            "350 / 450"
        ]
    );
    assert_eq!(
        row("35 weeks "),
        [
            "40 / 80",
            "110 / 170",
            "180 / 260",
            "250 / 350",
            "250 / 350",
            "250 / 350"
        ]
    );
    assert_eq!(table.len(), 2 + 16);
    let aap = TestWarehouse::aap();
    let protocol = Protocol::read(&aap.path().join("protocol.toml")).unwrap();
    let table = &protocol.in_words()[1].table;
    assert!(
        table
            .iter()
            .any(|row| row.starts_with("35 weeks, no risk ") && row.contains("166 / 261"))
    );
    assert!(
        table.iter().any(|row| row.starts_with("40 weeks or more, risk ")),
        "{table:?}"
    );
    assert!(table.iter().all(|row| row.len() <= 96), "{table:?}");
}

/// The closed words that the README lists are those that the parser knows.
#[test]
fn the_readme_lists_every_closed_word() {
    let readme = include_str!("../../README.md");
    let listed = &readme[readme.find("**Words.**").unwrap()..readme.find("**Versions.**").unwrap()];
    let all = [
        AboveWhen::WORDS,
        ClauseKind::WORDS,
        BandWhen::WORDS,
        Trigger::WORDS,
        Risk::WORDS,
        Accepts::WORDS,
        Excuse::WORDS,
        &[lines::NICE_CG98],
    ];
    for word in all.into_iter().flatten() {
        assert!(listed.contains(&format!("`{word}`")), "{word}");
    }
}
