//! What to do about a text that is no protocol.

use toml::de::Error;

use super::ready;
use crate::nearest;

/// What to do about a wrong or missing key or word, where that can be told.
pub(super) fn remedy(text: &str, error: &Error) -> Option<String> {
    if let Some(near) = nearest::meant_in(error.message()) {
        return Some(format!("did you mean '{near}'?"));
    }
    let rest = error.message().strip_prefix("missing field `")?;
    let (field, _) = rest.split_once('`')?;
    let header = section_at(text, error.span()?.start);
    Some(missing(field, header))
}

/// The header of the section that a place of the text lies in, without its brackets.
fn section_at(text: &str, place: usize) -> Option<&str> {
    let end = text
        .get(place..)?
        .find('\n')
        .map_or(text.len(), |length| place + length);
    let header = text
        .get(..end)?
        .lines()
        .rev()
        .map(str::trim)
        .find(|line| line.starts_with('['))?;
    Some(header.split(']').next()?.trim_start_matches('['))
}

fn missing(field: &str, section: Option<&str>) -> String {
    let has = |header: &str| ready::NICE_CG98.lines().find(|line| *line == header);
    let inside = section.map_or_else(String::new, |section| format!("{section}."));
    let headers = [
        format!("[{field}]"),
        format!("[[{field}]]"),
        format!("[{inside}{field}]"),
        format!("[[{inside}{field}]]"),
    ];
    let print = "`siskin describe --protocol nice_cg98` prints a ready protocol";
    if let Some(header) = headers.iter().find_map(|header| has(header)) {
        return format!("{print}: copy its section {header}, and let your clinicians decide its numbers");
    }
    match section {
        Some(section) => format!("add {field} to the section [{section}]; {print} that shows it"),
        None => format!("add {field} at the top of the file; {print} that shows it"),
    }
}
