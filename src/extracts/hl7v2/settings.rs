//! What a source declares of its messages.

use jiff::tz::TimeZone;

use crate::extracts::codes::Codes;

/// How a source's messages are read.
#[derive(Clone, Debug)]
pub struct Hl7Settings {
    /// What its codes and words mean.
    pub codes: Codes,
    /// Zone of times without an offset.
    pub zone: TimeZone,
    /// Which of a patient's identifiers counts: component 5 of PID, field 3, for example `MR`.
    pub identifier_type: String,
    /// Whose identifiers count: component 4; anybody's when none.
    pub identifier_authority: Option<String>,
    /// The character set, whatever the messages say of it.
    pub charset: Option<String>,
}
