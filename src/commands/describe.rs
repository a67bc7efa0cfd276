//! `siskin describe`: what the tables hold, and what each column means.

use crate::cli::Describe;
use crate::error::Error;
use crate::protocol::ready;
use crate::queries::dictionary::{Dictionary, dictionary};
use crate::queries::{catalogue, figure_tables};
use crate::warehouse::tables::SourceTable;
use crate::warehouse::{Snapshot, TableEntry};

use super::open;
use super::output::Say;

/// Prints all tables, the columns of one, or a ready protocol.
pub(super) async fn run(options: &Describe, say: &Say) -> Result<(), Error> {
    if let Some(text) = options.protocol.as_deref().and_then(ready::text) {
        return say.result(text);
    }
    let dictionary = dictionary().map_err(|error| Error::Fault(error.to_string()))?;
    let snapshot = open::snapshot(&options.snapshot, say).await?;
    say.result(&match &options.table {
        None => tables(&snapshot, dictionary),
        Some(name) => columns(&snapshot, dictionary, name)?,
    })
}

/// The groups in which tables are listed, in the order of the flow.
const GROUPS: [&str; 5] = [
    "extracts, last version of each row",
    "derived",
    "figures",
    "what became of the rows",
    "the protocol",
];

fn group(table: &str) -> usize {
    let is_derived = catalogue::derived().iter().any(|query| query.name == table);
    if SourceTable::named(table).is_some() {
        0
    } else if is_derived {
        1
    } else if figure_tables::NAMES.contains(&table) {
        2
    } else if table.starts_with("protocol_") || table == "local_offsets" {
        4
    } else {
        3
    }
}

fn tables(snapshot: &Snapshot, dictionary: &Dictionary) -> String {
    let stored = &snapshot.manifest().tables;
    let rows = |entry: &TableEntry| entry.rows().to_string();
    let mut all: Vec<(&str, String)> = stored.iter().map(|(name, e)| (name.as_str(), rows(e))).collect();
    all.extend(figure_tables::NAMES.map(|name| (name, "measured".to_owned())));
    let width = all.iter().map(|(name, _)| name.len()).max().unwrap_or(0);
    let mut text = format!("load {}\n", snapshot.manifest().load);
    for (place, title) in GROUPS.iter().enumerate() {
        text.push_str(&format!("\n{title}\n"));
        for (name, rows) in all.iter().filter(|(name, _)| group(name) == place) {
            let about = dictionary.about(name);
            text.push_str(&format!("  {name:<width$}  {rows:>9}  {about}\n"));
        }
    }
    text.push_str("\n`siskin describe TABLE` lists a table's columns; `siskin ask \"SELECT …\"` reads them.\n");
    text
}

/// Units stand in the names of columns.
const UNITS: &str = "
_s: seconds; a moment is counted from 1970 in UTC, an age or a span is as it is
_micro: millionths of a umol/L; sums of them are exact, those of decimals may differ in the last digit
";

fn columns(snapshot: &Snapshot, dictionary: &Dictionary, table: &str) -> Result<String, Error> {
    let name = table.to_lowercase();
    let columns: Vec<(String, String)> = if let Some(entry) = snapshot.manifest().tables.get(&name) {
        let partition = entry.partition.iter();
        let partition = partition.map(|p| (p.clone(), if p == "load" { "int64" } else { "utf8" }.to_owned()));
        let inside = entry.columns.iter().map(|c| (c.name.clone(), c.of.clone()));
        inside.chain(partition).collect()
    } else if figure_tables::NAMES.contains(&name.as_str()) {
        figure_tables::columns(&name)
    } else {
        return Err(Error::NoSuchTable(table.to_owned()));
    };
    let width = columns.iter().map(|(column, _)| column.len()).max().unwrap_or(0);
    let mut text = format!("{name}: {}\n\n", dictionary.about(&name));
    for (column, of) in &columns {
        let meaning = dictionary.meaning(&name, column);
        text.push_str(&format!("  {column:<width$}  {of:<16}  {meaning}\n"));
    }
    text.push_str(UNITS);
    Ok(text)
}
