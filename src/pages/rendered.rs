//! A page made by its template, with nothing in it that the eye cannot see.
//!
//! What is read from extracts may hold anything. The template engine escapes markup; characters
//! that steer the direction of text (Unicode's property `Bidi_Control`) would turn the page's own
//! words round, and control characters are no text at all. Each is replaced by U+FFFD, the sign
//! for a character that cannot be shown, wherever it stands: in a sentence, a title or a chart. New
//! lines and tabs stay. No page of ours holds such a character for itself.

use minijinja::value::Serde;
use minijinja::{AutoEscape, Environment, Value};
use serde::Serialize;

use super::PageError;

/// The page that `template` makes of a view.
///
/// # Errors
/// When the template fails, which would be a fault of the program.
pub(super) fn rendered(name: &'static str, template: &'static str, view: &impl Serialize) -> Result<String, PageError> {
    let mut environment = Environment::new();
    environment.set_auto_escape_callback(|_| AutoEscape::Html);
    environment.add_template(name, template)?;
    let page = environment.get_template(name)?.render(Value::from(Serde(view)))?;
    Ok(match page.contains(is_unseen) {
        true => page.replace(is_unseen, "\u{fffd}"),
        false => page,
    })
}

/// Whether a character is no text, or turns the text around it.
fn is_unseen(c: char) -> bool {
    let is_kept = matches!(c, '\n' | '\t');
    let turns = matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    turns || c.is_control() && !is_kept
}
