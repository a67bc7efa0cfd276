//! What a single key of `protocol.toml` cannot show.

mod limits;
mod line;
mod names;
mod recheck;
mod refusal;
mod spans;

pub(super) use refusal::Refusal;

use super::error::ProtocolError;
use super::file::{ProtocolFile, Version};

/// Checks what a single key cannot show; `text` is what the file was read from.
pub(super) fn check(file: &ProtocolFile, text: &str) -> Result<(), ProtocolError> {
    whole(file).map_err(|refusal| refusal.in_text(text, None))?;
    for (i, version) in file.version.iter().enumerate() {
        let whose = format!("version '{}'", version.name);
        of_version(version).map_err(|refusal| refusal.of(&whose).in_text(text, Some(i)))?;
    }
    line::shared(&file.version).map_err(|why| Refusal::from(why).in_text(text, None))
}

/// What the file says once, and how its versions follow each other.
fn whole(file: &ProtocolFile) -> Result<(), Refusal> {
    if file.version.is_empty() {
        return Err("it has no [[version]]".into());
    }
    if file.network.trim().is_empty() {
        return Err(Refusal::from("network is empty, but pages are headed by its name")
            .at("network", "\"")
            .remedy("give the network's name, such as network = \"Maternity of Harbour\""));
    }
    let plausible = &file.plausible;
    let bounds = [plausible.umol_l_at_least, plausible.umol_l_at_most];
    if bounds.iter().any(|bound| !bound.is_finite()) || bounds[0] >= bounds[1] {
        return Err(
            Refusal::from("plausible.umol_l_at_least is not below umol_l_at_most").at("umol_l_at_most", bounds[1])
        );
    }
    let before_min = plausible.test_before_birth_min;
    if before_min < 0 {
        return Err(
            Refusal::from("plausible.test_before_birth_min cannot be negative").at("test_before_birth_min", before_min)
        );
    }
    if file.suppression.hide_below == 0 {
        return Err(Refusal::from("suppression.hide_below = 0 is no count; 1 hides nothing").at("hide_below", 0));
    }
    for (i, version) in file.version.iter().enumerate() {
        let at = |why: String| Refusal::from(why).at_row("[[version]]", i);
        if version.name.trim().is_empty() {
            return Err(at("a version has no name".to_owned()));
        }
        if file.version[..i].iter().any(|before| before.name == version.name) {
            return Err(at(format!("two versions are named '{}'", version.name)));
        }
    }
    for (i, pair) in file.version.windows(2).enumerate() {
        if pair[1].in_force_from <= pair[0].in_force_from {
            let why = format!(
                "version '{}' is in force from {}, not after '{}' before it",
                pair[1].name, pair[1].in_force_from, pair[0].name
            );
            return Err(Refusal::from(why).at_row("[[version]]", i + 1));
        }
    }
    Ok(())
}

fn of_version(version: &Version) -> Result<(), Refusal> {
    spans::check(version)?;
    names::check(version)?;
    line::check(&version.line).map_err(|why| Refusal::from(why).at_row("[version.line]", 0))?;
    limits::check(version)?;
    recheck::check(&version.recheck)
}
