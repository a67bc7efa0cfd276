//! Why a protocol is refused.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};

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
    #[error("the protocol is not valid, line {line}: {what}\n  to do: {to_do}")]
    Syntax {
        /// The line, counted from 1.
        line: usize,
        /// What is wrong there.
        what: String,
        /// What to do.
        to_do: String,
    },
    /// The text is well formed but says something that cannot hold.
    #[error("the protocol is not valid{place}: {what}\n  to do: {to_do}")]
    Meaning {
        /// Its line, as `, line 7`; empty where none is known.
        place: String,
        /// What cannot hold.
        what: String,
        /// What to do.
        to_do: String,
    },
    /// A version works by a table of lines that cannot be read.
    #[error("{}\n  to do: {remedy}", unread(.path, .source))]
    NoLines {
        /// Where it was looked for.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
        /// What the file must hold.
        remedy: String,
    },
    /// A table of lines says something that cannot hold.
    #[error("the table of lines {path} is not valid: {what}\n  to do: {to_do}")]
    Lines {
        /// Which file.
        path: PathBuf,
        /// What cannot hold, with its line where there is one.
        what: String,
        /// What to do.
        to_do: String,
    },
}

/// That a table of lines is not there, or why it cannot be read.
fn unread(path: &Path, source: &std::io::Error) -> String {
    match source.kind() {
        ErrorKind::NotFound => format!("the table of lines {} is not there", path.display()),
        _ => format!("cannot read the table of lines {}: {source}", path.display()),
    }
}
