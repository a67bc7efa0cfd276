//! What became of each version of a table, in the order of loads and rows, read side by side
//! with the rows themselves.

use std::path::Path;

use arrow::array::{Array, AsArray, RecordBatch, StringArray};

use crate::warehouse::{TableEntry, WarehouseError, read_stored};

use super::IntakeError;
use super::columns::{ints, texts};

/// What became of a version.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fate {
    Kept,
    Superseded,
    Withdrawn,
    /// Its baby is in no birth register.
    UnknownBaby,
    /// No version of its id says when.
    Incomplete,
    /// A test too long before the birth.
    BeforeBirth,
    /// A withdrawal that does not say which of several results of a specimen it withdraws.
    WhichResult,
}

impl Fate {
    fn read(word: &str) -> Option<Self> {
        Some(match word {
            "kept" => Self::Kept,
            "superseded" => Self::Superseded,
            "withdrawn" => Self::Withdrawn,
            "held" => Self::UnknownBaby,
            "incomplete" => Self::Incomplete,
            "before_birth" => Self::BeforeBirth,
            "which_result" => Self::WhichResult,
            _ => return None,
        })
    }

    /// The word under which the ledger counts it.
    pub(super) fn counted_as(self) -> &'static str {
        match self {
            Self::Kept => "kept",
            Self::Superseded => "superseded",
            Self::Withdrawn => "withdrawn",
            Self::UnknownBaby | Self::Incomplete | Self::WhichResult => "held",
            Self::BeforeBirth => "set_aside",
        }
    }
}

/// One version, and what became of it.
#[derive(Clone, Debug)]
pub(super) struct OfVersion {
    pub load: i64,
    pub seq: i64,
    pub fate: Fate,
    /// Its place among the versions of what it stands for, the last as 1.
    pub place: i64,
    /// Whether the row that stands is put together of several versions.
    pub is_in_parts: bool,
    /// Whether a later version of its id was set aside.
    pub is_refused_later: bool,
    /// What it stands for; of births, and of rows that are put together.
    pub stands_for: Option<String>,
    /// Its local month.
    pub month: Option<String>,
}

/// The fates of one table, one after the other.
pub(super) struct Fates {
    batches: Box<dyn Iterator<Item = Result<RecordBatch, WarehouseError>>>,
    rows: std::vec::IntoIter<OfVersion>,
    next: Option<OfVersion>,
    found: u64,
}

impl Fates {
    /// Those that were put down as a table in a folder.
    ///
    /// # Errors
    /// When they cannot be read.
    pub(super) fn read(root: &Path, entry: &TableEntry) -> Result<Self, IntakeError> {
        let mut batches = Vec::new();
        for file in &entry.files {
            batches.push(read_stored(&root.join(&file.path), "fates", None)?);
        }
        let mut fates = Self {
            batches: Box::new(batches.into_iter().flatten()),
            rows: Vec::new().into_iter(),
            next: None,
            found: 0,
        };
        fates.step()?;
        Ok(fates)
    }

    /// The load of the next version; `None` at the end.
    pub(super) fn next_load(&self) -> Option<i64> {
        self.next.as_ref().map(|next| next.load)
    }

    /// How many fates met their row so far.
    pub(super) fn found(&self) -> u64 {
        self.found
    }

    /// What became of a version; `None` when it is none that was looked at. Versions must be
    /// asked for in order.
    ///
    /// # Errors
    /// When they cannot be read.
    pub(super) fn of(&mut self, load: i64, seq: i64) -> Result<Option<OfVersion>, IntakeError> {
        while let Some(next) = &self.next {
            if (next.load, next.seq) > (load, seq) {
                return Ok(None);
            }
            let is_it = (next.load, next.seq) == (load, seq);
            let version = self.next.take();
            self.step()?;
            if is_it {
                self.found += 1;
                return Ok(version);
            }
        }
        Ok(None)
    }

    fn step(&mut self) -> Result<(), IntakeError> {
        loop {
            if let Some(next) = self.rows.next() {
                self.next = Some(next);
                return Ok(());
            }
            match self.batches.next() {
                Some(batch) => self.rows = versions(&batch?)?.into_iter(),
                None => {
                    self.next = None;
                    return Ok(());
                }
            }
        }
    }
}

/// The versions of a batch of `fates.sql`.
fn versions(batch: &RecordBatch) -> Result<Vec<OfVersion>, IntakeError> {
    let [loads, seqs, places] = ["load", "seq", "place"].map(|name| ints(batch, name));
    let [words, ids, months] = ["fate", "stands_for", "local_month"].map(|name| texts(batch, name));
    let [parts, refused] = ["is_in_parts", "newer_version_set_aside"].map(|name| batch[name].as_boolean());
    let text = |column: &StringArray, row: usize| column.is_valid(row).then(|| column.value(row).to_owned());
    let version = |row: usize| {
        let word = words.value(row);
        Ok(OfVersion {
            load: loads.value(row),
            seq: seqs.value(row),
            fate: Fate::read(word).ok_or_else(|| IntakeError::UnknownFate { word: word.to_owned() })?,
            place: places.value(row),
            is_in_parts: parts.value(row),
            is_refused_later: refused.value(row),
            stands_for: text(ids, row),
            month: text(months, row),
        })
    };
    (0..batch.num_rows()).map(version).collect()
}
