//! Writes rows of the tables as a FHIR R4 Bulk Data export: NDJSON files and their manifest.
//!
//! Ids become identifiers, what has no place in FHIR becomes a component or an extension of
//! the system `urn:siskin`, and a local time gets the offset of its zone (in the repeated
//! autumn hour the first of the two). A row of a known id becomes a new version of its
//! resource. A withdrawn birth becomes a deletion, another withdrawn row is entered in error.
//!
//! FHIR cannot say a few things: a record status other than withdrawn; that a birth
//! has no mother any more; that a merge was recorded at another time than it was made; that
//! a stay which begins within an hour of the birth is no birth stay.

mod births;
mod cells;
mod stays;
mod tests_and_treatments;

use std::collections::HashMap;
use std::fs::File;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use jiff::tz::TimeZone;
use serde_json::{Value, json};

use crate::extracts::fhir::TYPES;
use crate::warehouse::tables::SourceTable;

use cells::Cells;

/// Writes an export into a folder.
pub struct FhirWriter {
    folder: PathBuf,
    zone: TimeZone,
    transaction_time: String,
    files: HashMap<&'static str, BufWriter<File>>,
    deleted: Option<BufWriter<File>>,
    /// How many versions each row has had, by a hash of table and id.
    versions: HashMap<u64, u32>,
    /// The last version of each patient: a merge repeats it.
    patients: HashMap<String, String>,
    /// How many diagnoses each stay had at last.
    diagnoses: HashMap<u64, usize>,
}

impl FhirWriter {
    /// Into `folder`, which is made where it is missing. Times without an offset are of
    /// `zone`; `transaction_time` is when the export is said to have been made.
    ///
    /// # Errors
    /// When the folder cannot be made.
    pub fn new(folder: &Path, zone: TimeZone, transaction_time: &str) -> io::Result<Self> {
        std::fs::create_dir_all(folder)?;
        Ok(Self {
            folder: folder.to_owned(),
            zone,
            transaction_time: transaction_time.to_owned(),
            files: HashMap::new(),
            deleted: None,
            versions: HashMap::new(),
            patients: HashMap::new(),
            diagnoses: HashMap::new(),
        })
    }

    /// Writes a row: its cells in the order of the contract, then `record_status` and
    /// `recorded_at`, which may be left out.
    ///
    /// # Errors
    /// When there is no such table, or a file cannot be written.
    pub fn row(&mut self, table: &str, cells: &[String]) -> io::Result<()> {
        let unknown = || io::Error::new(io::ErrorKind::InvalidInput, format!("there is no table {table}"));
        let table = SourceTable::named(table).ok_or_else(unknown)?;
        let zone = self.zone.clone();
        let cells = Cells::new(table, cells, &zone);
        match table.name {
            "births" => self.birth(&cells),
            "stays" => self.stay(&cells),
            "screens" => self.screen(&cells),
            "serum" => self.serum(&cells),
            "phototherapy" => self.phototherapy(&cells),
            "exchanges" => self.exchange(&cells),
            "meter_checks" => self.meter_check(&cells),
            "merges" => self.merge(&cells),
            _ => Err(unknown()),
        }
    }

    /// Closes the files and writes the manifest.
    ///
    /// # Errors
    /// When a file cannot be written.
    pub fn finish(mut self) -> io::Result<()> {
        for file in self.files.values_mut().chain(&mut self.deleted) {
            file.flush()?;
        }
        let written = TYPES.iter().filter(|kind| self.files.contains_key(*kind));
        let output: Vec<Value> = written
            .map(|kind| json!({"type": kind, "url": file_name(kind)}))
            .collect();
        let deleted: Vec<Value> = self
            .deleted
            .iter()
            .map(|_| json!({"type": "Bundle", "url": DELETED}))
            .collect();
        let manifest = json!({
            "transactionTime": self.transaction_time,
            "request": "urn:siskin:invented",
            "requiresAccessToken": false,
            "output": output,
            "deleted": deleted,
            "error": [],
        });
        let mut file = File::create(self.folder.join("manifest.json"))?;
        serde_json::to_writer_pretty(&mut file, &manifest)?;
        file.write_all(b"\n")
    }

    /// Writes a resource as a line of the file of its type; the type stands first in it.
    fn put(&mut self, kind: &'static str, resource: &Value) -> io::Result<()> {
        let file = match self.files.entry(kind) {
            std::collections::hash_map::Entry::Occupied(open) => open.into_mut(),
            std::collections::hash_map::Entry::Vacant(none) => {
                let path = self.folder.join(file_name(kind));
                none.insert(BufWriter::new(File::create(path)?))
            }
        };
        write!(file, "{{\"resourceType\":\"{kind}\"")?;
        let rest = resource.to_string();
        if rest.len() > 2 {
            file.write_all(b",")?;
        }
        file.write_all(rest.as_bytes().get(1..).unwrap_or(b"}"))?;
        file.write_all(b"\n")
    }

    fn put_deletion(&mut self, url: &str) -> io::Result<()> {
        let mut file = match self.deleted.take() {
            Some(open) => open,
            None => BufWriter::new(File::create(self.folder.join(DELETED))?),
        };
        let entry = json!([{"request": {"method": "DELETE", "url": url}}]);
        let bundle = json!({"resourceType": "Bundle", "type": "transaction", "entry": entry});
        serde_json::to_writer(&mut file, &bundle)?;
        file.write_all(b"\n")?;
        self.deleted = Some(file);
        Ok(())
    }

    /// Which version of a row this is, counted from 1.
    fn version(&mut self, table: &str, id: &str) -> u32 {
        let version = self.versions.entry(hash(table, id)).or_default();
        *version += 1;
        *version
    }
}

const DELETED: &str = "deleted.ndjson";

fn file_name(kind: &str) -> String {
    format!("{kind}.ndjson")
}

fn hash(table: &str, id: &str) -> u64 {
    let mut hasher = DefaultHasher::new();
    (table, id).hash(&mut hasher);
    hasher.finish()
}
