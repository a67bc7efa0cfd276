//! Protocols to start from. Their clinical numbers are for the site's clinicians to decide.

/// In the manner of NICE CG98, with universal screening.
pub const NICE_CG98: &str = include_str!("nice_cg98.toml");
/// In the manner of the AAP 2022 rules: works by the site's own table of lines.
pub const AAP_2022: &str = include_str!("aap_2022.toml");

/// Every ready protocol by its name.
pub const ALL: [(&str, &str); 2] = [("nice_cg98", NICE_CG98), ("aap_2022", AAP_2022)];

/// The text of a ready protocol.
pub fn text(name: &str) -> Option<&'static str> {
    let found = ALL.into_iter().find(|(ready, _)| *ready == name);
    found.map(|(_, text)| text)
}
