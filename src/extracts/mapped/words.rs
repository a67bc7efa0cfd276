//! Words of a source and what they mean in the contract.

use std::collections::BTreeMap;

/// Words, found without regard to case and to the two ways to write a micro sign.
#[derive(Clone, Debug, Default)]
pub(super) struct Words {
    meant: BTreeMap<String, String>,
}

impl Words {
    pub(super) fn of<'a>(lists: impl IntoIterator<Item = &'a BTreeMap<String, String>>) -> Self {
        let all = lists.into_iter().flatten();
        Self {
            meant: all.map(|(word, meant)| (folded(word), meant.clone())).collect(),
        }
    }

    pub(super) fn is_empty(&self) -> bool {
        self.meant.is_empty()
    }

    /// What a word means. A word of the contract that another word means is itself.
    pub(super) fn meaning(&self, said: &str) -> Option<&str> {
        let said = folded(said);
        let known = self.meant.get(&said);
        known
            .or_else(|| self.meant.values().find(|meant| folded(meant) == said))
            .map(String::as_str)
    }

    /// What a word means, if it is in the list itself.
    pub(super) fn listed(&self, said: &str) -> Option<&str> {
        self.meant.get(&folded(said)).map(String::as_str)
    }
}

/// Trimmed, in lower case, with the Greek mu for the micro sign.
pub(super) fn folded(text: &str) -> String {
    text.trim().to_lowercase().replace('\u{b5}', "\u{3bc}")
}
