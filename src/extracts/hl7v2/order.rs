//! An order of a test: its segments, and what is said of all such orders alike.

use crate::extracts::record::{Fault, SourceRow};
use crate::warehouse::tables::SourceTable;

use super::cells::{say_time, unit_of};
use super::codes::Coded;
use super::identity;
use super::message::Segment;
use super::settings::Hl7Settings;

/// An order and what belongs to it.
pub(super) struct Order<'a, 't> {
    pub(super) header: &'a Segment<'t>,
    pub(super) pid: Option<&'a Segment<'t>>,
    pub(super) pv1: Option<&'a Segment<'t>>,
    pub(super) obr: Option<&'a Segment<'t>>,
    pub(super) observations: Vec<(Coded<'a>, &'a Segment<'t>)>,
    pub(super) spm: Option<&'a Segment<'t>>,
    pub(super) settings: &'a Hl7Settings,
}

impl<'a, 't> Order<'a, 't> {
    /// Observations of a meaning.
    pub(super) fn of(&self, wanted: &str) -> impl Iterator<Item = &'a Segment<'t>> {
        let all = self.observations.iter();
        all.filter(move |(coded, _)| coded.meaning == Some(wanted))
            .map(|(_, obx)| *obx)
    }

    /// Says the id of the order: the filler's, else the placer's.
    pub(super) fn id(&self) -> Option<String> {
        let obr = self.obr?;
        let said = |n: usize| obr.part(n, 1).filter(|id| !id.is_empty());
        said(3).or_else(|| said(2))
    }

    /// A row with its id, baby, unit and when the message was written.
    pub(super) fn row(&self, table: &str, id: Option<String>) -> Option<SourceRow> {
        use crate::extracts::reason::Reason::MissingId;
        let table = SourceTable::named(table)?;
        let mut row = SourceRow::of(table);
        let (column, _) = table.columns.first()?;
        match (id, self.obr) {
            (Some(id), _) => row.say(column, id),
            (None, Some(obr)) => row.fail(obr.fault(3, MissingId, column, "no order number, nor one in field 2")),
            (None, None) => row.fail(Fault::of_cell(MissingId, column, "").with_remedy("OBR is missing before OBX")),
        }
        if let Some(pid) = self.pid {
            identity::say(&mut row, "infant_id", pid, 3, self.settings);
        }
        if let Some(unit) = unit_of(self.pv1, self.settings) {
            row.say("unit", unit);
        }
        say_time(&mut row, "recorded_at", &[(Some(self.header), 7)]);
        Some(row)
    }

    /// The status of a result in the words of the contract.
    pub(super) fn status(&self, obx: &Segment<'_>) -> Option<&'a str> {
        let said = obx.part(11, 1)?;
        self.settings.codes.word("status", &said)
    }
}
