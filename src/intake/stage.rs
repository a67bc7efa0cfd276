//! Reads extracts row by row into scratch tables: accepted rows in typed form,
//! and rows set aside with file, line, reason and remedy. Memory does not grow
//! with the files.

use std::collections::BTreeMap;

use sha2::{Digest, Sha256};

use crate::extracts::ExtractError;
use crate::extracts::csv::{CsvExtract, RawRow};
use crate::extracts::files::ExtractFile;
use crate::warehouse::digest::{self, hex};
use crate::warehouse::tables::{OPTIONAL_COLUMNS, SOURCE_TABLES, SourceTable, set_aside_schema};
use crate::warehouse::{Site, TableEntry, TableWriter};

use super::IntakeError;
use super::field::{Batches, Field};
use super::judge::{Accepted, Judge};
use super::reason::SetAside;

/// Rows collected before they are written.
const BATCH_ROWS: usize = 8192;

/// What was read.
#[derive(Debug, Default)]
pub struct Staged {
    /// Accepted rows by table, in the scratch folder.
    pub tables: BTreeMap<&'static str, TableEntry>,
    /// Rows set aside, in the scratch folder.
    pub set_aside: TableEntry,
    /// Each file, in the order read.
    pub files: Vec<StagedFile>,
}

/// One file that was read.
#[derive(Clone, Debug)]
pub struct StagedFile {
    /// As given.
    pub path: String,
    /// The table it holds.
    pub table: &'static str,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Rows in it.
    pub rows_in: u64,
    /// Columns that are not in the contract.
    pub ignored_columns: Vec<String>,
}

/// A table being written, a batch at a time.
struct Sink {
    batches: Batches,
    writer: TableWriter,
}

impl Sink {
    fn push(&mut self, row: &[Field], table: &'static str) -> Result<(), IntakeError> {
        self.batches.push(row);
        if self.batches.rows() >= BATCH_ROWS {
            self.flush(table)?;
        }
        Ok(())
    }

    fn flush(&mut self, table: &'static str) -> Result<(), IntakeError> {
        let batch = self
            .batches
            .take()
            .map_err(|source| IntakeError::Rows { table, source })?;
        Ok(self.writer.push(&batch)?)
    }

    fn finish(mut self, table: &'static str) -> Result<TableEntry, IntakeError> {
        self.flush(table)?;
        Ok(self.writer.finish()?)
    }
}

/// Reads all files into the scratch folder of a snapshot being built.
///
/// `progress` is told the name of each file before it is read.
///
/// # Errors
/// When a file is refused as a whole, or cannot be read or written.
pub fn stage(
    files: &[ExtractFile],
    judge: &Judge<'_>,
    site: &Site,
    progress: &mut dyn FnMut(&str),
) -> Result<Staged, IntakeError> {
    let mut staged = Staged::default();
    let mut sinks: BTreeMap<&'static str, Sink> = BTreeMap::new();
    let schema = set_aside_schema();
    let mut aside = Sink {
        writer: site.scratch_table("staged_set_aside", &schema)?,
        batches: Batches::new(schema),
    };
    let mut seq = 0;
    for file in files {
        let Some(table) = SourceTable::named(file.table) else {
            continue;
        };
        let name = file.path.display().to_string();
        progress(&name);
        let sink = match sinks.entry(table.name) {
            std::collections::btree_map::Entry::Occupied(of) => of.into_mut(),
            std::collections::btree_map::Entry::Vacant(place) => place.insert(Sink {
                writer: site.scratch_table(&format!("staged_{}", table.name), &table.schema())?,
                batches: Batches::new(table.schema()),
            }),
        };
        let mut extract = CsvExtract::open(&file.path, &table.column_names(), &OPTIONAL_COLUMNS)?;
        let mut rows_in = 0;
        while let Some(raw) = extract.next_row()? {
            rows_in += 1;
            seq += 1;
            let place = Place {
                load: site.load(),
                seq,
                file: &name,
                line: raw.line,
            };
            match judged(judge, table, &raw) {
                Ok(accepted) => sink.push(&place.row(table, &raw, accepted), table.name)?,
                Err(why) => aside.push(&place.aside(table, &raw, &why), table.name)?,
            }
        }
        staged.files.push(StagedFile {
            path: name,
            table: table.name,
            sha256: digest::of_file(&file.path).map_err(|source| ExtractError::Unreadable {
                path: file.path.clone(),
                source,
            })?,
            rows_in,
            ignored_columns: extract.ignored().to_vec(),
        });
    }
    staged.set_aside = aside.finish("set_aside")?;
    for table in SOURCE_TABLES {
        if let Some(sink) = sinks.remove(table.name) {
            staged.tables.insert(table.name, sink.finish(table.name)?);
        }
    }
    Ok(staged)
}

/// Judges a row as it was read; one that could not be split is set aside.
///
/// # Errors
/// Why the row is set aside.
pub fn judged(judge: &Judge<'_>, table: &'static SourceTable, raw: &RawRow) -> Result<Accepted, SetAside> {
    match &raw.cells {
        Ok(cells) => judge.row(table, cells),
        Err(fault) => Err(SetAside::new((*fault).into(), "", "")),
    }
}

/// Where a row was read.
pub struct Place<'a> {
    /// Number of the load.
    pub load: i64,
    /// Its place within the load.
    pub seq: i64,
    /// The file.
    pub file: &'a str,
    /// Its line, counted from 1.
    pub line: u64,
}

impl Place<'_> {
    /// The accepted row's own fields, then those every stored row carries.
    pub fn row(&self, table: &SourceTable, raw: &RawRow, accepted: Accepted) -> Vec<Field> {
        let maybe_text = |text: Option<String>| text.map_or(Field::Null, Field::Text);
        let mut row = accepted.fields;
        row.extend([
            Field::Text(accepted.row_id),
            maybe_text(accepted.infant_id),
            Field::int(accepted.event_s),
            maybe_text(accepted.local_month),
            Field::int(accepted.until_s),
            maybe_text(accepted.until_month),
            Field::Int(accepted.version_rank),
            Field::int(accepted.version_s),
            if accepted.withdrawn {
                Field::text("withdrawn")
            } else {
                Field::Null
            },
            Field::int(accepted.recorded_s),
            Field::Text(row_hash(table, raw)),
            Field::Int(self.load),
            Field::Int(self.seq),
            Field::text(self.file),
            Field::Int(self.line as i64),
        ]);
        row
    }

    /// The row set aside, as it is stored.
    pub fn aside(&self, table: &SourceTable, raw: &RawRow, why: &SetAside) -> Vec<Field> {
        let row_id = raw.cells.as_ref().ok().and_then(|cells| cells.first());
        vec![
            Field::text(table.name),
            row_id.map_or(Field::Null, |id| Field::text(id)),
            Field::text(why.column),
            Field::text(&why.cell),
            Field::text(why.reason.word()),
            Field::text(&why.remedy),
            Field::text(&raw.text),
            Field::Text(row_hash(table, raw)),
            Field::Int(self.load),
            Field::Int(self.seq),
            Field::text(self.file),
            Field::Int(self.line as i64),
        ]
    }
}

/// Same table and same cells, same hash: 128 bits of SHA-256.
fn row_hash(table: &SourceTable, raw: &RawRow) -> String {
    let mut hash = Sha256::new();
    hash.update(table.name);
    match &raw.cells {
        Ok(cells) => {
            for cell in cells {
                hash.update([0x1f]);
                hash.update(cell);
            }
        }
        Err(_) => {
            hash.update([0x1e]);
            hash.update(&raw.text);
        }
    }
    hex(&hash.finalize()[..16])
}
