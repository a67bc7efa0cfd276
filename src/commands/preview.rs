//! `siskin load --preview`: how each cell of the first rows is read, without loading anything.

use crate::cli::Load;
use crate::error::Error;
use crate::extracts::files::ExtractFile;
use crate::extracts::mapped::preview;
use crate::extracts::readers::Readers;
use crate::extracts::record::{Code, Record};
use crate::intake::judge::Judge;
use crate::protocol::Protocol;

use super::build::sources_of;
use super::output::Say;
use crate::warehouse::Warehouse;

/// Records of each file that are shown.
const RECORDS_SHOWN: usize = 5;

/// Shows the first records of each file.
pub(super) fn run(options: &Load, files: &[ExtractFile], warehouse: &Warehouse, say: &Say) -> Result<(), Error> {
    let protocol = Protocol::read(&warehouse.protocol_path())?;
    let sources = sources_of(warehouse)?;
    let mut readers = Readers::new(&sources, protocol.zone());
    let judge = Judge {
        zone: protocol.zone(),
        plausible: protocol.plausible(),
    };
    for file in files {
        readers.learn(file)?;
    }
    for file in files {
        say.result(&format!("{}: read as {}\n", file.path.display(), file.form.word()))?;
        let mut reader = readers.open(file)?;
        let mut shown = 0;
        while shown < RECORDS_SHOWN {
            let Some(record) = reader.next_record()? else { break };
            say.result(&described(&record, &judge))?;
            shown += 1;
        }
        let unread = reader.unread_columns();
        if !unread.is_empty() {
            say.result(&format!("  columns left unread: {}\n", unread.join(", ")))?;
        }
        for remark in reader.remarks() {
            say.remark(&remark);
        }
    }
    if options.dry_run {
        say.remark("a preview loads nothing; --dry-run reads all rows and says what would become of them");
    }
    Ok(())
}

/// One record: each row with its cells, and what would become of it.
fn described(record: &Record, judge: &Judge<'_>) -> String {
    let mut text = format!("  line {}\n", record.line);
    if let Some(fault) = &record.fault {
        let remedy = fault.remedy.as_deref().unwrap_or("");
        text.push_str(&format!("    cannot be read: {}\n", remedy));
    }
    for Code { system, code, display } in &record.unmapped {
        text.push_str(&format!("    in no table: {system} {code} {display}\n"));
    }
    if record.rows.is_empty() && record.unmapped.is_empty() && record.fault.is_none() {
        text.push_str("    of no table, as sources.toml says\n");
    }
    for row in &record.rows {
        let alone = Record {
            rows: vec![row.clone()],
            ..Record::default()
        };
        let part = if row.is_part { ", part of a row" } else { "" };
        text.push_str(&format!("    {}{part}\n", row.table.name));
        for cell in preview(&alone) {
            let read = match &cell.read {
                Ok(value) => value.clone(),
                Err(fault) => format!("CANNOT BE READ: {}", fault.remedy.as_deref().unwrap_or("")),
            };
            let written = if cell.raw == read {
                String::new()
            } else {
                format!("  from '{}'", cell.raw)
            };
            text.push_str(&format!("      {:<16} {read}{written}\n", cell.column));
        }
        if let (None, Err(why)) = (&row.fault, judge.row(row)) {
            text.push_str(&format!(
                "      would be set aside: {} in {}: {}\n",
                why.reason.word(),
                why.column,
                why.remedy
            ));
        }
    }
    text
}
