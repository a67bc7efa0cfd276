//! Reads extracts record by record into scratch tables: accepted rows in typed
//! form, and rows set aside with file, line, reason and remedy. Memory does not
//! grow with the files.

use std::collections::BTreeMap;

use arrow::array::RecordBatch;

use crate::extracts::ExtractError;
use crate::extracts::files::ExtractFile;
use crate::extracts::readers::Readers;
use crate::extracts::record::{Record, SourceRow};
use crate::warehouse::digest;
use crate::warehouse::tables::{SOURCE_TABLES, UNREADABLE_RECORDS, set_aside_schema};
use crate::warehouse::{ScratchRows, ScratchWriter, Site, TableEntry, TableWriter, WarehouseError};

use super::IntakeError;
use super::field::{Batches, Field};
use super::judge::Judge;
use super::keys;
use super::place::Place;
use super::unmapped::Unmapped;

/// Rows collected before they are written.
const BATCH_ROWS: usize = 8192;

/// What was read.
#[derive(Debug, Default)]
pub struct Staged {
    /// Accepted rows by table, in the scratch folder.
    pub tables: BTreeMap<&'static str, ScratchRows>,
    /// Rows set aside, in the scratch folder.
    pub set_aside: Option<ScratchRows>,
    /// The keys of both, in the scratch folder.
    pub keys: TableEntry,
    /// Each file and table it fed, in the order read.
    pub files: Vec<StagedFile>,
    /// Codes and words that no table wanted.
    pub unmapped: Unmapped,
    /// What is worth telling about the files.
    pub remarks: Vec<String>,
}

/// One file that was read, and one table it fed.
#[derive(Clone, Debug)]
pub struct StagedFile {
    /// As given.
    pub path: String,
    /// The table.
    pub table: &'static str,
    /// SHA-256 of its bytes; empty for rows read again from what was set aside.
    pub sha256: String,
    /// Rows it gave the table.
    pub rows_in: u64,
}

/// A table being written, a batch at a time.
struct Sink<W> {
    batches: Batches,
    writer: W,
}

/// What takes batches of rows.
trait Writer {
    type Done;
    fn push(&mut self, batch: &RecordBatch) -> Result<(), WarehouseError>;
    fn finish(self) -> Result<Self::Done, WarehouseError>;
}

impl Writer for ScratchWriter {
    type Done = ScratchRows;
    fn push(&mut self, batch: &RecordBatch) -> Result<(), WarehouseError> {
        self.push(batch)
    }
    fn finish(self) -> Result<ScratchRows, WarehouseError> {
        self.finish()
    }
}

impl Writer for TableWriter {
    type Done = TableEntry;
    fn push(&mut self, batch: &RecordBatch) -> Result<(), WarehouseError> {
        self.push(batch)
    }
    fn finish(self) -> Result<TableEntry, WarehouseError> {
        self.finish()
    }
}

impl<W: Writer> Sink<W> {
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

    fn finish(mut self, table: &'static str) -> Result<W::Done, IntakeError> {
        self.flush(table)?;
        Ok(self.writer.finish()?)
    }
}

/// Reads files, and rows that were set aside, into the scratch folder of a snapshot being built.
pub struct Stage<'a> {
    judge: &'a Judge<'a>,
    site: &'a Site,
    sinks: BTreeMap<&'static str, Sink<ScratchWriter>>,
    aside: Sink<ScratchWriter>,
    keys: Sink<TableWriter>,
    seq: i64,
    staged: Staged,
}

/// Where a record comes from.
#[derive(Clone, Copy)]
struct Origin<'a> {
    file: &'a str,
    form: &'a str,
    header_text: &'a str,
}

/// Which row of a record was set aside.
#[derive(Clone, Copy)]
pub struct SetAsideRow<'a> {
    /// The table it was meant for.
    pub table: &'a str,
    /// Its id, where that could be read.
    pub row_id: Option<&'a str>,
}

impl SetAsideRow<'_> {
    /// The rows it may be: those of its id; all of its table where the id was not known, or
    /// is written otherwise now.
    fn among(self, rows: &[SourceRow]) -> Vec<&SourceRow> {
        let of_table: Vec<&SourceRow> = rows.iter().filter(|row| row.table.name == self.table).collect();
        let of_id = |row: &&SourceRow| self.row_id.is_some() && row.row_id() == self.row_id;
        let own: Vec<&SourceRow> = of_table.iter().copied().filter(of_id).collect();
        if own.is_empty() { of_table } else { own }
    }
}

/// Rows by table, as one file gave them.
type Counts = BTreeMap<&'static str, u64>;

impl<'a> Stage<'a> {
    /// Nothing read yet.
    ///
    /// # Errors
    /// When the scratch folder cannot be written.
    pub fn new(judge: &'a Judge<'a>, site: &'a Site) -> Result<Self, IntakeError> {
        let schema = set_aside_schema();
        Ok(Self {
            judge,
            site,
            sinks: BTreeMap::new(),
            aside: Sink {
                writer: site.scratch_rows("staged_set_aside", &schema)?,
                batches: Batches::new(schema),
            },
            keys: Sink {
                writer: site.scratch_table("staged_keys", &keys::schema())?,
                batches: Batches::new(keys::schema()),
            },
            seq: 0,
            staged: Staged::default(),
        })
    }

