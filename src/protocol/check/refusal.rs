//! What cannot hold, with the place in the text that says it and what to do about it.

use crate::protocol::error::ProtocolError;

/// What to do where nothing better is known.
const TO_DO: &str =
    "mend it in protocol.toml; `siskin describe --protocol nice_cg98` prints a ready protocol to compare with";

/// Why a text that is well formed is no protocol.
#[derive(Clone, Debug)]
pub(in crate::protocol) struct Refusal {
    what: String,
    place: Option<Place>,
    to_do: Option<String>,
}

/// What in the text says it.
#[derive(Clone, Debug)]
enum Place {
    /// `key = value`, in the section of that name or in any.
    Key {
        section: Option<String>,
        key: String,
        value: String,
    },
    /// A header, and which one of that name, counted from 0.
    Header(&'static str, usize),
}

impl<T: Into<String>> From<T> for Refusal {
    fn from(what: T) -> Self {
        Self {
            what: what.into(),
            place: None,
            to_do: None,
        }
    }
}

impl Refusal {
    /// It is said by `key = value`; the key may be led by its section: `treatment in_time_h`.
    pub(in crate::protocol) fn at(mut self, key: &str, value: impl ToString) -> Self {
        let (section, key) = key
            .split_once(' ')
            .map_or((None, key), |(section, key)| (Some(section), key));
        self.place = Some(Place::Key {
            section: section.map(str::to_owned),
            key: key.to_owned(),
            value: value.to_string(),
        });
        self
    }

    /// It is said by a row: the header of that name, counted from 0 in its version.
    pub(in crate::protocol) fn at_row(mut self, header: &'static str, row: usize) -> Self {
        self.place.get_or_insert(Place::Header(header, row));
        self
    }

    pub(in crate::protocol) fn remedy(mut self, to_do: impl Into<String>) -> Self {
        self.to_do = Some(to_do.into());
        self
    }

    /// Led by whose it is.
    pub(in crate::protocol) fn of(mut self, whose: &str) -> Self {
        self.what = format!("{whose}: {}", self.what);
        self
    }

    /// With its line in the whole text, or in that of one version, counted from 0.
    pub(in crate::protocol) fn in_text(self, text: &str, version: Option<usize>) -> ProtocolError {
        let lines = numbered(text, version);
        let line = match &self.place {
            None => None,
            Some(Place::Header(header, row)) => lines.iter().filter(|(_, line)| line.starts_with(header)).nth(*row),
            Some(Place::Key { section, key, value }) => {
                let wanted = section.as_ref().map(|name| format!("[version.{name}]"));
                let mut header = "";
                lines.iter().find(|(_, line)| {
                    if line.starts_with('[') && !line.contains('=') {
                        header = line;
                    }
                    wanted.as_ref().is_none_or(|wanted| header.starts_with(wanted.as_str())) && says(line, key, value)
                })
            }
        };
        ProtocolError::Meaning {
            place: line.map_or_else(String::new, |(number, _)| format!(", line {number}")),
            what: self.what,
            to_do: self.to_do.unwrap_or_else(|| TO_DO.to_owned()),
        }
    }
}

/// The lines of the text, or of one of its versions, trimmed and counted from 1.
fn numbered(text: &str, version: Option<usize>) -> Vec<(usize, &str)> {
    let mut versions = 0;
    let mut all = Vec::new();
    for (number, line) in (1..).zip(text.lines().map(str::trim)) {
        versions += usize::from(line.starts_with("[[version]]"));
        if version.is_none_or(|version| versions == version + 1) && !line.starts_with('#') {
            all.push((number, line));
        }
    }
    all
}

/// Whether a line has `key = value`, however it is spaced.
fn says(line: &str, key: &str, value: &str) -> bool {
    line.match_indices(key).any(|(start, _)| {
        let is_whole = !line[..start].ends_with(|c: char| c.is_ascii_alphanumeric() || c == '_');
        let rest = line[start + key.len()..].trim_start();
        let found = rest.strip_prefix('=').map(str::trim_start);
        is_whole && found.is_some_and(|found| is_value(found, value))
    })
}

/// Whether what stands behind a `=` begins with the value; a number in any spelling.
fn is_value(found: &str, value: &str) -> bool {
    let end = found.find([',', '}', ']', '#', ' ']).unwrap_or(found.len());
    let number = |text: &str| text.replace('_', "").parse::<f64>().ok();
    match (number(&found[..end]), number(value)) {
        (Some(found), Some(wanted)) => found == wanted || (found.is_nan() && wanted.is_nan()),
        _ => found.starts_with(value),
    }
}
