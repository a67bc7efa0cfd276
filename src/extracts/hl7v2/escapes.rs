//! Escape sequences of a text (HL7 v2.5.1, chapter 2, section 2.7).

use super::marks::Marks;

/// The text with its escape sequences replaced. A sequence that means nothing here is kept
/// as it is written.
pub(super) fn replaced(text: &str, marks: Marks) -> String {
    let Some(escape) = marks.escape else {
        return text.to_owned();
    };
    let mut parts = text.split(escape);
    let mut plain = parts.next().unwrap_or_default().to_owned();
    while let Some(sequence) = parts.next() {
        let after = parts.next();
        match (after, meaning(sequence, marks)) {
            (Some(after), Some(meant)) => {
                plain.push_str(&meant);
                plain.push_str(after);
            }
            (after, _) => {
                plain.push(escape);
                plain.push_str(sequence);
                if let Some(after) = after {
                    plain.push(escape);
                    plain.push_str(after);
                }
            }
        }
    }
    plain
}

fn meaning(sequence: &str, marks: Marks) -> Option<String> {
    let mark = |mark: Option<char>| mark.map(String::from);
    match sequence {
        "F" => mark(Some(marks.field)),
        "S" => mark(Some(marks.component)),
        "T" => mark(marks.subcomponent),
        "R" => mark(marks.repetition),
        "E" => mark(marks.escape),
        "P" => mark(marks.truncation),
        "H" | "N" => Some(String::new()),
        ".br" => Some("\n".to_owned()),
        _ => bytes(sequence.strip_prefix('X')?, marks),
    }
}

/// Bytes in hexadecimal digits, in the character set of the message.
fn bytes(digits: &str, marks: Marks) -> Option<String> {
    if digits.is_empty() || !digits.len().is_multiple_of(2) || !digits.bytes().all(|b| b.is_ascii_hexdigit()) {
        return None;
    }
    let pairs = digits.as_bytes().chunks(2);
    let bytes: Option<Vec<u8>> = pairs
        .map(|pair| u8::from_str_radix(std::str::from_utf8(pair).ok()?, 16).ok())
        .collect();
    let bytes = bytes?;
    let text = marks
        .encoding
        .decode_without_bom_handling_and_without_replacement(&bytes)?;
    Some(text.into_owned())
}
