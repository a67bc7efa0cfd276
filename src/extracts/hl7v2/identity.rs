//! Which of a patient's identifiers is the baby's (data type CX: id, check digit, scheme,
//! authority, type).

use crate::extracts::reason::Reason;
use crate::extracts::record::{Fault, SourceRow};

use super::message::{Field, Segment};
use super::settings::Hl7Settings;

/// The identifier of the declared authority and type, else the first of that authority
/// without a type. One of another type may be another's.
pub(super) fn chosen(field: Field<'_>, settings: &Hl7Settings) -> Option<String> {
    let is_of_authority = |id: &Field<'_>| match (&settings.identifier_authority, id.part(4)) {
        (Some(wanted), Some(authority)) => authority.eq_ignore_ascii_case(wanted),
        _ => true,
    };
    let is_of_type = |id: &Field<'_>| {
        let kind = id.part(5);
        kind.is_some_and(|kind| kind.eq_ignore_ascii_case(&settings.identifier_type))
    };
    let candidates = || field.repetitions().filter(is_of_authority);
    let is_untyped = |id: &Field<'_>| id.part(5).is_none();
    let found = candidates()
        .find(is_of_type)
        .or_else(|| candidates().find(is_untyped))?;
    found.part(1)
}

/// Says an identifier; a field with identifiers of which none may be taken is a fault.
pub(super) fn say(row: &mut SourceRow, column: &str, segment: &Segment<'_>, n: usize, settings: &Hl7Settings) {
    let field = segment.field(n);
    match chosen(field, settings) {
        Some(id) => row.say(column, id),
        None if field.is_empty() => {}
        None => {
            let what = match &settings.identifier_authority {
                Some(wanted) => format!("no identifier of {wanted}: check identifier_authority in sources.toml"),
                None => format!(
                    "no identifier of type {}: check identifier_type in sources.toml",
                    settings.identifier_type
                ),
            };
            row.fail(segment.fault(n, Reason::UnreadableId, column, &what));
        }
    }
}

/// Says the identifier that the row stands under; it has to be there.
pub(super) fn say_own(row: &mut SourceRow, column: &str, segment: &Segment<'_>, n: usize, settings: &Hl7Settings) {
    say(row, column, segment, n, settings);
    if row.value(column).is_empty() {
        row.fail(segment.fault(n, Reason::MissingId, column, "no identifier"));
    }
}

/// A message that says something of a baby and does not say of which.
pub(super) fn no_patient() -> Fault {
    let remedy = "PID is missing: the message does not say whom it is about";
    Fault::of_record(Reason::UnreadableRecord).with_remedy(remedy)
}
