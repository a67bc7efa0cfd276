//! What a single key of `protocol.toml` cannot show.

mod limits;
mod line;
mod names;
mod recheck;
mod spans;

use super::ProtocolError;
use super::file::{ProtocolFile, Version};

/// Checks what a single key cannot show.
pub(super) fn check(file: &ProtocolFile) -> Result<(), ProtocolError> {
    whole(file).map_err(ProtocolError::Meaning)?;
    for version in &file.version {
        of_version(version).map_err(|why| ProtocolError::Meaning(format!("version '{}': {why}", version.name)))?;
    }
    line::shared(&file.version).map_err(ProtocolError::Meaning)
}

/// What the file says once, and how its versions follow each other.
fn whole(file: &ProtocolFile) -> Result<(), String> {
    if file.version.is_empty() {
        return Err("it has no [[version]]".into());
    }
    let plausible = &file.plausible;
    let bounds = [plausible.umol_l_at_least, plausible.umol_l_at_most];
    if bounds.iter().any(|bound| !bound.is_finite()) || bounds[0] >= bounds[1] {
        return Err("plausible.umol_l_at_least is not below umol_l_at_most".into());
    }
    if plausible.test_before_birth_min < 0 {
        return Err("plausible.test_before_birth_min cannot be negative".into());
    }
    if file.suppression.hide_below == 0 {
        return Err("suppression.hide_below = 0 is no count; 1 hides nothing".into());
    }
    for (i, version) in file.version.iter().enumerate() {
        if version.name.trim().is_empty() {
            return Err("a version has no name".into());
        }
        if file.version[..i].iter().any(|before| before.name == version.name) {
            return Err(format!("two versions are named '{}'", version.name));
        }
    }
    for pair in file.version.windows(2) {
        if pair[1].in_force_from <= pair[0].in_force_from {
            return Err(format!(
                "version '{}' is in force from {}, not after '{}' before it",
                pair[1].name, pair[1].in_force_from, pair[0].name
            ));
        }
    }
    Ok(())
}

fn of_version(version: &Version) -> Result<(), String> {
    spans::check(version)?;
    names::check(version)?;
    line::check(&version.line)?;
    limits::check(version)?;
    recheck::check(&version.recheck)
}
