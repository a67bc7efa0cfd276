//! The id under which versions of a row replace each other. Of most tables it is the row's own;
//! of serum it is the number of the specimen together with what was measured.
//!
//! Total and direct bilirubin of one tube share a number and are two results: neither replaces
//! the other. All codes of total are one result, so are those of direct; every other code is its
//! own. The id of a total is the number alone; that of another result carries what it is:
//! `S1#direct`, `S1#1971-1`; that of a row which does not say what was measured is `S1#?`. The
//! id is stored as `specimen_id`, the number as `specimen_number`, so that all that goes by
//! `specimen_id`, derived tables and questions alike, has one row for it, whatever the protocol
//! takes for a total. Two results never have the same id: a number that itself looks like such
//! an id is written out with `#total`.
//!
//! A word that is no analyte says as little as an empty cell. Whose versions such rows are is
//! known only from other rows of the tube: see `queries/intake/unsaid_results.sql`.

use std::borrow::Cow;

use crate::extracts::codes::measured;
use crate::extracts::record::SourceRow;
use crate::warehouse::tables::Kind;

/// Before what was measured.
const MARK: char = '#';

/// In its place where the row does not say it.
const UNSAID: &str = "?";

/// The specimen that a result is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Specimen<'a> {
    /// Its number.
    pub number: &'a str,
    /// Whether the row says what was measured.
    pub says_analyte: bool,
}

/// The specimen of a row of serum that has a number.
pub(super) fn specimen(source: &SourceRow) -> Option<Specimen<'_>> {
    let of_specimen = matches!(source.table.columns.first(), Some((_, Kind::Specimen)));
    let number = source
        .row_id()
        .map(str::trim)
        .filter(|id| of_specimen && !id.is_empty())?;
    Some(Specimen {
        number,
        says_analyte: said(source).is_some(),
    })
}

/// The row's own id; `None` where it is not given.
pub(super) fn row_id(source: &SourceRow) -> Option<Cow<'_, str>> {
    let id = source.row_id().map(str::trim).filter(|id| !id.is_empty())?;
    if specimen(source).is_none() {
        return Some(Cow::Borrowed(id));
    }
    Some(match said(source).as_deref() {
        Some("total") if !looks_like_a_result(id) => Cow::Borrowed(id),
        said => Cow::Owned(format!("{id}{MARK}{}", said.unwrap_or(UNSAID))),
    })
}

/// What was measured: `total`, `direct`, or the code of something else.
fn said(source: &SourceRow) -> Option<Cow<'_, str>> {
    let analyte = source.value("analyte").trim().to_lowercase();
    match measured(&analyte) {
        Some(word) => Some(Cow::Borrowed(word)),
        None => is_loinc(&analyte).then_some(Cow::Owned(analyte)),
    }
}

/// Digits, a dash and one digit.
pub(super) fn is_loinc(text: &str) -> bool {
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    text.split_once('-')
        .is_some_and(|(number, check)| digits(number) && digits(check) && check.len() == 1)
}

/// Whether a number ends as the id of a result does that is no total.
fn looks_like_a_result(number: &str) -> bool {
    let end = number.rsplit_once(MARK).map(|(_, end)| end);
    end.is_some_and(|end| end == UNSAID || measured(end).is_some() || is_loinc(end))
}
