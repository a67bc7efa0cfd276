//! What a page may show: a value, or one sign for all that is hidden.
//!
//! A number hidden because it is small and one hidden because it would give a small one back
//! look alike, so that the sign itself gives nothing away.

use std::fmt;

/// A value that may be shown, or the sign that it may not.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown<T> {
    /// May be shown.
    Value(T),
    /// May not: small, or would give back a small number.
    Hidden,
}

impl<T> Shown<T> {
    /// The value when it was `released`. The value is not worked out otherwise.
    pub fn when(released: bool, value: impl FnOnce() -> T) -> Self {
        if released { Self::Value(value()) } else { Self::Hidden }
    }

    /// The value, unless it is hidden.
    pub fn value(&self) -> Option<&T> {
        match self {
            Self::Value(value) => Some(value),
            Self::Hidden => None,
        }
    }
}

/// The value as it prints, or `hidden`.
impl<T: fmt::Display> fmt::Display for Shown<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Value(value) => value.fmt(f),
            Self::Hidden => f.pad("hidden"),
        }
    }
}

/// Why a number is hidden, in a sentence for the reader.
///
/// ```
/// use siskin::privacy::shown::why;
/// assert_eq!(why(5), "A hidden number is fewer than 5, or would give such a number back.");
/// assert_eq!(why(1), "No number is hidden.");
/// ```
pub fn why(hide_below: u32) -> String {
    match hide_below {
        0 | 1 => "No number is hidden.".to_owned(),
        below => format!("A hidden number is fewer than {below}, or would give such a number back."),
    }
}
