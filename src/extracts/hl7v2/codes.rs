//! Coded fields (data types CE and CWE: code, text, system, then an alternate triple).

use crate::extracts::codes::Codes;
use crate::extracts::record::Code;

use super::message::{Field, Segment};

/// A code and what it means, by its first or its alternate triple.
#[derive(Debug)]
pub(super) struct Coded<'c> {
    pub(super) code: Code,
    pub(super) meaning: Option<&'c str>,
}

/// Reads a coded field.
pub(super) fn coded<'c>(field: Field<'_>, codes: &'c Codes) -> Coded<'c> {
    let triple = |from: usize| {
        let part = |n: usize| field.part(from + n).unwrap_or_default();
        let code = Code {
            system: codes.system(&part(2)),
            code: part(0),
            display: part(1),
        };
        let meaning = codes
            .meaning(&code.system, &code.code)
            .filter(|_| !code.code.is_empty());
        Coded { code, meaning }
    };
    let first = triple(1);
    if first.meaning.is_some() {
        return first;
    }
    let alternate = triple(4);
    if alternate.meaning.is_some() { alternate } else { first }
}

/// What an observation is of.
pub(super) fn observed<'c>(obx: &Segment<'_>, codes: &'c Codes) -> Coded<'c> {
    coded(obx.field(3), codes)
}
