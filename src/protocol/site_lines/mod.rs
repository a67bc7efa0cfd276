//! The site's own tables of lines, CSV files beside `protocol.toml`.
//!
//! Columns: [`HEADER`]. A table is refused when it is not complete, when its lines fall with
//! age, or when its risks are not those that the version asks for; no value is ever filled in.
//! Below its first week there is no line; its last week serves older ones.

mod check;
mod read;
mod unfit;

pub use read::HEADER;

use std::collections::BTreeMap;
use std::path::Path;

use super::concentration::UMOL_L_PER_MG_DL;
use super::error::ProtocolError;
use super::file::Version;
use super::lines::{self, Piece};
use unfit::Unfit;

/// The tables that the versions name, read.
#[derive(Clone, Debug, Default)]
pub(super) struct SiteLines {
    /// Name of each file, and its text.
    texts: BTreeMap<String, String>,
    /// The pieces of all lines in them.
    pub pieces: Vec<Piece>,
}

impl SiteLines {
    /// All bytes that decide about the lines, as one text; empty without a table.
    pub(super) fn text(&self) -> String {
        let each = self.texts.iter().map(|(name, text)| format!("{name}\n{text}\n"));
        each.collect()
    }
}

/// Reads every table in the folder that a version names.
///
/// # Errors
/// When one is not there, or not complete.
pub(super) fn read(folder: &Path, versions: &[Version]) -> Result<SiteLines, ProtocolError> {
    let mut found = SiteLines::default();
    let mut standards: Vec<&str> = Vec::new();
    for version in versions {
        let Some(table) = &version.line.table else { continue };
        let path = folder.join(table);
        let text = std::fs::read_to_string(&path).map_err(|source| ProtocolError::NoLines {
            path: path.clone(),
            source,
            remedy: wanted(version),
        })?;
        let refused = |Unfit { what, to_do }| ProtocolError::Lines {
            path: path.clone(),
            what,
            to_do,
        };
        let known: Vec<&str> = sharing(versions, table).collect();
        let rows = read::rows(&text, &known).map_err(refused)?;
        let of_version: Vec<_> = rows
            .into_iter()
            .filter(|r| r.row.standard == version.line.standard)
            .collect();
        check::check(&of_version, version).map_err(refused)?;
        if !standards.contains(&version.line.standard.as_str()) {
            standards.push(&version.line.standard);
            let rows: Vec<_> = of_version.into_iter().map(|r| r.row).collect();
            found.pieces.extend(lines::pieces(&rows));
        }
        found.texts.insert(table.clone(), text);
    }
    Ok(found)
}

/// Standards of the versions that read the same file.
fn sharing<'a>(versions: &'a [Version], table: &'a str) -> impl Iterator<Item = &'a str> {
    let lines = versions.iter().map(|version| &version.line);
    lines
        .filter(move |line| line.table.as_deref() == Some(table))
        .map(|line| line.standard.as_str())
}

/// What a table that is not there must hold.
fn wanted(version: &Version) -> String {
    let line = &version.line;
    let first = version.lowest_gestation_weeks();
    let risks = match line.risk_factors.is_empty() {
        true => "any in every row",
        false => "for each week absent, and again present",
    };
    let standard = &line.standard;
    let factor = UMOL_L_PER_MG_DL;
    format!(
        "siskin does not hold the published values of '{standard}'; write the site's own copy there, as CSV\n    \
         header: {HEADER}\n    \
         standard: {standard} in every row\n    \
         gestation_weeks: each completed week from {first} on; the last one serves older babies\n    \
         risk: {risks}\n    \
         age_h: for each of these 0, and every age in hours at which the published line bends, in this order; then a later age with the last values again, where it stays flat\n    \
         both values: in umol/L (1 mg/dL is {factor} umol/L), never falling with age, exchange not below phototherapy"
    )
}
