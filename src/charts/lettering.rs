//! How much room a text takes, and how it is cut into lines.
//!
//! The page chooses the font, so widths are estimates: those of a wide sans-serif face
//! (DejaVu Sans, in parts of the type size). A narrower face leaves some room over.

/// From one line to the next, in parts of the type size.
pub(super) const LEADING: f64 = 1.25;

/// The estimated width of a text.
pub(super) fn width_of(text: &str, size: f64) -> f64 {
    text.chars().map(part_of_size).sum::<f64>() * size
}

/// How much wider a text is in bold.
pub(super) const BOLD: f64 = 1.13;

/// The widest of several lines.
pub(super) fn widest(lines: &[String], size: f64) -> f64 {
    lines.iter().map(|line| width_of(line, size)).fold(0.0, f64::max)
}

/// Lines no wider than `width`, broken between words; a number keeps its unit and what is in
/// brackets stays together where that fits. A word that is wider by itself is broken within.
/// What goes beyond `most_lines` is replaced by an ellipsis.
pub(super) fn wrapped(text: &str, size: f64, width: f64, most_lines: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    // Text that was measured by the same rule must fit what was measured.
    let width = width + 0.01;
    for piece in kept_together(text) {
        if width_of(&piece, size) <= width {
            add(&mut lines, &piece, size, width);
        } else {
            for word in piece.split(' ') {
                add(&mut lines, word, size, width);
            }
        }
    }
    let most_lines = most_lines.max(1);
    if lines.len() > most_lines {
        lines.truncate(most_lines);
        if let Some(line) = lines.last_mut() {
            while !line.is_empty() && width_of(line, size) + part_of_size('…') * size > width {
                line.pop();
            }
            line.truncate(line.trim_end().len());
            line.push('…');
        }
    }
    lines
}

/// One line no wider than `width`.
pub(super) fn shortened(text: &str, size: f64, width: f64) -> String {
    wrapped(text, size, width, 1).pop().unwrap_or_default()
}

/// Puts a piece at the end of the last line, or on a line of its own.
fn add(lines: &mut Vec<String>, piece: &str, size: f64, width: f64) {
    if let Some(line) = lines.last_mut()
        && width_of(line, size) + width_of(" ", size) + width_of(piece, size) <= width
    {
        line.push(' ');
        line.push_str(piece);
        return;
    }
    let mut line = String::new();
    for letter in piece.chars() {
        if !line.is_empty() && width_of(&line, size) + part_of_size(letter) * size > width {
            // After a hyphen rather than within.
            let rest = line.rfind('-').map(|at| line.split_off(at + 1)).unwrap_or_default();
            lines.push(std::mem::replace(&mut line, rest));
        }
        line.push(letter);
    }
    lines.push(line);
}

/// Words, with what must not stand alone: signs, single letters and units behind a number,
/// and what is in brackets.
fn kept_together(text: &str) -> Vec<String> {
    let mut pieces: Vec<String> = Vec::new();
    let mut is_open = false;
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let is_sign = word.len() == 1 && !word.starts_with(|letter: char| letter.is_ascii_digit());
        let is_short = is_sign || word.starts_with('%');
        match pieces.last_mut() {
            Some(piece) if is_open || is_short => {
                piece.push(' ');
                piece.push_str(word);
            }
            _ => pieces.push(word.to_owned()),
        }
        is_open = (is_open || word.contains('(')) && !word.contains(')');
    }
    pieces
}

fn part_of_size(letter: char) -> f64 {
    match letter {
        'i' | 'j' | 'l' | 'I' | '\'' | '|' => 0.3,
        ' ' | '.' | ',' | ':' | ';' | '/' | '\u{a0}' | '\u{202f}' => 0.34,
        'f' | 't' | 'r' | '(' | ')' | '-' | '!' => 0.41,
        'm' | '%' | 'W' | '…' | '@' => 1.0,
        'w' | 'M' | '×' | '<' | '>' | '=' | '+' | '±' => 0.87,
        'A'..='Z' => 0.76,
        'a'..='z' | '0'..='9' => 0.636,
        // Scripts whose letters fill a square.
        _ if u32::from(letter) >= 0x2e80 => 1.1,
        _ => 0.8,
    }
}
