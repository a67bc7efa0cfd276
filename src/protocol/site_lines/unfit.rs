//! Why a table of lines is refused.

/// Why a table is refused, and what to do about it.
pub(super) struct Unfit {
    pub(super) what: String,
    pub(super) to_do: String,
}

pub(super) fn unfit(what: impl Into<String>, to_do: impl Into<String>) -> Unfit {
    Unfit {
        what: what.into(),
        to_do: to_do.into(),
    }
}
