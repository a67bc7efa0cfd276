//! Reads extracts record by record into scratch tables: accepted rows in typed
//! form, and rows set aside with file, line, reason and remedy. Memory does not
//! grow with the files.
//!
//! One thread reads a file and writes what others have judged of it, in the order of the file.

use std::collections::{BTreeMap, VecDeque};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::sync::{Mutex, PoisonError};

use crate::extracts::ExtractError;
use crate::extracts::files::ExtractFile;
use crate::extracts::readers::Readers;
use crate::extracts::record::{Record, SourceRow};
use crate::warehouse::digest;
use crate::warehouse::tables::{SOURCE_TABLES, UNREADABLE_RECORDS, set_aside_schema};
use crate::warehouse::{ScratchRows, ScratchWriter, Site, TableEntry, TableWriter};

use super::IntakeError;
use super::judge::Judge;
use super::keys;
use super::piece::{Counts, Judged, Origin, Piece, places_of, schema_of};
use super::results;
use super::unmapped::Unmapped;

/// Records judged at a time.
const RECORDS_OF_A_PIECE: usize = 4096;

/// Most threads that judge: one reader feeds no more, and the pieces under way lie in memory.
const MOST_THREADS: usize = 4;

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
    /// Remarks on the files, for the user.
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

/// Reads files, and rows that were set aside, into the scratch folder of a snapshot being built.
pub struct Stage<'a> {
    judge: &'a Judge<'a>,
    site: &'a Site,
    threads: usize,
    tables: BTreeMap<&'static str, ScratchWriter>,
    aside: ScratchWriter,
    keys: TableWriter,
    seq: i64,
    staged: Staged,
}

/// Records of a file that are judged together, and where the outcome goes.
struct Chunk {
    records: Vec<Record>,
    after: i64,
    header_text: String,
    done: SyncSender<Result<Judged, IntakeError>>,
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
        let of_id = |row: &&SourceRow| self.row_id.is_some() && results::row_id(row).as_deref() == self.row_id;
        let own: Vec<&SourceRow> = of_table.iter().copied().filter(of_id).collect();
        if own.is_empty() { of_table } else { own }
    }
}

impl<'a> Stage<'a> {
    /// Nothing read yet; rows are judged by so many threads, four at most.
    ///
    /// # Errors
    /// When the scratch folder cannot be written.
    pub fn new(judge: &'a Judge<'a>, site: &'a Site, threads: usize) -> Result<Self, IntakeError> {
        Ok(Self {
            judge,
            site,
            threads: threads.min(MOST_THREADS),
            tables: BTreeMap::new(),
            aside: site.scratch_rows("staged_set_aside", &set_aside_schema())?,
            keys: site.scratch_table("staged_keys", &keys::schema())?,
            seq: 0,
            staged: Staged::default(),
        })
    }

