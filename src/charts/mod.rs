//! Pure drawing: numbers in, SVG out. Knows nothing of jaundice, files or SQL.
//!
//! Colours are named, not fixed: `var(--ink)`, `var(--mark)`, `var(--pale)` and
//! `var(--paper)` come from the page, so a chart follows its theme and print.
//! Every chart carries a title and a description for screen readers.

pub mod monthly;

use plotters::style::RGBColor;

/// Data and text.
const INK: RGBColor = RGBColor(1, 1, 1);
/// The data's own hue.
const MARK: RGBColor = RGBColor(2, 2, 2);
/// Uncertainty, and what is only there for reference.
const PALE: RGBColor = RGBColor(3, 3, 3);
/// The background.
const PAPER: RGBColor = RGBColor(4, 4, 4);

/// The drawing could not be made; only when a size makes no sense.
#[derive(Debug, thiserror::Error)]
#[error("a chart could not be drawn: {0}")]
pub struct ChartError(pub String);

/// Replaces the colours by names, lets the picture scale with its column, and
/// puts title and description first.
fn finished(svg: &str, id: &str, title: &str, description: &str) -> String {
    let mut text = svg.to_owned();
    for (colour, name) in [
        ("#010101", "ink"),
        ("#020202", "mark"),
        ("#030303", "pale"),
        ("#040404", "paper"),
    ] {
        text = text.replace(&format!("\"{colour}\""), &format!("\"var(--{name})\""));
    }
    let Some(end) = text.find('>') else {
        return text;
    };
    let view = text
        .find("viewBox")
        .and_then(|from| text[from..end].split('"').nth(1))
        .unwrap_or_default();
    format!(
        "<svg viewBox=\"{view}\" role=\"img\" aria-labelledby=\"{id}-title {id}-description\">\n\
         <title id=\"{id}-title\">{}</title>\n<desc id=\"{id}-description\">{}</desc>{}",
        escaped(title),
        escaped(description),
        &text[end + 1..]
    )
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
