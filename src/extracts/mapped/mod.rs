//! Reads delimited text of any shape as rows of the contract, as `sources.toml`
//! says ([`super::sources`]).
//!
//! ```text
//! file ─▶ text ─▶ delimited ─▶ plan (header + mapping) ─▶ Record
//! ```
//! A cell that cannot be read sets its row of that table aside and no other.

mod cell;
mod condition;
mod error;
mod gestation;
mod id;
mod number;
mod plan;
mod preview;
mod row;
pub(in crate::extracts) mod time;
mod words;

use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

pub use error::MappedError;
pub use preview::{Preview, preview};

use jiff::tz::TimeZone;

use super::delimited::{Delimited, Header, Row, Splitter};
use super::reason::Reason;
use super::record::{Fault, Record};
use super::sources::{Source, Sources};
use super::text::{Encoding, Text};
use super::{ExtractError, Reader};
use crate::warehouse::tables::SOURCE_TABLES;
use plan::Plan;

/// An open file of a source, read record by record.
pub struct MappedReader {
    path: PathBuf,
    rows: Delimited<Text<BufReader<File>>>,
    plan: Plan,
    encoding: Encoding,
    ignored_rows: u64,
}

impl MappedReader {
    /// Opens a file and reads its header. Times without offset are local in the
    /// source's zone, or else in the warehouse's.
    ///
    /// # Errors
    /// When it cannot be read as text, has no header, or lacks a column the mapping names.
    pub fn open(
        path: &Path,
        source: &Source,
        sources: &Sources,
        warehouse_zone: &TimeZone,
    ) -> Result<Self, MappedError> {
        let file = File::open(path).map_err(|e| MappedError::unreadable(path, e))?;
        let declared = source.said.encoding.as_deref().filter(|label| *label != "detect");
        let text = Text::open(BufReader::new(file), declared).map_err(|e| MappedError::of_text(path, e))?;
        let encoding = text.encoding();
        let rows = Delimited::open(text, plan::delimiter(source), source.said.skip_lines)
            .map_err(|e| MappedError::of_rows(path, source, e))?;
        let plan = Plan::of(rows.header(), source, sources, warehouse_zone)
            .map_err(|why| MappedError::of_header(path, source, rows.header(), why))?;
        Ok(Self {
            path: path.to_owned(),
            rows,
            plan,
            encoding,
            ignored_rows: 0,
        })
    }

    /// The encoding, with a remark for the user where it was only assumed.
    pub fn encoding(&self) -> Encoding {
        self.encoding
    }
}

impl Reader for MappedReader {
    /// One that is ignored by `[source.ignore]` has no rows, no fault and nothing unmapped.
    fn next_record(&mut self) -> Result<Option<Record>, ExtractError> {
        let row = self.rows.next_row().map_err(|e| MappedError::of_row(&self.path, e))?;
        Ok(row.map(|row| {
            let (record, is_ignored) = row::record(&self.plan, row);
            self.ignored_rows += u64::from(is_ignored);
            record
        }))
    }

    fn tables(&self) -> Vec<&'static str> {
        let is_fed = |name: &&str| self.plan.targets.iter().any(|target| target.table.name == *name);
        SOURCE_TABLES.iter().map(|table| table.name).filter(is_fed).collect()
    }

    fn header_text(&self) -> &str {
        &self.rows.header().text
    }

    fn unread_columns(&self) -> &[String] {
        self.plan.ignored()
    }

    fn remarks(&self) -> Vec<String> {
        let path = self.path.display();
        let encoding = self.encoding.remark();
        let mut remarks: Vec<String> = encoding.into_iter().map(|remark| format!("{path}: {remark}")).collect();
        if self.ignored_rows > 0 {
            let rows = self.ignored_rows;
            remarks.push(format!("{path}: {rows} rows of other tests, as sources.toml says"));
        }
        remarks
    }
}

/// Reads one row that was kept as text, with the header of its file.
pub fn record_of(
    text: &str,
    header: &str,
    line: u64,
    source: &Source,
    sources: &Sources,
    warehouse_zone: &TimeZone,
) -> Record {
    let refused = |remedy: String| Record {
        line,
        text: text.to_owned(),
        fault: Some(Fault::of_record(Reason::UnreadableRecord).with_remedy(remedy)),
        ..Record::default()
    };
    let header = match Header::read(header, plan::delimiter(source)) {
        Ok(header) => header,
        Err(error) => return refused(format!("its header cannot be read: {error}")),
    };
    let plan = match Plan::of(&header, source, sources, warehouse_zone) {
        Ok(plan) => plan,
        Err(why) => return refused(format!("its header does not fit source '{}': {why}", source.name())),
    };
    let row = Row {
        line,
        text: text.to_owned(),
        cells: Splitter::of(header.delimiter).split(text.as_bytes()),
    };
    row::record(&plan, row).0
}
