//! Where a section comes from that does not say so.

/// The source of a section that names none.
pub(super) fn local_definition() -> String {
    "local definition".to_owned()
}

/// The same of a section that most sites have alike.
pub(super) fn common_practice() -> String {
    "common practice".to_owned()
}
