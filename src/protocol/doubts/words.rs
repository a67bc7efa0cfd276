//! Words that no row of the extracts has, rules without a source, and a risk that nobody has.

use crate::nearest::nearest;
use crate::protocol::file::{AboveWhen, Risk, Version};
use crate::protocol::lines;

/// Risk factors of the birth register.
const RISK_FACTORS: [&str; 8] = [
    "sibling_phototherapy",
    "isoimmune_haemolysis",
    "g6pd",
    "other_haemolysis",
    "dat_positive",
    "sepsis",
    "instability",
    "low_albumin",
];
/// Feeding words of the birth register.
const FEEDING: [&str; 3] = ["breast", "mixed", "formula"];
/// Body sites of the screens.
const BODY_SITES: [&str; 2] = ["forehead", "sternum"];

pub(super) fn doubts(version: &Version, found: &mut Vec<String>) {
    sources(version, found);
    misspelt("line.risk_factors", &version.line.risk_factors, &RISK_FACTORS, found);
    misspelt(
        "recheck.risk_factors",
        &version.recheck.risk_factors,
        &RISK_FACTORS,
        found,
    );
    misspelt("recheck.risk_feeding", &version.recheck.risk_feeding, &FEEDING, found);
    let site = version.meter.outpatient_body_site.as_str();
    if !BODY_SITES.contains(&site) {
        found.push(format!(
            "meter.outpatient_body_site '{site}' is not {}: every outpatient screen with a body site is flagged",
            BODY_SITES.join(" or ")
        ));
    }
    if lines::is_built_in(&version.line.standard) && version.line.above_when == AboveWhen::AtLeast {
        found.push(format!(
            "line.above_when = \"at_least\", but {} means values greater than the line",
            version.line.standard
        ));
    }
    codes(version, found);
    risks(version, found);
}

/// Other words than those of the contract are the site's own, unless they look like one of it.
fn misspelt(what: &str, words: &[String], known: &[&str], found: &mut Vec<String>) {
    for word in words.iter().filter(|word| !known.contains(&word.as_str())) {
        if let Some(near) = nearest(word, known.iter().copied()) {
            found.push(format!("{what} has '{word}': was '{near}' meant?"));
        }
    }
}

fn sources(version: &Version, found: &mut Vec<String>) {
    let of_sections = [
        ("line", &version.line.source),
        ("serum", &version.serum.source),
        ("stays", &version.stays.source),
        ("meter", &version.meter.source),
        ("referral", &version.referral.source),
        ("time_to_serum", &version.time_to_serum.source),
        ("treatment", &version.treatment.source),
        ("recheck", &version.recheck.source),
        ("readmission", &version.readmission.source),
        ("severe", &version.severe.source),
    ];
    let mut sources = of_sections.map(|(what, source)| (what.to_owned(), source)).to_vec();
    sources.extend(version.coverage.iter().map(|c| ("coverage".to_owned(), &c.source)));
    sources.extend(version.rise.iter().map(|r| ("rise".to_owned(), &r.source)));
    let clauses = version.referral.clauses.iter();
    sources.extend(clauses.map(|c| (format!("clause {}", c.when.word()), &c.source)));
    let windows = version.referral.windows.iter();
    sources.extend(windows.map(|w| (format!("the referral window from {} h of age", w.age_from_h), &w.source)));
    let rules = version.recheck.rules.iter();
    sources.extend(rules.map(|r| (format!("recheck rule {}", r.rule), &r.source)));
    let bands = version.severe.bands.iter();
    sources.extend(bands.map(|b| (format!("severe band {}", b.name), &b.source)));
    sources.extend(
        version
            .targets
            .iter()
            .map(|t| (format!("target for {}", t.figure), &t.source)),
    );
    for (what, _) in sources.into_iter().filter(|(_, source)| source.trim().is_empty()) {
        found.push(format!(
            "{what} has no source: say where it comes from, or \"common practice\""
        ));
    }
}

fn codes(version: &Version, found: &mut Vec<String>) {
    let plain = |code: &str| code.to_uppercase().replace('.', "");
    let readmission = &version.readmission;
    for except in &readmission.except_codes {
        if !readmission
            .codes
            .iter()
            .any(|code| plain(except).starts_with(&plain(code)))
        {
            found.push(format!(
                "readmission.except_codes has {except}, which none of the codes covers"
            ));
        }
    }
}

/// A rule that asks for a risk needs a risk, and another row for those without.
fn risks(version: &Version, found: &mut Vec<String>) {
    let recheck = &version.recheck;
    let mut seen: Vec<&str> = Vec::new();
    for rule in &recheck.rules {
        if seen.contains(&rule.rule.as_str()) {
            continue;
        }
        seen.push(&rule.rule);
        let rows = || recheck.rules.iter().filter(|other| other.rule == rule.rule);
        let has = |risk: Risk| rows().any(|row| row.risk == risk);
        if has(Risk::Present) && recheck.risk_factors.is_empty() && recheck.risk_feeding.is_empty() {
            found.push(format!(
                "recheck rule {} asks for a risk, but recheck.risk_factors and risk_feeding are empty",
                rule.rule
            ));
        }
        if has(Risk::Present) != has(Risk::Absent) && !has(Risk::Any) {
            let (there, lacking) = if has(Risk::Present) {
                ("present", "absent")
            } else {
                ("absent", "present")
            };
            found.push(format!(
                "recheck rule {} has a row for risk {there} and none for risk {lacking}",
                rule.rule
            ));
        }
    }
}
