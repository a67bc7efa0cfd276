//! A text that is no protocol, in plain words: its line, what is wrong there, and what to do.

use toml::de::Error;

use super::error::ProtocolError;
use super::ready;
use crate::nearest;

/// Where to see how it is written.
const PRINT: &str = "`siskin describe --protocol nice_cg98` prints a ready protocol";

/// How any line is written.
const WRITE: &str = "write key = value, a number with a point and without quotes or a unit (24, 0.5), a text in quotes, \
     a list in [ ], and see that quotes and brackets are closed";

/// Why the text is refused.
pub(super) fn refusal(text: &str, error: &Error) -> ProtocolError {
    let span = error.span().unwrap_or_default();
    let before = text.get(..span.start).unwrap_or(text);
    let line = before.matches('\n').count();
    let of_line = text.lines().nth(line).unwrap_or_default().trim();
    let message = error.message();
    let is_missing = message.starts_with("missing field");
    let (what, to_do) = unknown(message)
        .or_else(|| missing(text, before, text.get(span)?, message))
        .or_else(|| wrong_kind(of_line, message))
        .unwrap_or_else(|| grammar(message));
    let shown = match is_missing || of_line.is_empty() {
        true => String::new(),
        false => format!("\n    {of_line}"),
    };
    ProtocolError::Syntax {
        line: line + 1,
        what: format!("{what}{shown}"),
        to_do,
    }
}

/// A key or word that is not one of those that may stand there.
fn unknown(message: &str) -> Option<(String, String)> {
    let (kind, rest) = [("key", "unknown field `"), ("word", "unknown variant `")]
        .into_iter()
        .find_map(|(kind, start)| Some((kind, message.strip_prefix(start)?)))?;
    let (found, rest) = rest.split_once('`')?;
    let known: Vec<&str> = rest.split('`').skip(1).step_by(2).collect();
    let meant = nearest::meant_in(message).map_or_else(String::new, |near| format!("did you mean '{near}'? "));
    Some((
        format!("the {kind} '{found}' is not known here"),
        format!("{meant}known here: {}", known.join(", ")),
    ))
}

/// A key or section that must be there; `before` is the text up to the place, `place` what stands there.
fn missing(text: &str, before: &str, place: &str, message: &str) -> Option<(String, String)> {
    let (field, _) = message.strip_prefix("missing field `")?.split_once('`')?;
    let own_line = text.get(before.len()..)?.lines().next().unwrap_or_default();
    let upto = text.get(..before.len() + own_line.len())?;
    let section = upto
        .lines()
        .rev()
        .find_map(|line| name_of(line.trim()))
        .unwrap_or_default();
    let inside = if section.is_empty() {
        String::new()
    } else {
        format!("{section}.")
    };
    let has = |header: &str| ready::NICE_CG98.lines().any(|line| line == header);
    let own = [format!("[{inside}{field}]"), format!("[[{inside}{field}]]")];
    // Of the section that holds the key there may be no more than the rows below it.
    let holder = holder(field).filter(|(holder, _)| section.starts_with(&format!("{holder}.")));
    let header = own
        .into_iter()
        .find(|header| has(header))
        .or(holder.map(|(_, header)| header));
    if let Some(header) = header {
        return Some((
            format!("the section {header} is missing"),
            format!("{PRINT}: copy its section {header}, and let your clinicians decide its numbers"),
        ));
    }
    let to_do = match section {
        _ if place.starts_with('{') => format!("add {field} to this row; {PRINT} that shows it"),
        "" => format!("add {field} at the top of the file; {PRINT} that shows it"),
        section => format!("add {field} to the section [{section}]; {PRINT} that shows it"),
    };
    Some((format!("the key {field} is missing"), to_do))
}

/// The name in a header: `version.line` of `[version.line]`.
fn name_of(line: &str) -> Option<&str> {
    line.strip_prefix('[')?
        .split(']')
        .next()
        .map(|name| name.trim_start_matches('['))
}

/// The section of the ready protocol that holds a key: its name, and its header.
fn holder(key: &str) -> Option<(&'static str, String)> {
    let mut header = "";
    for line in ready::NICE_CG98.lines() {
        if line.starts_with('[') {
            header = line;
        }
        if line.split(" =").next() == Some(key) {
            return Some((name_of(header)?, header.to_owned()));
        }
    }
    None
}

/// A value of another kind than the key wants.
fn wrong_kind(line: &str, message: &str) -> Option<(String, String)> {
    let key = line.split('=').next().unwrap_or_default().trim();
    if key == "in_force_from" || message.contains("expected a date") {
        return Some((
            "this is no day".to_owned(),
            "write the day as year-month-day in quotes, such as in_force_from = \"2026-01-01\"".to_owned(),
        ));
    }
    if message == "wanted string or table" {
        let to_do = format!("write one word in quotes; {PRINT} that shows which");
        return Some(("a word is wanted here".to_owned(), to_do));
    }
    let rest = ["invalid type: ", "invalid value: "]
        .into_iter()
        .find_map(|start| message.strip_prefix(start))?;
    let (found, wanted) = rest.split_once(", expected ")?;
    let number = found
        .strip_prefix("string \"")
        .and_then(|text| text.strip_suffix('"'))
        .filter(|text| text.parse::<f64>().is_ok())
        .unwrap_or("24");
    let (wanted, to_do) = match wanted {
        "f64" => ("a number", format!("write it without quotes, such as {number}")),
        "u32" => (
            "a whole number of 0 or more",
            format!("write it without quotes and decimals, such as {number}"),
        ),
        "i64" => (
            "a whole number",
            format!("write it without quotes and decimals, such as {number}"),
        ),
        "a string" => ("a text", "put it in quotes".to_owned()),
        "a sequence" if found == "map" => (
            "a row",
            "write the header in double brackets, such as [[version]]".to_owned(),
        ),
        "a sequence" => ("a list", "write it in brackets, such as [7, 14, 28]".to_owned()),
        _ => (
            "a section",
            format!("write its header, [{key}], and its keys below it; {PRINT} that shows it"),
        ),
    };
    Some((format!("{wanted} is wanted here, not {}", in_plain_words(found)), to_do))
}

/// What was found, as the parser names it, in plain words.
fn in_plain_words(found: &str) -> String {
    let plain = found.replace('`', "");
    for (kind, word) in [
        ("string ", "the text "),
        ("integer ", ""),
        ("floating point ", ""),
        ("boolean ", ""),
    ] {
        if let Some(value) = plain.strip_prefix(kind) {
            return format!("{word}{value}");
        }
    }
    match plain.as_str() {
        "sequence" => "a list".to_owned(),
        "map" => "a section".to_owned(),
        _ => plain,
    }
}

/// A text that is not written as such a file is.
fn grammar(message: &str) -> (String, String) {
    if message == "duplicate key" {
        return (
            "this stands twice".to_owned(),
            "keep one of the two; what changed on a day goes into a [[version]] of its own".to_owned(),
        );
    }
    ("this line cannot be read".to_owned(), WRITE.to_owned())
}
