//! Unknown and missing keys and words: refused by their line, with what to do.

use siskin::protocol::{Protocol, ready};

use crate::harness::PROTOCOL;

fn refusal(text: &str, from: &str, to: &str) -> String {
    assert!(text.contains(from), "{from}");
    let changed = text.replacen(from, to, 1);
    Protocol::parse(&changed).unwrap_err().to_string()
}

fn line_of(text: &str, line: &str) -> usize {
    text.lines().position(|l| l == line).unwrap() + 1
}

#[test]
fn an_unknown_key_is_refused_with_its_line_and_the_key_that_was_meant() {
    let text = refusal(PROTOCOL, "age_above_h = 24\nnot_after", "age_over_h = 24\nnot_after");
    let line = line_of(PROTOCOL, "age_above_h = 24");
    assert!(
        text.starts_with(&format!(
            "the protocol is not valid, line {line}: the key 'age_over_h' is not known here\n    age_over_h = 24\n  to do: did you mean 'age_above_h'? known here: gestation_at_least, age_above_h, "
        )),
        "{text}"
    );
    for (from, to, meant) in [
        ("[version.severe]", "[version.sever]", "severe"),
        ("[plausible]", "[plausibel]", "plausible"),
        (
            "{ when = \"value_above\", umol_l",
            "{ when = \"value_above\", umoll",
            "umol_l",
        ),
        ("excused_within_h = 4", "excused_witin_h = 4", "excused_within_h"),
        ("from_age_h = 24", "form_age_h = 24", "from_age_h"),
    ] {
        let text = refusal(PROTOCOL, from, to);
        assert!(text.contains(&format!("did you mean '{meant}'?")), "{to}: {text}");
    }
}

#[test]
fn a_key_that_looks_like_none_is_refused_without_a_guess() {
    let text = refusal(PROTOCOL, "[plausible]", "[plausible]\ncolour = 3");
    assert!(text.contains("the key 'colour' is not known here"), "{text}");
    assert!(text.contains("to do: known here: umol_l_at_least, "), "{text}");
    assert!(!text.contains("did you mean"), "{text}");
}

#[test]
fn an_unknown_word_is_refused_with_its_line_and_the_word_that_was_meant() {
    for (from, to, meant) in [
        ("trigger = \"course_end\"", "trigger = \"cours_end\"", "course_end"),
        ("when = \"above_range\"", "when = \"above_rang\"", "above_range"),
        (
            "accepts = \"serum_or_screen\"",
            "accepts = \"serum_or_scren\"",
            "serum_or_screen",
        ),
        (
            "excused_when = \"course_ends_by\"",
            "excused_when = \"course_end_by\"",
            "course_ends_by",
        ),
        ("risk = \"present\"", "risk = \"presnt\"", "present"),
        ("above_when = \"greater\"", "above_when = \"grater\"", "greater"),
        (
            "when = \"at_least\", umol_l = 510",
            "when = \"at_leest\", umol_l = 510",
            "at_least",
        ),
    ] {
        let text = refusal(PROTOCOL, from, to);
        let before = &PROTOCOL[..PROTOCOL.find(from).unwrap()];
        let line = before.matches('\n').count() + 1;
        assert!(text.contains(&format!("line {line}: the word '")), "{to}: {text}");
        assert!(text.contains("is not known here"), "{to}: {text}");
        assert!(
            text.contains(&format!("to do: did you mean '{meant}'?")),
            "{to}: {text}"
        );
    }
}

/// The text without a section, from its header to the next header.
fn without_section(text: &str, header: &str) -> String {
    let start = text.find(&format!("\n{header}\n")).unwrap() + 1;
    let rest = &text[start + header.len()..];
    let end = rest
        .find("\n[")
        .map_or(text.len(), |next| start + header.len() + next + 1);
    format!("{}{}", &text[..start], &text[end..])
}

#[test]
fn a_missing_section_is_refused_and_says_which_one_of_the_ready_protocol_to_copy() {
    for section in [
        "line",
        "serum",
        "stays",
        "meter",
        "referral",
        "time_to_serum",
        "treatment",
        "recheck",
        "readmission",
        "severe",
        "near_exchange",
    ] {
        let header = format!("[version.{section}]");
        let text = Protocol::parse(&without_section(PROTOCOL, &header))
            .unwrap_err()
            .to_string();
        assert!(text.contains(&format!("the section {header} is missing")), "{text}");
        assert!(text.contains(&format!("copy its section {header}")), "{text}");
        assert!(text.contains("siskin describe --protocol nice_cg98"), "{text}");
        assert!(ready::NICE_CG98.contains(&format!("\n{header}\n")), "{header}");
    }
    let text = Protocol::parse(&without_section(PROTOCOL, "[plausible]"))
        .unwrap_err()
        .to_string();
    assert!(text.contains("copy its section [plausible]"), "{text}");
    let text = Protocol::parse("network = \"n\"\nzone = \"UTC\"\n[plausible]\numol_l_at_least = 0\numol_l_at_most = 855\ntest_before_birth_min = 15\n")
        .unwrap_err()
        .to_string();
    assert!(text.contains("copy its section [[version]]"), "{text}");
}

