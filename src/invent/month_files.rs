//! The extract files: seven in each month's folder, opened in order, closed as soon as no event
//! of a later birth can fall into them.

use std::collections::VecDeque;
use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};

use crate::warehouse::tables::SOURCE_TABLES;

use super::clock::Calendar;
use super::error::InventError;

/// A table of an extract: the first of the source tables, in their order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Table {
    Births,
    Screens,
    Serum,
    Phototherapy,
    Stays,
    Exchanges,
    MeterChecks,
}

struct OpenFile {
    path: PathBuf,
    writer: BufWriter<File>,
}

/// The files that are open, a few months at a time.
pub(crate) struct MonthFiles<'a> {
    out: &'a Path,
    calendar: &'a Calendar,
    first_open: usize,
    open: VecDeque<Vec<OpenFile>>,
}

impl<'a> MonthFiles<'a> {
    /// Files in an out folder that exists.
    pub(crate) fn new(out: &'a Path, calendar: &'a Calendar) -> MonthFiles<'a> {
        MonthFiles {
            out,
            calendar,
            first_open: 0,
            open: VecDeque::new(),
        }
    }

    /// Adds a line, which ends with a line feed, to a month that is not closed yet.
    pub(crate) fn append(&mut self, month: usize, table: Table, line: &str) -> Result<(), InventError> {
        self.open_through(month)?;
        let file = &mut self.open[month - self.first_open][table as usize];
        let written = file.writer.write_all(line.as_bytes());
        written.map_err(InventError::io("write", &file.path))
    }

    /// Closes the earliest open month.
    pub(crate) fn close_first(&mut self) -> Result<(), InventError> {
        self.open_through(self.first_open)?;
        self.first_open += 1;
        for mut file in self.open.pop_front().into_iter().flatten() {
            let flushed = file.writer.flush();
            flushed.map_err(InventError::io("write", &file.path))?;
        }
        Ok(())
    }

    fn open_through(&mut self, month: usize) -> Result<(), InventError> {
        while self.first_open + self.open.len() <= month {
            let next = self.first_open + self.open.len();
            let folder = self.out.join(self.calendar.name(next));
            fs::create_dir_all(&folder).map_err(InventError::io("create", &folder))?;
            let files =
                SOURCE_TABLES[..=Table::MeterChecks as usize]
                    .iter()
                    .map(|table| -> Result<OpenFile, InventError> {
                        let path = folder.join(format!("{}.csv", table.name));
                        let file = File::create(&path).map_err(InventError::io("create", &path))?;
                        let mut writer = BufWriter::with_capacity(1 << 16, file);
                        let header = writeln!(writer, "{}", table.column_names().join(","));
                        header.map_err(InventError::io("write", &path))?;
                        Ok(OpenFile { path, writer })
                    });
            let files: Result<Vec<OpenFile>, InventError> = files.collect();
            self.open.push_back(files?);
        }
        Ok(())
    }
}
