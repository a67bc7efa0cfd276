//! The unit's written rules as data: versions in force by date, referral
//! clauses, windows, recheck rows, codes and the treatment lines.
//!
//! [`Protocol::parse`] reads `protocol.toml` and refuses unknown keys by line;
//! [`Protocol::tables`] hands everything to SQL as tables, so that no number of
//! the protocol stands in a query or in Rust.

mod check;
mod concentration;
mod file;
pub mod lines;
mod records;
mod tables;

use std::path::{Path, PathBuf};

pub use concentration::{Concentration, UMOL_L_PER_MG_DL};
pub use file::{
    AboveWhen, Accepts, Audiences, Band, BandWhen, Clause, ClauseKind, Coverage, Excuse, Line, Meter, Plausible, Rate,
    Readmission, Recheck, RecheckRule, Referral, ReferralWindow, Rise, Risk, Serum, Severe, Stays, Suppression, Target,
    TimeToSerum, Treatment, Trigger, Version,
};
pub use tables::NamedBatch;

use jiff::tz::TimeZone;

/// A protocol that has been read and checked.
#[derive(Clone, Debug)]
pub struct Protocol {
    file: file::ProtocolFile,
    zone: TimeZone,
    text: String,
}

/// Why a protocol is refused. Nothing is loaded or measured under it.
#[derive(Debug, thiserror::Error)]
pub enum ProtocolError {
    /// The file cannot be read.
    #[error(
        "cannot read the protocol {path}: {source}\n  to do: put a protocol.toml there; sample-warehouse/protocol.toml is one to start from"
    )]
    Unreadable {
        /// Where it was looked for.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The text is not a protocol: syntax, an unknown key, a wrong type.
    #[error("the protocol is not valid\n{0}")]
    Syntax(#[from] Box<toml::de::Error>),
    /// The text is well formed but says something that cannot hold.
    #[error("the protocol is not valid: {0}")]
    Meaning(String),
}

impl Protocol {
    /// Reads and checks the protocol at `path`.
    ///
    /// # Errors
    /// When the file cannot be read or is refused by [`Protocol::parse`].
    pub fn read(path: &Path) -> Result<Self, ProtocolError> {
        let text = std::fs::read_to_string(path).map_err(|source| ProtocolError::Unreadable {
            path: path.to_owned(),
            source,
        })?;
        Self::parse(&text)
    }

    /// Parses and checks the text of a `protocol.toml`.
    ///
    /// # Errors
    /// Names the line of an unknown key, or says which rule cannot hold.
    pub fn parse(text: &str) -> Result<Self, ProtocolError> {
        let file: file::ProtocolFile = toml::from_str(text).map_err(Box::new)?;
        let zone = TimeZone::get(&file.zone).map_err(|_| {
            ProtocolError::Meaning(format!(
                "zone '{}' is not an IANA time zone such as Europe/London",
                file.zone
            ))
        })?;
        check::check(&file)?;
        records::check(&file.records).map_err(ProtocolError::Meaning)?;
        Ok(Self {
            file,
            zone,
            text: text.to_owned(),
        })
    }

    /// The network's name, for pages.
    pub fn network(&self) -> &str {
        &self.file.network
    }

    /// The zone in which local times are read and months begin.
    pub fn zone(&self) -> &TimeZone {
        &self.zone
    }

    /// The bounds outside which a value is set aside.
    pub fn plausible(&self) -> &Plausible {
        &self.file.plausible
    }

    /// Which small counts are hidden from the committee.
    pub fn suppression(&self) -> &Suppression {
        &self.file.suppression
    }

    /// Who sees which measures.
    pub fn audiences(&self) -> &Audiences {
        &self.file.audiences
    }

    /// The pieces of every line that ships, and of the site's own tables.
    pub fn line_pieces(&self) -> Vec<lines::Piece> {
        lines::built_in()
    }

    /// The versions, oldest first; never empty.
    pub fn versions(&self) -> &[Version] {
        &self.file.version
    }

    /// The newest version: the one whose measures are listed and reported.
    pub fn newest(&self) -> &Version {
        &self.file.version[self.file.version.len() - 1]
    }

    /// The text as it was read, kept in each snapshot.
    pub fn text(&self) -> &str {
        &self.text
    }
}

/// Hours to whole seconds.
pub fn seconds(hours: f64) -> i64 {
    (hours * 3600.0).round() as i64
}

/// umol/L to whole micro-umol/L, the integer all comparisons use.
pub fn micro(umol_l: f64) -> i64 {
    (umol_l * 1e6).round() as i64
}

/// Gestation written as weeks+days (`35+0`) or completed weeks (`35`), in days.
///
/// Returns `None` for anything else, for 7 or more days, and outside 20 to 45 weeks.
pub fn gestation_days(text: &str) -> Option<i32> {
    let (weeks, days) = text.split_once('+').unwrap_or((text, "0"));
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    if weeks.len() > 2 || days.len() != 1 || !digits(weeks) || !digits(days) {
        return None;
    }
    let (weeks, days): (i32, i32) = (weeks.parse().ok()?, days.parse().ok()?);
    ((20..=45).contains(&weeks) && days <= 6).then_some(weeks * 7 + days)
}
