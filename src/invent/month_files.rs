//! The extract files: seven in each month's folder, opened in order, closed as soon as no event
//! of a later birth can fall into them.

use std::collections::VecDeque;
use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};

use super::clock::Calendar;
use super::error::InventError;

/// A table of an extract.
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

impl Table {
    /// All tables.
    pub(crate) const ALL: [Table; 7] = [
        Table::Births,
        Table::Screens,
        Table::Serum,
        Table::Phototherapy,
        Table::Stays,
        Table::Exchanges,
        Table::MeterChecks,
    ];

    /// The name of its file.
    pub(crate) fn file_name(self) -> &'static str {
        match self {
            Table::Births => "births.csv",
            Table::Screens => "screens.csv",
            Table::Serum => "serum.csv",
            Table::Phototherapy => "phototherapy.csv",
            Table::Stays => "stays.csv",
            Table::Exchanges => "exchanges.csv",
            Table::MeterChecks => "meter_checks.csv",
        }
    }

    /// Its columns.
    pub(crate) fn columns(self) -> &'static str {
        match self {
            Table::Births => {
                "infant_id,mother_id,born_at,gestation,birth_weight_g,sex,plurality,birth_order,unit,feeding,risk_factors,skin_tone,ethnicity"
            }
            Table::Screens => {
                "screen_id,infant_id,measured_at,value,unit_of_measure,body_site,readings,meter_id,operator_id,id_entry,setting,unit"
            }
            Table::Serum => {
                "specimen_id,infant_id,collected_at,resulted_at,value,unit_of_measure,analyte,specimen,status,unit"
            }
            Table::Phototherapy => "episode_id,infant_id,started_at,stopped_at,kind,setting,unit",
            Table::Stays => "stay_id,infant_id,unit,admitted_at,discharged_at,source,disposition,diagnoses",
            Table::Exchanges => "exchange_id,infant_id,performed_at,unit",
            Table::MeterChecks => "check_id,meter_id,checked_at,outcome,unit",
        }
    }
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
            let files = Table::ALL.map(|table| -> Result<OpenFile, InventError> {
                let path = folder.join(table.file_name());
                let file = File::create(&path).map_err(InventError::io("create", &path))?;
                let mut writer = BufWriter::with_capacity(1 << 16, file);
                let header = writeln!(writer, "{}", table.columns());
                header.map_err(InventError::io("write", &path))?;
                Ok(OpenFile { path, writer })
            });
            let files: Result<Vec<OpenFile>, InventError> = files.into_iter().collect();
            self.open.push_back(files?);
        }
        Ok(())
    }
}
