//! Why a protocol is refused.

use std::path::PathBuf;

/// Why a protocol is refused. Nothing is loaded or measured under it.
#[derive(Debug, thiserror::Error)]
pub enum ProtocolError {
    /// The file cannot be read.
    #[error(
        "cannot read the protocol {path}: {source}\n  to do: put a protocol.toml there; `siskin describe --protocol nice_cg98` prints one to start from"
    )]
    Unreadable {
        /// Where it was looked for.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The text is not a protocol: syntax, an unknown key or word, a missing key, a wrong type.
    #[error("the protocol is not valid\n{what}{}", .remedy.as_ref().map_or_else(String::new, |to_do| format!("  to do: {to_do}")))]
    Syntax {
        /// What is wrong, with its line.
        what: Box<toml::de::Error>,
        /// What to do, where that can be told.
        remedy: Option<String>,
    },
    /// The text is well formed but says something that cannot hold.
    #[error("the protocol is not valid{place}: {what}\n  to do: {to_do}")]
    Meaning {
        /// Its line, as `, line 7`; empty where none can be told.
        place: String,
        /// What cannot hold.
        what: String,
        /// What to do.
        to_do: String,
    },
    /// A version works by a table of lines that cannot be read.
    #[error("cannot read the table of lines {path}: {source}\n  to do: {remedy}")]
    NoLines {
        /// Where it was looked for.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
        /// What the file must hold.
        remedy: String,
    },
    /// A table of lines says something that cannot hold.
    #[error("the table of lines {path} is not valid: {what}")]
    Lines {
        /// Which file.
        path: PathBuf,
        /// What cannot hold, with its line where there is one.
        what: String,
    },
}
