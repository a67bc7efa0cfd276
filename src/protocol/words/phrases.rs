//! Small phrases: numbers with their words, lists, sources.

/// `6 hours`, `1 hour`.
pub(super) fn hours(hours: f64) -> String {
    counted(hours, "hour")
}

/// `14 days`, `1 day`.
pub(super) fn days(days: f64) -> String {
    counted(days, "day")
}

/// `15 minutes`, `1 minute`.
pub(super) fn minutes(minutes: i64) -> String {
    format!("{minutes} minute{}", if minutes == 1 { "" } else { "s" })
}

fn counted(number: f64, word: &str) -> String {
    format!("{number} {word}{}", if number == 1.0 { "" } else { "s" })
}

/// `a, b and c`.
pub(super) fn list(items: &[impl AsRef<str>], last: &str) -> String {
    match items.split_last() {
        None => String::new(),
        Some((only, [])) => only.as_ref().to_owned(),
        Some((end, before)) => {
            let before: Vec<&str> = before.iter().map(AsRef::as_ref).collect();
            format!("{} {last} {}", before.join(", "), end.as_ref())
        }
    }
}

/// The end of a sentence that has a source.
pub(super) fn source(source: &str) -> String {
    match source.trim() {
        "" => "; no source.".to_owned(),
        source => format!("; source: {source}."),
    }
}

/// The text broken into lines of at most `width` columns, the first led by one lead, all others
/// by another.
pub(super) fn wrapped(text: &str, first: &str, next: &str, width: usize) -> String {
    let mut lines = String::new();
    let mut line = first.to_owned();
    let mut is_empty = true;
    for word in text.split_whitespace() {
        if !is_empty && line.chars().count() + 1 + word.chars().count() > width {
            lines.push_str(&line);
            lines.push('\n');
            line = next.to_owned();
            is_empty = true;
        }
        if !is_empty {
            line.push(' ');
        }
        line.push_str(word);
        is_empty = false;
    }
    lines.push_str(&line);
    lines.push('\n');
    lines
}
