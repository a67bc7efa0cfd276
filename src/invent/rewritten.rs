//! The invented extracts in another format: each month's CSV files read again, written as a
//! FHIR bulk export or as HL7 v2 messages, and removed.

use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};

use jiff::tz::TimeZone;

use crate::extracts::Reader;
use crate::extracts::csv::CsvExtract;
use crate::extracts::sources::Format;
use crate::warehouse::tables::SOURCE_TABLES;

use super::as_fhir::FhirWriter;
use super::as_hl7v2::Hl7Writer;
use super::error::InventError;

/// Rewrites every month's folder below `out`; CSV stays as it is.
///
/// # Errors
/// When a file cannot be read, written or removed.
pub fn rewrite(out: &Path, format: Format, zone: &TimeZone) -> Result<(), InventError> {
    for entry in fs::read_dir(out).map_err(InventError::io("read", out))? {
        let folder = entry.map_err(InventError::io("read", out))?.path();
        if folder.is_dir() {
            month(&folder, format, zone)?;
        }
    }
    Ok(())
}

fn month(folder: &Path, format: Format, zone: &TimeZone) -> Result<(), InventError> {
    let failed = || InventError::io("write", folder);
    match format {
        Format::Csv => Ok(()),
        Format::Fhir => {
            let mut writer = FhirWriter::new(folder, zone.clone(), &made(folder)).map_err(failed())?;
            rows(folder, &mut |table, cells| writer.row(table, cells))?;
            writer.finish().map_err(failed())
        }
        Format::Hl7v2 => {
            let file = File::create(folder.join("messages.hl7")).map_err(failed())?;
            let mut writer = Hl7Writer::new(BufWriter::new(file));
            rows(folder, &mut |table, cells| writer.row(table, cells))?;
            writer.finish().and_then(|mut out| out.flush()).map_err(failed())
        }
    }
}

/// When the export of a month is said to have been made: its last day.
fn made(folder: &Path) -> String {
    let month = folder.file_name().and_then(|name| name.to_str()).unwrap_or_default();
    format!("{month}-28T23:59:59Z")
}

/// Hands each row of the CSV files of a folder to `write`, table by table, and removes the files.
fn rows(folder: &Path, write: &mut dyn FnMut(&str, &[String]) -> std::io::Result<()>) -> Result<(), InventError> {
    for table in SOURCE_TABLES {
        let path: PathBuf = folder.join(format!("{}.csv", table.name));
        if !path.is_file() {
            continue;
        }
        let unreadable = |error: crate::extracts::ExtractError| {
            InventError::io("read", &path)(std::io::Error::other(error.to_string()))
        };
        let mut extract = CsvExtract::open(&path, table).map_err(unreadable)?;
        while let Some(record) = extract.next_record().map_err(unreadable)? {
            for row in record.rows {
                let cells = row
                    .cells
                    .into_iter()
                    .map(|cell| cell.map(|c| c.value).unwrap_or_default());
                let cells: Vec<String> = cells.collect();
                write(table.name, &cells).map_err(InventError::io("write", folder))?;
            }
        }
        fs::remove_file(&path).map_err(InventError::io("remove", &path))?;
    }
    Ok(())
}
