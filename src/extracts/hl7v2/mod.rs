//! HL7 v2 messages (2.3 to 2.8): results (ORU) and admissions, transfers, discharges,
//! merges (ADT), as rows of the tables.
//!
//! ```text
//! bytes ──frames──▶ one message ──charset──▶ text ──message──▶ segments and fields
//!         ──adt──▶ births, stays, phototherapy, exchanges, merges
//!         ──results──▶ screens, serum, meter checks
//! ```
//!
//! Contract: one message is one [`Record`], in the order of the file; memory is bounded by
//! one message and what [`Visits`] keeps. What cannot be read is a fault that names segment
//! and field. An empty field says nothing; `""` says that the cell is empty.

mod adt;
mod births;
mod cells;
mod charset;
mod codes;
mod escapes;
mod event;
mod frames;
mod identity;
mod lines;
mod marks;
mod measured;
mod merges;
mod message;
mod order;
mod procedures;
mod results;
mod screens;
mod serum;
mod settings;
mod stay_cells;
mod stays;
mod times;
mod visits;

pub use settings::Hl7Settings;
pub use visits::Visits;

use std::io::BufRead;

use super::reason::Reason;
use super::record::{Code, Fault, Record};

use frames::{Frame, Frames, What};
use message::Message;

/// Reads the messages of a file, one at a time.
#[derive(Debug)]
pub struct Hl7Reader<'a, R> {
    frames: Frames<R>,
    settings: &'a Hl7Settings,
    visits: &'a mut Visits,
}

impl<'a, R: BufRead> Hl7Reader<'a, R> {
    /// Messages from anywhere; `visits` is what earlier files said of visits.
    pub fn new(from: R, settings: &'a Hl7Settings, visits: &'a mut Visits) -> Self {
        Self {
            frames: Frames::new(from),
            settings,
            visits,
        }
    }

    /// The next message, or what stands where one should be; `None` at the end.
    ///
    /// # Errors
    /// When the source cannot be read on.
    pub fn next_record(&mut self) -> std::io::Result<Option<Record>> {
        let frame = self.frames.next_frame()?;
        Ok(frame.map(|frame| self.record(frame)))
    }

    fn record(&mut self, frame: Frame) -> Record {
        let text = String::from_utf8_lossy(&frame.bytes).into_owned();
        let mut record = Record {
            line: frame.line,
            text,
            ..Record::default()
        };
        match frame.what {
            What::Message => match charset::decoded(&frame.bytes, self.settings) {
                Ok(text) => {
                    record.text = text;
                    read_into(&mut record, self.settings, self.visits);
                }
                Err(fault) => record.fault = Some(fault),
            },
            What::Unreadable { cell, remedy } => {
                let fault = Fault::of_cell(Reason::UnreadableRecord, "", &cell);
                record.fault = Some(fault.with_remedy(remedy));
            }
        }
        record
    }
}

/// Reads one message that was kept as text.
pub fn record_of(text: &str, settings: &Hl7Settings, visits: &mut Visits) -> Record {
    let mut record = Record {
        line: 1,
        text: text.to_owned(),
        ..Record::default()
    };
    if text.starts_with(frames::CUT_OFF) {
        let fault = Fault::of_record(Reason::UnreadableRecord);
        record.fault = Some(fault.with_remedy(frames::GET_IT_WHOLE));
    } else if text.contains('\u{fffd}') {
        let fault = Fault::of_record(Reason::NotUtf8);
        record.fault = Some(fault.with_remedy(charset::LOAD_IT_AGAIN));
    } else {
        read_into(&mut record, settings, visits);
    }
    record
}

/// Reads the text of a record; when nothing of it can be read it has a fault and no rows.
fn read_into(record: &mut Record, settings: &Hl7Settings, visits: &mut Visits) {
    let text = std::mem::take(&mut record.text);
    let found = Message::parse(&text, charset::declared(&text, settings))
        .and_then(|message| read_message(&message, settings, visits, &mut record.unmapped));
    match found {
        Ok(rows) => record.rows = rows,
        Err(fault) => record.fault = Some(fault),
    }
    record.text = text;
}

fn read_message(
    message: &Message<'_>,
    settings: &Hl7Settings,
    visits: &mut Visits,
    unmapped: &mut Vec<Code>,
) -> Result<Vec<super::record::SourceRow>, Fault> {
    let header = message.header();
    if let Some(mode @ ("T" | "D")) = header.part(11, 1).as_deref() {
        let remedy = format!("{}: this is a training or test message; leave it out", header.place(11));
        return Err(Fault::of_cell(Reason::UnreadableRecord, "", mode).with_remedy(remedy));
    }
    let kind = header.part(9, 1).unwrap_or_default();
    let event = header.part(9, 2).filter(|event| !event.is_empty());
    let event = event.or_else(|| message.first("EVN").and_then(|evn| evn.part(1, 1)));
    let event = event.unwrap_or_default();
    match (kind.as_str(), event.as_str()) {
        ("ORU", "" | "R01" | "R30" | "R31" | "R32") => results::read(message, settings, unmapped),
        ("ADT", event) if adt::is_read(event) => adt::read(message, event, settings, visits, unmapped),
        ("", _) => {
            let remedy = format!("{}: the type of the message is not given", header.place(9));
            Err(Fault::of_record(Reason::UnreadableRecord).with_remedy(remedy))
        }
        (kind, event) => {
            unmapped.push(Code {
                system: "HL7 v2 message".to_owned(),
                code: format!("{kind}^{event}").trim_end_matches('^').to_owned(),
                display: String::new(),
            });
            Ok(Vec::new())
        }
    }
}
