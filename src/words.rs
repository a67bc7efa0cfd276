//! Closed vocabularies.

/// A closed vocabulary: an enum read from its words. Few need all that it gives.
macro_rules! words {
    ($(#[$doc:meta])* $vis:vis $name:ident { $($(#[$vdoc:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, serde::Deserialize, PartialEq, Eq, PartialOrd, Ord, Hash)]
        $vis enum $name { $($(#[$vdoc])* #[serde(rename = $word)] $variant),+ }
        #[allow(dead_code)]
        impl $name {
            /// All of them, in the order in which they are listed.
            $vis const ALL: [Self; [$($word),+].len()] = [$(Self::$variant),+];
            /// All words, as they are written.
            $vis const WORDS: &[&str] = &[$($word),+];

            /// The word that is read, stored and shown, also in SQL.
            $vis fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }
        }
    };
}

pub(crate) use words;
