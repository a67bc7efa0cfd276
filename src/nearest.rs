//! The known word that looks most like a mistyped one.

/// The nearest of `known`, when it is near enough to be meant.
pub(crate) fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let most = word.chars().count().max(3) / 3;
    let by_distance = known.into_iter().map(|other| (strsim::levenshtein(word, other), other));
    let (distance, other) = by_distance.min()?;
    (distance <= most).then_some(other)
}

/// The nearest key or word, from a message "unknown field `x`, expected one of `a`, `b`"; also
/// of an "unknown variant".
pub(crate) fn meant_in(message: &str) -> Option<String> {
    let rest = ["unknown field ", "unknown variant "]
        .into_iter()
        .find_map(|start| message.strip_prefix(start))?;
    let mut quoted = rest.split('`').skip(1).step_by(2);
    let found = quoted.next()?;
    nearest(found, quoted).map(str::to_owned)
}
