//! Two identifiers of one baby: merges (A18, A34, A40) and their undoing (A37).

use crate::extracts::reason::Reason;
use crate::extracts::record::SourceRow;
use crate::warehouse::tables::SourceTable;

use super::cells::say_time;
use super::event::Event;
use super::identity;
use super::message::Segment;

/// Whether an event is a merge, or undoes one.
pub(super) fn is_merge(event: &str) -> bool {
    matches!(event, "A18" | "A34" | "A37" | "A40")
}

/// Adds a row for each pair of the message. The identifier that stands is that of `PID`; the
/// other one is that of the `MRG` after it, or of a second `PID` where two are unlinked.
pub(super) fn read(event: &Event<'_, '_>, rows: &mut Vec<SourceRow>) {
    let Some(table) = SourceTable::named("merges") else {
        return;
    };
    let before = rows.len();
    let mut stands = event.pid;
    for segment in event.message.segments() {
        let from = match segment.name {
            "MRG" => 1,
            "PID" if event.name == "A37" && !std::ptr::eq(segment, event.pid) => 3,
            "PID" => {
                stands = segment;
                continue;
            }
            _ => continue,
        };
        rows.push(merge(event, table, stands, segment, from));
    }
    if rows.len() == before {
        let mut row = SourceRow::of(table);
        let what = "the identifier that no longer stands is not given: MRG is missing";
        row.fail(event.pid.fault(3, Reason::MissingId, "from_infant_id", what));
        rows.push(row);
    }
}

fn merge(
    event: &Event<'_, '_>,
    table: &'static SourceTable,
    stands: &Segment<'_>,
    other: &Segment<'_>,
    field: usize,
) -> SourceRow {
    let mut row = SourceRow::of(table);
    identity::say_own(&mut row, "from_infant_id", other, field, event.settings);
    identity::say(&mut row, "into_infant_id", stands, 3, event.settings);
    let [occurred, recorded] = event.happened();
    say_time(
        &mut row,
        "merged_at",
        &[occurred, recorded, (Some(event.message.header()), 7)],
    );
    if event.name == "A37" {
        row.say("record_status", "withdrawn");
    }
    event.say_recorded(&mut row);
    row
}