    /// Reads one file; `progress` is called now and then with how many records were read.
    ///
    /// # Errors
    /// When it is refused as a whole, or cannot be read or written.
    pub fn file(
        &mut self,
        file: &ExtractFile,
        readers: &mut Readers<'_>,
        progress: &mut dyn FnMut(u64),
    ) -> Result<(), IntakeError> {
        let name = file.path.display().to_string();
        let form = file.form.word();
        let mut reader = readers.open(file)?;
        let mut counts: Counts = reader.tables().into_iter().map(|table| (table, 0)).collect();
        let origin = Origin {
            load: self.site.load(),
            file: &name,
            form: &form,
            header_text: "",
        };
        let judge = self.judge;
        let (chunks, waiting) = sync_channel::<Chunk>(self.threads);
        let waiting = Mutex::new(waiting);
        std::thread::scope(|scope| {
            // Dropped at any end of this block, so that those who judge end as well.
            let chunks = chunks;
            for _ in 0..self.threads {
                scope.spawn(|| judge_chunks(&waiting, judge, origin));
            }
            let mut under_way: VecDeque<Receiver<Result<Judged, IntakeError>>> = VecDeque::new();
            let mut records = 0;
            loop {
                let mut chunk = Vec::with_capacity(RECORDS_OF_A_PIECE);
                let after = self.seq;
                while chunk.len() < RECORDS_OF_A_PIECE
                    && let Some(record) = reader.next_record()?
                {
                    for code in &record.unmapped {
                        self.staged.unmapped.add(&name, code);
                    }
                    self.seq += places_of(&record);
                    chunk.push(record);
                }
                let is_last = chunk.len() < RECORDS_OF_A_PIECE;
                records += chunk.len() as u64;
                if !chunk.is_empty() {
                    let (done, judged) = sync_channel(1);
                    under_way.push_back(judged);
                    // Those who judge are there as long as chunks come.
                    let _ = chunks.send(Chunk {
                        records: chunk,
                        after,
                        header_text: reader.header_text().to_owned(),
                        done,
                    });
                }
                while under_way.len() > self.threads || (is_last && !under_way.is_empty()) {
                    let judged = under_way.pop_front().map(|judged| judged.recv());
                    // Nothing comes of a piece only when judging it panicked; so does the scope then.
                    let Some(Ok(judged)) = judged else {
                        return Ok(());
                    };
                    self.write(judged?, &mut counts)?;
                }
                progress(records);
                if is_last {
                    return Ok::<(), IntakeError>(());
                }
            }
        })?;
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
    /// that could be taken in now. Where it may be one of several rows, those that can be taken
    /// in are staged, so that none waits for another; it is taken in once all can be. Of a whole
    /// record some rows may be set aside now, each for itself.
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
            load: self.site.load(),
            file,
            form,
            header_text: "",
        };
        let is_whole = which.table == UNREADABLE_RECORDS;
        let rows: Vec<&SourceRow> = match is_whole {
            true => record.rows.iter().collect(),
            false => which.among(&record.rows),
        };
        let all = rows.len();
        let rows: Vec<&SourceRow> = match is_whole {
            true => rows,
            false => rows.into_iter().filter(|row| self.judge.row(row).is_ok()).collect(),
        };
        if rows.is_empty() {
            return Ok(false);
        }
        let is_mended = rows.len() == all;
        let mut piece = Piece::after(self.seq, self.judge);
        self.seq += rows.len() as i64;
        for row in rows {
            piece.row(record, row, origin);
        }
        let mut counts = Counts::new();
        self.write(piece.finish()?, &mut counts)?;
        self.count(file, "", counts);
        Ok(is_mended)
    }

    /// What was read.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn finish(mut self) -> Result<Staged, IntakeError> {
        let mut staged = self.staged;
        staged.set_aside = Some(self.aside.finish()?);
        staged.keys = self.keys.finish()?;
        for table in SOURCE_TABLES {
            if let Some(writer) = self.tables.remove(table.name) {
                staged.tables.insert(table.name, writer.finish()?);
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

    /// Writes the rows of a piece, and counts them.
    fn write(&mut self, judged: Judged, counts: &mut Counts) -> Result<(), IntakeError> {
        for (table, n) in judged.counts {
            *counts.entry(table).or_default() += n;
        }
        for (table, rows) in &judged.tables {
            if !self.tables.contains_key(table) {
                let writer = self.site.scratch_rows(&format!("staged_{table}"), &schema_of(table))?;
                self.tables.insert(table, writer);
            }
            if let Some(writer) = self.tables.get_mut(table) {
                writer.push(rows)?;
            }
        }
        if judged.aside.num_rows() > 0 {
            self.aside.push(&judged.aside)?;
        }
        Ok(self.keys.push(&judged.keys)?)
    }
}

/// Judges chunk after chunk, until no more come.
fn judge_chunks(waiting: &Mutex<Receiver<Chunk>>, judge: &Judge<'_>, origin: Origin<'_>) {
    let next = || waiting.lock().unwrap_or_else(PoisonError::into_inner).recv();
    while let Ok(chunk) = next() {
        let mut piece = Piece::after(chunk.after, judge);
        for record in &chunk.records {
            let header_text = &chunk.header_text;
            piece.record(record, Origin { header_text, ..origin });
        }
        // When nobody waits for it, reading has failed.
        let _ = chunk.done.send(piece.finish());
    }
}
