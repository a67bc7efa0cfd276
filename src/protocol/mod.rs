//! The unit's written rules as data: versions in force by date, referral
//! clauses, windows, recheck rows, codes and the treatment lines.
//!
//! [`Protocol::read`] reads `protocol.toml` with the site's tables of lines, and refuses unknown
//! keys by line; [`Protocol::doubts`] names what is allowed but suspicious, [`Protocol::in_words`]
//! explains the rules to a clinician; [`Protocol::tables`] hands everything to SQL as tables, so that no number of
//! the protocol stands in a query or in Rust.

mod check;
mod concentration;
mod doubts;
mod error;
mod file;
pub mod lines;
pub mod ready;
mod records;
mod site_lines;
mod syntax;
mod tables;
mod units;
mod words;

use std::path::Path;

pub use concentration::{Concentration, UMOL_L_PER_MG_DL};
pub use error::ProtocolError;
pub use file::{
    AboveWhen, Accepts, Audiences, Band, BandWhen, Clause, ClauseKind, Coverage, Excuse, Line, Meter, Plausible, Rate,
    Readmission, Recheck, RecheckRule, Referral, ReferralWindow, Rise, Risk, Serum, Severe, Stays, Suppression, Target,
    TimeToSerum, Treatment, Trigger, UnknownRisk, Version,
};
pub use site_lines::HEADER as LINES_HEADER;
pub use tables::NamedBatch;
pub use units::{gestation_days, micro, seconds};
pub use words::Chapter;

use jiff::tz::TimeZone;

use crate::month::Month;

/// A protocol that has been read and checked.
#[derive(Clone, Debug)]
pub struct Protocol {
    file: file::ProtocolFile,
    zone: TimeZone,
    text: String,
    site_lines: site_lines::SiteLines,
}

impl Protocol {
    /// Reads and checks the protocol at `path`, and the tables of lines beside it.
    ///
    /// # Errors
    /// When a file cannot be read, is refused by [`Protocol::parse`], or is no complete table.
    pub fn read(path: &Path) -> Result<Self, ProtocolError> {
        let mut protocol = Self::read_without_lines(path)?;
        let folder = path.parent().unwrap_or(Path::new(""));
        protocol.site_lines = site_lines::read(folder, protocol.versions())?;
        Ok(protocol)
    }

    /// Reads and checks the protocol at `path` without the tables of lines beside it, as
    /// [`Protocol::parse`] does: all that can be known of it while a table is missing.
    ///
    /// # Errors
    /// When the file cannot be read, or is refused.
    pub fn read_without_lines(path: &Path) -> Result<Self, ProtocolError> {
        let text = std::fs::read_to_string(path).map_err(|source| ProtocolError::Unreadable {
            path: path.to_owned(),
            source,
        })?;
        Self::parse(&text)
    }

    /// Parses and checks the text of a `protocol.toml`, without its tables of lines: such a
    /// protocol is good for all but [`Protocol::tables`], as a snapshot holds the lines.
    ///
    /// # Errors
    /// Names the line of an unknown or missing key, or says which rule cannot hold.
    pub fn parse(text: &str) -> Result<Self, ProtocolError> {
        let file: file::ProtocolFile = toml::from_str(text).map_err(|error| syntax::refusal(text, &error))?;
        let zone = TimeZone::get(&file.zone).map_err(|_| {
            let why = format!("zone '{}' is not an IANA time zone such as Europe/London", file.zone);
            let refusal = check::Refusal::from(why).at("zone", format!("\"{}\"", file.zone));
            refusal.in_text(text, None)
        })?;
        check::check(&file, text)?;
        records::check(&file.records).map_err(|refusal| refusal.in_text(text, None))?;
        Ok(Self {
            file,
            zone,
            text: text.to_owned(),
            site_lines: site_lines::SiteLines::default(),
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
        let mut pieces = lines::built_in();
        pieces.extend_from_slice(&self.site_lines.pieces);
        pieces
    }

    /// The versions, oldest first; never empty.
    pub fn versions(&self) -> &[Version] {
        &self.file.version
    }

    /// The versions in force in a month, oldest first; never empty.
    pub fn versions_of(&self, month: Month) -> &[Version] {
        let versions = self.versions();
        let (first_day, after) = (month.first_day(), month.plus(1).first_day());
        let first = versions.iter().rposition(|v| v.in_force_from <= first_day).unwrap_or(0);
        let until = versions.iter().rposition(|v| v.in_force_from < after).unwrap_or(0);
        &versions[first..=until.max(first)]
    }

    /// The newest version: the one whose measures are listed and reported.
    pub fn newest(&self) -> &Version {
        &self.file.version[self.file.version.len() - 1]
    }

    /// The text as it was read, kept in each snapshot.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The tables of lines as they were read, as one text; empty where no version names one.
    pub fn line_tables_text(&self) -> String {
        self.site_lines.text()
    }
}