    /// Reads one file.
    ///
    /// # Errors
    /// When it is refused as a whole, or cannot be read or written.
    pub fn file(&mut self, file: &ExtractFile, readers: &mut Readers<'_>) -> Result<(), IntakeError> {
        let name = file.path.display().to_string();
        let form = file.form.word();
        let mut reader = readers.open(file)?;
        let mut counts: Counts = reader.tables().into_iter().map(|table| (table, 0)).collect();
        while let Some(record) = reader.next_record()? {
            let origin = Origin {
                file: &name,
                form: &form,
                header_text: reader.header_text(),
            };
            self.record(&record, origin, &mut counts)?;
        }
        let unread = reader.unread_columns();
        if !unread.is_empty() {
            let columns = unread.join(", ");
            self.staged
                .remarks
                .push(format!("{name}: not in the contract, left unread: {columns}"));
        }
        self.staged.remarks.extend(reader.remarks());
        let sha256 = digest::of_file(&file.path).map_err(|source| ExtractError::Unreadable {
            path: file.path.clone(),
            source,
        })?;
        self.count(&name, &sha256, counts);
        Ok(())
    }

    /// Reads a record once more of which a row was set aside, or the whole. Returns whether
    /// that could be taken in now; else nothing is staged. Of a whole record some rows may
    /// be set aside now, each for itself.
    ///
    /// # Errors
    /// When a row cannot be written.
    pub fn again(
        &mut self,
        record: &Record,
        which: SetAsideRow<'_>,
        file: &str,
        form: &str,
    ) -> Result<bool, IntakeError> {
        let origin = Origin {
            file,
            form,
            header_text: "",
        };
        let is_whole = which.table == UNREADABLE_RECORDS;
        let rows: Vec<&SourceRow> = match is_whole {
            true => record.rows.iter().collect(),
            false => which.among(&record.rows),
        };
        if rows.is_empty() || !is_whole && rows.iter().any(|row| self.judge.row(row).is_err()) {
            return Ok(false);
        }
        let mut counts = Counts::new();
        for row in rows {
            *counts.entry(row.table.name).or_default() += 1;
            self.row(record, row, origin)?;
        }
        self.count(file, "", counts);
        Ok(true)
    }

    /// What was read.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn finish(mut self) -> Result<Staged, IntakeError> {
        let mut staged = self.staged;
        staged.set_aside = Some(self.aside.finish("set_aside")?);
        staged.keys = self.keys.finish(keys::TABLE)?;
        for table in SOURCE_TABLES {
            if let Some(sink) = self.sinks.remove(table.name) {
                staged.tables.insert(table.name, sink.finish(table.name)?);
            }
        }
        Ok(staged)
    }

    fn count(&mut self, file: &str, sha256: &str, mut counts: Counts) {
        if counts.is_empty() && !sha256.is_empty() {
            // A file that feeds no table is in the ledger as well: it was loaded.
            counts.insert(UNREADABLE_RECORDS, 0);
        }
        for (table, rows_in) in counts {
            self.staged.files.push(StagedFile {
                path: file.to_owned(),
                table,
                sha256: sha256.to_owned(),
                rows_in,
            });
        }
    }

    fn record(&mut self, record: &Record, origin: Origin<'_>, counts: &mut Counts) -> Result<(), IntakeError> {
        for code in &record.unmapped {
            self.staged.unmapped.add(origin.file, code);
        }
        if let Some(fault) = &record.fault {
            *counts.entry(UNREADABLE_RECORDS).or_default() += 1;
            let place = self.place(record, origin);
            let row = place.record_aside(&fault.into());
            let at = place.stand(UNREADABLE_RECORDS, place.record_hash());
            self.keys.push(&keys::of_aside(at, None), keys::TABLE)?;
            return self.aside.push(&row, UNREADABLE_RECORDS);
        }
        for row in &record.rows {
            *counts.entry(row.table.name).or_default() += 1;
            self.row(record, row, origin)?;
        }
        Ok(())
    }

    fn row(&mut self, record: &Record, row: &SourceRow, origin: Origin<'_>) -> Result<(), IntakeError> {
        let place = self.place(record, origin);
        let table = row.table;
        let at = place.stand(table.name, place.hash(row));
        match self.judge.row(row) {
            Ok(accepted) => {
                self.keys.push(&keys::of_accepted(at, &accepted), keys::TABLE)?;
                let stored = place.row(accepted);
                self.sink(table.name)?.push(&stored, table.name)
            }
            Err(why) => {
                self.keys.push(&keys::of_aside(at, row.row_id()), keys::TABLE)?;
                let aside = place.aside(row, self.judge.event(row).as_ref(), &why);
                self.aside.push(&aside, table.name)
            }
        }
    }

    fn place<'r>(&mut self, record: &'r Record, origin: Origin<'r>) -> Place<'r> {
        self.seq += 1;
        Place {
            load: self.site.load(),
            seq: self.seq,
            file: origin.file,
            form: origin.form,
            header_text: origin.header_text,
            record,
        }
    }

    fn sink(&mut self, table: &'static str) -> Result<&mut Sink<ScratchWriter>, IntakeError> {
        use std::collections::btree_map::Entry;
        match self.sinks.entry(table) {
            Entry::Occupied(of) => Ok(of.into_mut()),
            Entry::Vacant(place) => {
                let schema = SOURCE_TABLES.iter().find(|t| t.name == table).map(|t| t.schema());
                let schema = schema.unwrap_or_else(set_aside_schema);
                Ok(place.insert(Sink {
                    writer: self.site.scratch_rows(&format!("staged_{table}"), &schema)?,
                    batches: Batches::new(schema),
                }))
            }
        }
    }
}