#[test]
fn only_coverage_rise_targets_suppression_and_audiences_may_be_left_out() {
    let text = without_section(&without_section(PROTOCOL, "[version.coverage]"), "[version.rise]");
    let protocol = Protocol::parse(&text).unwrap();
    assert!(protocol.newest().coverage.is_none());
    assert!(protocol.newest().rise.is_none());
    assert!(protocol.newest().targets.is_empty());
    assert_eq!(protocol.suppression().hide_below, 5);
    assert_eq!(protocol.audiences().committee, None);
}

#[test]
fn a_missing_key_is_refused_and_says_to_which_section_it_belongs() {
    for (key, section) in [
        ("above_when = \"greater\"\n", "version.line"),
        ("in_force_from = \"2026-01-01\"\n", "version"),
        ("paired_within_min = 60\n", "version.meter"),
        ("below_line_within_h = 12\n", "version.treatment"),
        ("late_until_h = 24\n", "version.recheck"),
        ("latest_h = 18\naccepts", "version.recheck.rules"),
        ("kernicterus_codes = [\"P57\"]\n", "version.severe"),
    ] {
        let text = refusal(PROTOCOL, key, if key.ends_with('\n') { "" } else { "accepts" });
        let name = key.split(' ').next().unwrap();
        assert!(text.contains(&format!("the key {name} is missing")), "{text}");
        assert!(
            text.contains(&format!("add {name} to the section [{section}]")),
            "{text}"
        );
    }
    let text = refusal(PROTOCOL, "zone = \"Europe/London\"\n", "");
    assert!(text.contains("add zone at the top of the file"), "{text}");
}

/// The line as it stands, what is wanted there, and how to write it; nothing of the parser's own.
#[test]
fn a_value_of_another_kind_is_refused_in_plain_words() {
    for (from, to, wanted, to_do) in [
        (
            "late_until_h = 24",
            "late_until_h = \"36\"",
            "a number is wanted here, not the text \"36\"",
            "write it without quotes, such as 36",
        ),
        (
            "late_until_h = 24",
            "late_until_h = \"a day\"",
            "a number is wanted here, not the text \"a day\"",
            "write it without quotes, such as 24",
        ),
        (
            "readings_at_least = 2",
            "readings_at_least = 2.5",
            "a whole number of 0 or more is wanted here, not 2.5",
            "write it without quotes and decimals",
        ),
        (
            "readings_at_least = 2",
            "readings_at_least = -1",
            "a whole number of 0 or more is wanted here, not -1",
            "write it without quotes and decimals",
        ),
        (
            "network = \"Fieldfare network (invented)\"",
            "network = 5",
            "a text is wanted here, not 5",
            "put it in quotes",
        ),
        (
            "[7, 14, 28]",
            "7",
            "a list is wanted here, not 7",
            "write it in brackets",
        ),
        (
            "[[version]]",
            "[version]",
            "a row is wanted here, not a section",
            "[[version]]",
        ),
        (
            "[plausible]",
            "plausible = 3\n[records]",
            "a section is wanted here, not 3",
            "write its header, [plausible]",
        ),
        (
            "accepts = \"serum\"",
            "accepts = true",
            "a word is wanted here",
            "write one word in quotes",
        ),
        (
            "\"2026-01-01\"",
            "2026-01-01",
            "this is no day",
            "in_force_from = \"2026-01-01\"",
        ),
        (
            "\"2026-01-01\"",
            "\"01.01.2026\"",
            "this is no day",
            "year-month-day in quotes",
        ),
        (
            "\"2026-01-01\"",
            "\"2026-13-01\"",
            "this is no day",
            "year-month-day in quotes",
        ),
        (
            "late_until_h = 24",
            "late_until_h = 24 h",
            "this line cannot be read",
            "without quotes or a unit",
        ),
        (
            "late_until_h = 24",
            "late_until_h = 24,5",
            "this line cannot be read",
            "a number with a point",
        ),
        (
            "late_until_h = 24",
            "late_until_h 24",
            "this line cannot be read",
            "write key = value",
        ),
        (
            "\"nice_cg98\"",
            "nice_cg98",
            "this line cannot be read",
            "a text in quotes",
        ),
        (
            "late_until_h = 24",
            "late_until_h = 24\nlate_until_h = 36",
            "this stands twice",
            "keep one of the two",
        ),
    ] {
        let said = refusal(PROTOCOL, from, to);
        let place = PROTOCOL.find(from).unwrap();
        let first = PROTOCOL[..place].matches('\n').count() + 1;
        let is_second = to.contains("\nlate");
        let line = PROTOCOL.replacen(from, to, 1);
        let line = line.lines().nth(first - 1 + usize::from(is_second)).unwrap().trim();
        let number = first + usize::from(is_second);
        let beginning = format!("the protocol is not valid, line {number}: {wanted}\n    {line}\n  to do: ");
        assert!(said.starts_with(&beginning), "{said}");
        assert!(said.contains(to_do), "{to_do}: {said}");
        for raw in [
            "f64", "u32", "i64", "expected", "TOML", "invalid", "struct", "`2", "parse",
        ] {
            assert!(!said.contains(raw), "{raw}: {said}");
        }
    }
}

#[test]
fn a_row_that_lacks_a_key_is_shown() {
    let said = refusal(PROTOCOL, "umol_l = 250, source = \"NICE CG98\"", "umol_l = 250");
    let line = line_of(
        PROTOCOL,
        "    { when = \"value_above\", umol_l = 250, source = \"NICE CG98\" },",
    );
    assert!(
        said.contains(&format!("line {line}: the key source is missing")),
        "{said}"
    );
    assert!(said.contains("add source to this row"), "{said}");
}
