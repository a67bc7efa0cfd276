//! Which character set a message is in: what the source is declared to use, else field 18
//! of its MSH (HL7 table 0211), else UTF-8. Nothing is guessed from the bytes.

use encoding_rs::{Encoding, UTF_8};

use crate::extracts::reason::Reason;
use crate::extracts::record::Fault;

use super::settings::Hl7Settings;

/// What to do about text that was kept with characters lost.
pub(super) const LOAD_IT_AGAIN: &str = "declare the charset of this source in sources.toml, then load its file again";

/// The text of a message.
pub(super) fn decoded(bytes: &[u8], settings: &Hl7Settings) -> Result<String, Fault> {
    let said = said(&String::from_utf8_lossy(bytes));
    let name = settings.charset.clone().or_else(|| said.clone());
    let Some(encoding) = encoding(name.as_deref(), settings) else {
        let remedy = match &settings.charset {
            Some(_) => "sources.toml: this charset is not known; write for example utf-8 or windows-1252",
            None => {
                "MSH, field 18: this character set is not known; declare the charset of this source in sources.toml, then load the file again"
            }
        };
        return Err(Fault::of_cell(Reason::NotUtf8, "", name.as_deref().unwrap_or_default()).with_remedy(remedy));
    };
    let text = encoding.decode_without_bom_handling_and_without_replacement(bytes);
    text.map(std::borrow::Cow::into_owned).ok_or_else(|| {
        let remedy = format!(
            "the message is not in {}: declare the charset of this source in sources.toml (for example windows-1252), or have it sent in MSH, field 18; then load the file again",
            encoding.name()
        );
        Fault::of_record(Reason::NotUtf8).with_remedy(remedy)
    })
}

/// The character set of escaped bytes in a message that is text already.
pub(super) fn declared(text: &str, settings: &Hl7Settings) -> &'static Encoding {
    let name = settings.charset.clone().or_else(|| said(text));
    encoding(name.as_deref(), settings).unwrap_or(UTF_8)
}

/// What field 18 of MSH says; its first repetition.
fn said(message: &str) -> Option<String> {
    let header = message.split(['\r', '\n']).next()?;
    let separator = header.chars().nth(3)?;
    let mut fields = header.split(separator);
    let repetition = fields.clone().nth(1)?.chars().nth(1)?;
    let name = fields.nth(17)?.split(repetition).next()?.trim();
    (!name.is_empty() && name != "\"\"").then(|| name.to_owned())
}

fn encoding(name: Option<&str>, settings: &Hl7Settings) -> Option<&'static Encoding> {
    let Some(name) = name else {
        return Some(UTF_8);
    };
    let label = settings.codes.word("charset", name).unwrap_or(name);
    let found = Encoding::for_label_no_replacement(label.as_bytes())?;
    found.is_ascii_compatible().then_some(found)
}
