//! Closed vocabularies of `protocol.toml`.

/// A closed vocabulary: an enum read from its words.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq)]
        pub enum $name { $($(#[$vdoc])* #[serde(rename = $word)] $variant),+ }
        impl $name {
            /// All words, as `protocol.toml` writes them.
            pub const WORDS: &[&str] = &[$($word),+];

            /// The word used in `protocol.toml` and in SQL.
            pub fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }
        }
    };
}

pub(super) use words;
