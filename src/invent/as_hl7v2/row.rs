//! A row of the contract, and the segments that messages of any table begin with.

use crate::warehouse::tables::{OPTIONAL_COLUMNS, SourceTable};

use super::segments::{Message, Segment, identifier, time};

/// A row of the contract.
pub(super) struct Row<'a> {
    pub(super) table: &'static SourceTable,
    pub(super) cells: &'a [String],
}

impl<'a> Row<'a> {
    /// What a column holds.
    pub(super) fn cell(&self, column: &str) -> &'a str {
        let own = self.table.columns.iter().map(|(name, _)| *name);
        let place = own.chain(OPTIONAL_COLUMNS).position(|name| name == column);
        let cell = place.and_then(|place| self.cells.get(place));
        cell.map_or("", |cell| cell.trim())
    }

    pub(super) fn is_withdrawn(&self) -> bool {
        self.cell("record_status") == "withdrawn" || self.cell("status") == "withdrawn"
    }

    /// A message of that type, with its header.
    pub(super) fn message(&self, kind: &str, event: &str) -> Message {
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
    pub(super) fn event(&self, event: &str, occurred: &str) -> Message {
        let evn = Segment::named("EVN")
            .set(1, event.to_owned())
            .set(2, time(self.cell("recorded_at")))
            .set(6, time(occurred));
        self.message("ADT", event).with(evn)
    }

    /// The segment of a patient.
    pub(super) fn patient(&self, id: &str) -> Segment {
        let segment = Segment::named("PID").set(1, "1".to_owned());
        segment.set(3, identifier(self.cell(id)))
    }

    /// Distinguishes messages by what they say (FNV-1a, 64 bits): a row written twice is a
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
