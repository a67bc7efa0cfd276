//! One row of a file as a record: which tables it feeds, and what it says there.

use super::cell::{ColumnPlan, Spelling};
use super::plan::{Plan, TargetPlan};
use super::words::folded;
use crate::extracts::delimited::Row;
use crate::extracts::reason::Reason;
use crate::extracts::record::{Cell, Code, Fault, Record, SourceRow};

/// What the row says, and whether it is one that the mapping ignores.
pub(super) fn record(plan: &Plan, row: Row) -> (Record, bool) {
    let mut record = Record {
        line: row.line,
        text: row.text,
        ..Record::default()
    };
    let cells = match row.cells {
        Ok(cells) => cells,
        Err(fault) => {
            record.fault = Some(fault);
            return (record, false);
        }
    };
    if let Some(total) = total(plan, &cells) {
        record.unmapped.push(total);
        return (record, false);
    }
    if cells.len() != plan.width {
        let remedy = format!(
            "the row has {} cells and the header {}; quote a cell that holds the delimiter",
            cells.len(),
            plan.width
        );
        record.fault = Some(Fault::of_record(Reason::WrongNumberOfCells).with_remedy(remedy));
        return (record, false);
    }
    let fed = plan.targets.iter().filter(|target| target.takes(&cells));
    record.rows = fed.map(|target| target.row(&cells, &plan.spelling)).collect();
    let is_known = |target: &TargetPlan| target.has_conditions() && target.takes(&cells);
    if !plan.targets.iter().any(TargetPlan::has_conditions) || plan.targets.iter().any(is_known) {
        return (record, false);
    }
    let is_ignored = plan.ignore.iter().any(|condition| condition.holds(&cells));
    if !is_ignored {
        record.unmapped.push(unmapped(plan, &cells));
    }
    (record, is_ignored)
}

fn total(plan: &Plan, cells: &[String]) -> Option<Code> {
    let first = folded(cells.first()?);
    let begins = |line: &&String| !line.is_empty() && first.starts_with(line.as_str());
    let line = plan.total_lines.iter().find(begins)?;
    Some(Code {
        system: "total_lines".to_owned(),
        code: line.clone(),
        display: String::new(),
    })
}

/// The cells that decide on the table, of a row that is for none of them.
fn unmapped(plan: &Plan, cells: &[String]) -> Code {
    let mut names: Vec<&str> = Vec::new();
    let mut said: Vec<&str> = Vec::new();
    let conditions = plan
        .targets
        .iter()
        .flat_map(|target| target.when.iter().chain(&target.unless));
    for condition in conditions {
        if !names.contains(&condition.name.as_str()) {
            names.push(&condition.name);
            said.push(condition.cell(cells));
        }
    }
    Code {
        system: names.join(", "),
        code: said.join(", "),
        display: String::new(),
    }
}

impl TargetPlan {
    fn has_conditions(&self) -> bool {
        !self.when.is_empty() || !self.unless.is_empty()
    }

    fn takes(&self, cells: &[String]) -> bool {
        self.when.iter().all(|condition| condition.holds(cells))
            && !self.unless.iter().any(|condition| condition.holds(cells))
    }

    fn row(&self, cells: &[String], how: &Spelling) -> SourceRow {
        let mut row = if self.is_part {
            SourceRow::part_of(self.table)
        } else {
            SourceRow::of(self.table)
        };
        for column in &self.columns {
            let cell = column.read(cells, how).unwrap_or_else(|fault| {
                let as_written = Cell::from(fault.cell.as_str());
                row.fail(fault);
                as_written
            });
            row.unit_assumed |= column.is_assumed;
            if self.is_part {
                row.say_if_any(column.column, cell);
            } else {
                row.say(column.column, cell);
            }
        }
        for column in &self.columns {
            column.say_status(&mut row);
        }
        row
    }
}

impl ColumnPlan {
    /// A word in place of a value makes a result that is out a failed attempt, or what it means.
    fn say_status(&self, row: &mut SourceRow) {
        let written = row.value(self.column).to_owned();
        let Some(status) = self.status_words.listed(&written) else {
            return;
        };
        if matches!(row.value("status"), "" | "final" | "corrected") {
            let raw = row.value("status").to_owned();
            row.say("status", Cell::read_from(&raw, status.to_owned()));
        }
    }
}
