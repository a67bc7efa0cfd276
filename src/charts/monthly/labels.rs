//! Labels of few periods in lines, so that each has its own: `Jul–Sep 26` is wider than an
//! eighth of a chart. Many months keep one line, and some go without.

/// More periods than this are not few.
const FEW: usize = 8;

/// Whether each period should have its label.
pub(super) fn are_few(periods: usize) -> bool {
    periods <= FEW
}

/// Where a label is broken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Broken {
    Nowhere,
    AtSpaces,
    /// And after dashes.
    AtDashes,
}

impl Broken {
    /// The least broken by which most labels find room; `every` says that one in so many does.
    pub(super) fn for_most(every: impl Fn(Self) -> usize) -> Self {
        // The first of equal ones.
        let ways = [Self::Nowhere, Self::AtSpaces, Self::AtDashes];
        ways.into_iter().min_by_key(|way| every(*way)).unwrap_or(Self::Nowhere)
    }

    pub(super) fn lines(self, label: &str) -> Vec<String> {
        let words: Vec<&str> = match self {
            Self::Nowhere => vec![label],
            Self::AtSpaces => label.split(' ').collect(),
            Self::AtDashes => label.split(' ').flat_map(|word| word.split_inclusive('–')).collect(),
        };
        words
            .into_iter()
            .filter(|word| !word.is_empty())
            .map(str::to_owned)
            .collect()
    }
}
