//! How each cell of a record was read, to be shown before a load.

use crate::extracts::record::{Fault, Record};
use crate::warehouse::tables::OPTIONAL_COLUMNS;

/// One cell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Preview {
    /// Name of the table.
    pub table: &'static str,
    /// Column of the contract; empty for a fault of the whole record.
    pub column: String,
    /// As it stands in the source.
    pub raw: String,
    /// As it was read, or why it cannot be.
    pub read: Result<String, Fault>,
}

/// Every cell that the record says, row by row.
pub fn preview(record: &Record) -> Vec<Preview> {
    let mut all = Vec::new();
    if let Some(fault) = &record.fault {
        all.push(Preview {
            table: "",
            column: String::new(),
            raw: record.text.clone(),
            read: Err(fault.clone()),
        });
    }
    for row in &record.rows {
        let columns = row.table.columns.iter().map(|(name, _)| *name);
        for (column, cell) in columns.chain(OPTIONAL_COLUMNS).zip(&row.cells) {
            let Some(cell) = cell else { continue };
            let fault = row.fault.as_ref().filter(|fault| fault.column == column);
            all.push(Preview {
                table: row.table.name,
                column: column.to_owned(),
                raw: cell.as_written().to_owned(),
                read: fault.map_or_else(|| Ok(cell.value.clone()), |fault| Err(fault.clone())),
            });
        }
    }
    all
}
