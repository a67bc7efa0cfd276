//! Whether the line is one that ships, or the site's own with its table.

use crate::protocol::file::{Line, Version};
use crate::protocol::lines;

pub(super) fn check(line: &Line) -> Result<(), String> {
    let standard = &line.standard;
    let Some(table) = &line.table else {
        if !lines::is_built_in(standard) {
            return Err(format!(
                "line standard '{standard}' is not built in; built in: {}; for a line of the site's own name its table of lines, such as table = \"{standard}_lines.csv\"",
                lines::NICE_CG98
            ));
        }
        return match line.risk_factors.is_empty() {
            true => Ok(()),
            false => Err(format!(
                "line.risk_factors: the lines of {standard} are the same with and without risk; leave it out"
            )),
        };
    };
    if lines::is_built_in(standard) {
        return Err(format!(
            "line standard {standard} is built in and takes no table; give the site's own lines another name"
        ));
    }
    if standard.is_empty() || standard.contains([',', '\n', '\r', '"']) || standard.trim() != standard {
        return Err(format!(
            "line standard '{standard}' cannot stand in a table of lines; use letters, digits and _"
        ));
    }
    let is_plain = !table.is_empty() && !table.starts_with('.') && !table.contains(['/', '\\', ':']);
    match is_plain {
        true => Ok(()),
        false => Err(format!(
            "line.table '{table}' is not the name of a file beside protocol.toml"
        )),
    }
}

/// A standard is one table, in whichever version it is named.
pub(super) fn shared(versions: &[Version]) -> Result<(), String> {
    for (i, version) in versions.iter().enumerate() {
        let line = &version.line;
        let mut before = versions[..i].iter();
        let other = before.find(|v| v.line.standard == line.standard && v.line.table != line.table);
        if let Some(other) = other {
            return Err(format!(
                "versions '{}' and '{}' name different tables for the line standard '{}'; give the newer lines a new name",
                other.name, version.name, line.standard
            ));
        }
    }
    Ok(())
}
