//! Which rows are meant: cells of a column, as `where` and `ignore` name them.

use super::words::folded;
use crate::extracts::sources::Conditions;

/// Cells of one column.
#[derive(Clone, Debug)]
pub(super) struct Condition {
    /// Where the column stands in the file.
    at: usize,
    /// Its name, as the mapping writes it.
    pub(super) name: String,
    cells: Vec<String>,
}

impl Condition {
    /// All conditions whose column the file has; the other names are added to `missing`.
    pub(super) fn all(of: &Conditions, place: impl Fn(&str) -> Option<usize>, missing: &mut Vec<String>) -> Vec<Self> {
        let mut all = Vec::new();
        for (name, cells) in of {
            match place(name) {
                Some(at) => all.push(Self {
                    at,
                    name: name.clone(),
                    cells: cells.0.iter().map(|cell| folded(cell)).collect(),
                }),
                None => missing.push(name.clone()),
            }
        }
        all
    }

    /// Whether the row has one of the cells.
    pub(super) fn holds(&self, row: &[String]) -> bool {
        let cell = folded(self.cell(row));
        self.cells.contains(&cell)
    }

    /// The row's cell in this column.
    pub(super) fn cell<'a>(&self, row: &'a [String]) -> &'a str {
        row.get(self.at).map_or("", |cell| cell.trim())
    }
}
