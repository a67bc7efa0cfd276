//! Writes rows of the contract as a batch of HL7 v2 messages, such that reading them gives
//! the same rows again.
//!
//! ```text
//! births        ADT^A31, observations for what has no field   withdrawn: ADT^A29
//! stays         ADT^A01, with the discharge ADT^A03           withdrawn: ADT^A11
//! phototherapy, exchanges    ADT^A08 with a procedure         withdrawn: its action code D
//! screens, serum, meter_checks    ORU^R01                     withdrawn: result status D
//! merges        ADT^A40                                       withdrawn: ADT^A37
//! ```
//!
//! A message bears the time of its row's `recorded_at`, or none where the row has none, as an
//! invented time would order versions that have no order.

mod results;
mod row;
mod segments;
mod visits;

use std::io::{Error, ErrorKind, Result, Write};

use crate::warehouse::tables::SourceTable;

use row::Row;

/// Writes messages.
#[derive(Debug)]
pub struct Hl7Writer<W: Write> {
    out: W,
    messages: u64,
    is_begun: bool,
}

impl<W: Write> Hl7Writer<W> {
    /// Messages into anything.
    pub fn new(out: W) -> Self {
        Self {
            out,
            messages: 0,
            is_begun: false,
        }
    }

    /// Writes a row of a table: its columns in the order of the contract, then, if there are
    /// more, `record_status` and `recorded_at`.
    ///
    /// # Errors
    /// When there is no such table, or it cannot be written.
    pub fn row(&mut self, table: &str, cells: &[String]) -> Result<()> {
        let table = SourceTable::named(table)
            .ok_or_else(|| Error::new(ErrorKind::InvalidInput, format!("{table} is no table")))?;
        let row = Row { table, cells };
        let message = match table.name {
            "births" => visits::birth(&row),
            "stays" => visits::stay(&row),
            "phototherapy" => visits::phototherapy(&row),
            "exchanges" => visits::exchange(&row),
            "screens" => results::screen(&row),
            "serum" => results::serum(&row),
            "meter_checks" => results::meter_check(&row),
            _ => visits::merge(&row),
        };
        self.begin()?;
        self.messages += 1;
        self.out.write_all(message.text().as_bytes())
    }

    /// Closes the batch with the number of its messages.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn finish(mut self) -> Result<W> {
        self.begin()?;
        write!(self.out, "BTS|{}\r", self.messages)?;
        self.out.flush()?;
        Ok(self.out)
    }

    fn begin(&mut self) -> Result<()> {
        if self.is_begun {
            return Ok(());
        }
        self.is_begun = true;
        self.out.write_all(b"BHS|^~\\&|SISKIN\r")
    }
}
