//! A report by the binary, and the files and tables of it.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use super::network::run;

/// A row of a table, by column.
pub type TableRow = BTreeMap<String, String>;

/// Writes a month's report of a warehouse; returns the month's folder.
pub fn report(warehouse: &Path, month: &str, out: &Path, more: &[&str]) -> PathBuf {
    let mut arguments = vec!["--quiet", "report", "--warehouse", warehouse.to_str().unwrap()];
    arguments.extend(["--month", month, "--out", out.to_str().unwrap()].iter().chain(more));
    run(&arguments);
    out.join(month)
}

/// All files below a folder, in order.
pub fn files_below(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        match path.is_dir() {
            true => files.extend(files_below(&path)),
            false => files.push(path),
        }
    }
    files.sort();
    files
}

/// The rows of a table; each has as many cells as the header.
pub fn table(text: &str) -> Vec<TableRow> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let header = reader.headers().unwrap().clone();
    let rows = reader.records().map(|row| {
        let row = row.unwrap();
        assert_eq!(row.len(), header.len(), "{row:?}");
        let cells = header.iter().zip(&row);
        cells.map(|(name, cell)| (name.to_owned(), cell.to_owned())).collect()
    });
    rows.collect()
}

/// The rows of a table in a file.
pub fn table_in(path: &Path) -> Vec<TableRow> {
    table(&fs::read_to_string(path).unwrap())
}
