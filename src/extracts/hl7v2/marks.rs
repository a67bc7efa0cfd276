//! The delimiters of a message, as its first segment declares them (HL7 v2.5.1, chapter 2).

use encoding_rs::Encoding;

use crate::extracts::reason::Reason;
use crate::extracts::record::Fault;

/// The delimiters a message declares, and its character set.
#[derive(Clone, Copy, Debug)]
pub(super) struct Marks {
    pub(super) field: char,
    pub(super) component: char,
    pub(super) repetition: Option<char>,
    pub(super) escape: Option<char>,
    pub(super) subcomponent: Option<char>,
    pub(super) truncation: Option<char>,
    pub(super) encoding: &'static Encoding,
}

impl Marks {
    /// As the first segment declares them.
    pub(super) fn of(header: &str, encoding: &'static Encoding) -> Result<Self, Fault> {
        let fault = |remedy: &str| {
            let shown: String = header.chars().take(40).collect();
            Fault::of_cell(Reason::UnreadableRecord, "", &shown).with_remedy(remedy)
        };
        let rest = header.strip_prefix("MSH");
        let rest = rest.ok_or_else(|| fault("this is no message: a message begins with MSH"))?;
        let mut chars = rest.chars();
        let field = chars.next().filter(char::is_ascii_punctuation);
        let field = field.ok_or_else(|| fault("MSH, field 1: no field separator"))?;
        let declared: Vec<char> = chars.take_while(|c| *c != field).collect();
        let mark = |i: usize| declared.get(i).copied();
        let component = mark(0).ok_or_else(|| fault("MSH, field 2: no delimiters"))?;
        let is_mark = |c: &char| c.is_ascii_punctuation();
        let stands_twice = |(i, c): (usize, &char)| declared.iter().take(i).any(|other| other == c);
        if declared.len() > 5 || !declared.iter().all(is_mark) || declared.iter().enumerate().any(stands_twice) {
            return Err(fault("MSH, field 2: write up to five different marks, usually ^~\\&"));
        }
        Ok(Self {
            field,
            component,
            repetition: mark(1),
            escape: mark(2),
            subcomponent: mark(3),
            truncation: mark(4),
            encoding,
        })
    }
}
