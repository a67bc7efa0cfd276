//! An event of a patient: its segments, and what is said of all such events alike.

use crate::extracts::record::SourceRow;

use super::cells::{self, Place};
use super::codes::observed;
use super::message::{Message, Segment};
use super::settings::Hl7Settings;

/// An event, and the segments that most of it stands in.
pub(super) struct Event<'a, 't> {
    pub(super) name: &'a str,
    pub(super) message: &'a Message<'t>,
    pub(super) pid: &'a Segment<'t>,
    pub(super) pv1: Option<&'a Segment<'t>>,
    pub(super) evn: Option<&'a Segment<'t>>,
    pub(super) settings: &'a Hl7Settings,
}

impl<'a, 't> Event<'a, 't> {
    /// Where the moment of the event stands.
    pub(super) fn happened(&self) -> [Place<'a, 't>; 2] {
        [(self.evn, 6), (self.evn, 2)]
    }

    /// Says when the event was recorded.
    pub(super) fn say_recorded(&self, row: &mut SourceRow) {
        cells::say_time(row, "recorded_at", &[(self.evn, 2), (Some(self.message.header()), 7)]);
    }

    /// The admission type says that the visit began with the birth.
    pub(super) fn is_newborn(&self) -> bool {
        let admission_type = self.pv1.and_then(|pv1| pv1.part(4, 1)).unwrap_or_default();
        self.settings.codes.word("source", &admission_type) == Some("birth")
    }

    /// Observations with what they mean.
    pub(super) fn observations(&self) -> impl Iterator<Item = (&'a str, &'a Segment<'t>)> {
        let codes = &self.settings.codes;
        let all = self.message.all("OBX");
        all.filter_map(|obx| Some((observed(obx, codes).meaning?, obx)))
    }
}
