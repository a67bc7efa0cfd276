//! Names that become figures, codes, and gestations.

use super::refusal::Refusal;
use crate::protocol::file::Version;
use crate::protocol::units::gestation_days;

/// Figures of severe jaundice that are no bands.
const OTHER_SEVERE: [&str; 3] = ["above_exchange_line", "exchange_transfusion", "kernicterus_code"];

pub(super) fn check(version: &Version) -> Result<(), Refusal> {
    lists(version)?;
    gestations(version)?;
    for rule in &version.recheck.rules {
        figure_name("recheck rule", &rule.rule).map_err(|refusal| refusal.at("rule", format!("\"{}\"", rule.rule)))?;
    }
    let bands = &version.severe.bands;
    for (i, band) in bands.iter().enumerate() {
        figure_name("severe band", &band.name).map_err(|refusal| refusal.at("name", format!("\"{}\"", band.name)))?;
        if bands[..i].iter().any(|before| before.name == band.name) {
            return Err(format!("two severe bands are named {}", band.name).into());
        }
        if OTHER_SEVERE.contains(&band.name.as_str()) {
            let why = format!("severe band {} has the name of another figure", band.name);
            return Err(Refusal::from(why).at("name", format!("\"{}\"", band.name)));
        }
    }
    Ok(())
}

/// Lists without which nothing is counted, and codes that would fit anything.
fn lists(version: &Version) -> Result<(), Refusal> {
    let (readmission, severe) = (&version.readmission, &version.severe);
    for (what, list) in [
        ("readmission codes", &readmission.codes),
        ("severe kernicterus_codes", &severe.kernicterus_codes),
        ("serum total_bilirubin", &version.serum.total_bilirubin),
        ("serum specimens", &version.serum.specimens),
    ] {
        if list.is_empty() {
            return Err(Refusal::from(format!("{what} are empty")).at(what, "[]"));
        }
    }
    let prefixes = [&readmission.codes, &readmission.except_codes, &severe.kernicterus_codes];
    let is_code = |code: &str| code.starts_with(|c: char| c.is_ascii_alphabetic());
    match prefixes.into_iter().flatten().find(|code| !is_code(code)) {
        Some(code) => Err(format!("'{code}' is not the beginning of an ICD-10 code such as P59").into()),
        None => Ok(()),
    }
}

fn gestations(version: &Version) -> Result<(), Refusal> {
    let gestations = [
        version.coverage.as_ref().map(|coverage| &coverage.gestation_at_least),
        Some(&version.referral.gestation_at_least),
        Some(&version.readmission.gestation_at_least),
    ];
    let of_rules = version
        .recheck
        .rules
        .iter()
        .map(|rule| rule.gestation_at_least.as_ref());
    let mut all = gestations.into_iter().chain(of_rules).flatten();
    match all.find(|text| gestation_days(text).is_none()) {
        Some(text) => Err(
            Refusal::from(format!("gestation '{text}' is not weeks+days such as 35+0"))
                .at("gestation_at_least", format!("\"{text}\"")),
        ),
        None => Ok(()),
    }
}

fn figure_name(what: &str, name: &str) -> Result<(), Refusal> {
    let is_word = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
    match !name.is_empty() && name.chars().all(is_word) {
        true => Ok(()),
        false => Err(format!("{what} '{name}': a figure is named after it, so use small letters, digits and _").into()),
    }
}
