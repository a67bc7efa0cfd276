//! What every reader yields, whatever the format: records that know their line
//! and original text, each saying something about rows of the tables.
//!
//! ```text
//! file ──reader──▶ Record ──▶ SourceRow (one for each table it speaks of)
//!                              └ cells in the order of the contract, or a Fault
//! ```

use super::reason::Reason;
use crate::warehouse::tables::{OPTIONAL_COLUMNS, SourceTable};

/// One record of a file: a line of CSV, a FHIR resource, an HL7 v2 message.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Record {
    /// Line on which it begins, counted from 1.
    pub line: u64,
    /// The record as it stands in the file (bytes that are no text replaced).
    pub text: String,
    /// What it says about rows. None for a record that is of no table.
    pub rows: Vec<SourceRow>,
    /// Why nothing of it can be read; then it has no rows.
    pub fault: Option<Fault>,
    /// Codes it carries that no table wants; counted, not stored.
    pub unmapped: Vec<Code>,
}

/// What one record says about one row of one table.
#[derive(Clone, Debug, PartialEq)]
pub struct SourceRow {
    /// The table.
    pub table: &'static SourceTable,
    /// A cell for each column of the table, then `record_status` and `recorded_at`;
    /// `None` where the record says nothing.
    pub cells: Vec<Option<Cell>>,
    /// It states only part of the row: where it says nothing, what earlier rows of the
    /// same id said stays. Otherwise what is not said is unknown.
    pub is_part: bool,
    /// Its unit is the one declared for a source that states none.
    pub unit_assumed: bool,
    /// Why it cannot be taken; the row is set aside.
    pub fault: Option<Fault>,
}

/// What a cell says, in the spelling of the contract, and as it was written.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Cell {
    /// As the contract wants it: ISO 8601 times, a decimal point, the words of the trade.
    pub value: String,
    /// As it stands in the source, when that is different.
    pub raw: Option<String>,
}

/// A code as the source gives it.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Code {
    /// Where the code comes from: a code system, or the column of a CSV file.
    pub system: String,
    /// The code.
    pub code: String,
    /// Its words, when the source gives them.
    pub display: String,
}

/// Why a record or a cell cannot be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Why, with its usual remedy.
    pub kind: Reason,
    /// The column at fault; empty when it is the whole record.
    pub column: String,
    /// What stands there.
    pub cell: String,
    /// What to do, when more can be said than follows from the kind.
    pub remedy: Option<String>,
}

impl SourceRow {
    /// A row that says nothing yet.
    pub fn of(table: &'static SourceTable) -> Self {
        Self {
            table,
            cells: vec![None; table.columns.len() + OPTIONAL_COLUMNS.len()],
            is_part: false,
            unit_assumed: false,
            fault: None,
        }
    }

    /// A row that states only part of what is known of its id.
    pub fn part_of(table: &'static SourceTable) -> Self {
        Self {
            is_part: true,
            ..Self::of(table)
        }
    }

    /// Where a column stands among the cells.
    pub fn place(&self, column: &str) -> Option<usize> {
        let own = self.table.columns.iter().map(|(name, _)| *name);
        own.chain(OPTIONAL_COLUMNS).position(|name| name == column)
    }

    /// Says a cell; an empty one says that it is empty. A column that the table does not
    /// have is left alone.
    pub fn say(&mut self, column: &str, cell: impl Into<Cell>) {
        if let Some(place) = self.place(column) {
            self.cells[place] = Some(cell.into());
        }
    }

    /// Says a cell unless it is empty.
    pub fn say_if_any(&mut self, column: &str, cell: impl Into<Cell>) {
        let cell = cell.into();
        if !cell.value.is_empty() {
            self.say(column, cell);
        }
    }

    /// Its id, which is its first column; `None` where it is not given.
    pub fn row_id(&self) -> Option<&str> {
        Some(self.cells.first()?.as_ref()?.value.as_str())
    }

    /// What a column says; empty when nothing.
    pub fn value(&self, column: &str) -> &str {
        let cell = self.place(column).and_then(|place| self.cells[place].as_ref());
        cell.map_or("", |cell| &cell.value)
    }

    /// Notes why the row cannot be taken; the first fault counts.
    pub fn fail(&mut self, fault: Fault) {
        self.fault.get_or_insert(fault);
    }
}

impl Cell {
    /// A cell that is written differently in the source.
    pub fn read_from(raw: &str, value: String) -> Self {
        let raw = (raw != value).then(|| raw.to_owned());
        Self { value, raw }
    }

    /// As it stands in the source.
    pub fn as_written(&self) -> &str {
        self.raw.as_deref().unwrap_or(&self.value)
    }
}

impl From<String> for Cell {
    fn from(value: String) -> Self {
        Self { value, raw: None }
    }
}

impl From<&str> for Cell {
    fn from(value: &str) -> Self {
        value.to_owned().into()
    }
}

impl Fault {
    /// A fault of the whole record.
    pub fn of_record(kind: Reason) -> Self {
        Self::of_cell(kind, "", "")
    }

    /// A fault of one cell.
    pub fn of_cell(kind: Reason, column: &str, cell: &str) -> Self {
        Self {
            kind,
            column: column.to_owned(),
            cell: cell.to_owned(),
            remedy: None,
        }
    }

    /// Adds what to do.
    pub fn with_remedy(mut self, remedy: impl Into<String>) -> Self {
        self.remedy = Some(remedy.into());
        self
    }
}
