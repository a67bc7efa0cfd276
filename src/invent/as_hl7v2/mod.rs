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
mod segments;
mod visits;

use std::io::{Error, ErrorKind, Result, Write};

use crate::warehouse::tables::{OPTIONAL_COLUMNS, SourceTable};

use segments::{Message, Segment, component, time};

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

/// A row of the contract.
struct Row<'a> {
    table: &'static SourceTable,
    cells: &'a [String],
}

impl<'a> Row<'a> {
    /// What a column holds.
    fn cell(&self, column: &str) -> &'a str {
        let own = self.table.columns.iter().map(|(name, _)| *name);
        let place = own.chain(OPTIONAL_COLUMNS).position(|name| name == column);
        let cell = place.and_then(|place| self.cells.get(place));
        cell.map_or("", |cell| cell.trim())
    }

    fn is_withdrawn(&self) -> bool {
        self.cell("record_status") == "withdrawn" || self.cell("status") == "withdrawn"
    }

    /// A message of that type, with its header.
    fn message(&self, kind: &str, event: &str) -> Message {
        let header = Segment::named("MSH")
            .set(2, "SISKIN".to_owned())
            .set(6, time(self.cell("recorded_at")))
            .set(8, format!("{kind}^{event}"))
            .set(9, self.control_id())
            .set(10, "P".to_owned())
            .set(11, "2.8".to_owned())
            .set(17, "UNICODE UTF-8".to_owned());
        Message::beginning_with(header.set(1, "^~\\&".to_owned()))
    }

    /// A message of ADT, with its event.
    fn event(&self, event: &str, occurred: &str) -> Message {
        let evn = Segment::named("EVN")
            .set(1, event.to_owned())
            .set(2, time(self.cell("recorded_at")))
            .set(6, time(occurred));
        self.message("ADT", event).with(evn)
    }

    /// The segment of a patient.
    fn patient(&self, id: &str) -> Segment {
        let segment = Segment::named("PID").set(1, "1".to_owned());
        segment.set(3, identifier(self.cell(id)))
    }

    /// Tells messages apart by what they say (FNV-1a, 64 bits): a row written twice is a
    /// message sent twice.
    fn control_id(&self) -> String {
        let mut hash: u64 = 0xcbf2_9ce4_8422_2325;
        let names = [self.table.name].into_iter();
        for text in names.chain(self.cells.iter().map(String::as_str)) {
            for byte in text.bytes().chain([0]) {
                hash = (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
            }
        }
        format!("{hash:016x}")
    }
}

/// A medical record number.
fn identifier(id: &str) -> String {
    match component(id) {
        id if id.is_empty() => id,
        id => id + "^^^^MR",
    }
}
