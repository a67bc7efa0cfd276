//! Messages put together from segments and fields, with delimiters escaped.

use std::fmt::Write;

/// A message.
pub(super) struct Message {
    text: String,
}

/// A segment.
pub(super) struct Segment {
    fields: Vec<String>,
}

impl Message {
    pub(super) fn beginning_with(header: Segment) -> Self {
        let message = Self { text: String::new() };
        message.with(header)
    }

    /// Adds a segment.
    pub(super) fn with(mut self, segment: Segment) -> Self {
        self.text.push_str(segment.fields.join("|").trim_end_matches('|'));
        self.text.push('\r');
        self
    }

    pub(super) fn text(&self) -> &str {
        &self.text
    }
}

impl Segment {
    pub(super) fn named(name: &str) -> Self {
        Self {
            fields: vec![name.to_owned()],
        }
    }

    /// Sets a field, which is escaped already. In `MSH`, whose first field is the separator,
    /// numbers are one less than those of the standard.
    pub(super) fn set(mut self, n: usize, field: String) -> Self {
        if self.fields.len() <= n {
            self.fields.resize(n + 1, String::new());
        }
        self.fields[n] = field;
        self
    }
}

/// A text as a component, with everything that would be read as a delimiter escaped.
pub(super) fn component(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    let is_two_quotes = text == "\"\"";
    for c in text.chars() {
        match c {
            '|' => escaped.push_str("\\F\\"),
            '^' => escaped.push_str("\\S\\"),
            '&' => escaped.push_str("\\T\\"),
            '~' => escaped.push_str("\\R\\"),
            '\\' => escaped.push_str("\\E\\"),
            '\n' => escaped.push_str("\\.br\\"),
            '"' if is_two_quotes => escaped.push_str("\\X22\\"),
            c if c.is_ascii_control() => {
                let _ = write!(escaped, "\\X{:02X}\\", u32::from(c));
            }
            c => escaped.push(c),
        }
    }
    escaped
}

/// A medical record number.
pub(super) fn identifier(id: &str) -> String {
    match component(id) {
        id if id.is_empty() => id,
        id => id + "^^^^MR",
    }
}

/// An ISO 8601 time as HL7 writes it; what is no time stays as it is.
pub(super) fn time(iso: &str) -> String {
    hl7_time(iso).unwrap_or_else(|| component(iso))
}

fn hl7_time(iso: &str) -> Option<String> {
    let (day, clock) = iso.split_at_checked(10)?;
    let mut time = day.replace('-', "");
    if time.len() != 8 || !time.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    if clock.is_empty() {
        return Some(time);
    }
    let clock = clock.strip_prefix(['T', 't', ' '])?;
    let (clock, offset) = match clock.find(['+', '-', 'Z', 'z']) {
        Some(place) => clock.split_at_checked(place)?,
        None => (clock, ""),
    };
    time.push_str(&clock.replace(':', ""));
    match offset.replace(':', "").as_str() {
        "Z" | "z" => time.push_str("+0000"),
        hours if hours.len() == 3 => {
            time.push_str(hours);
            time.push_str("00");
        }
        offset => time.push_str(offset),
    }
    Some(time)
}

/// An observation: its set id, code, type, value and unit.
pub(super) fn observation(set: usize, code: &str, kind: &str, value: String, unit: &str) -> Segment {
    Segment::named("OBX")
        .set(1, set.to_string())
        .set(2, kind.to_owned())
        .set(3, code.to_owned())
        .set(5, value)
        .set(6, unit_of_measure(unit))
        .set(11, "F".to_owned())
}

fn unit_of_measure(unit: &str) -> String {
    let is_ucum = matches!(unit, "umol/L" | "mg/dL" | "d" | "wk" | "g");
    component(unit) + if is_ucum { "^^UCUM" } else { "" }
}

/// The code of siskin's own for something that has none elsewhere.
pub(super) fn own_code(word: &str) -> String {
    format!("{}^^SISKIN", component(word))
}
