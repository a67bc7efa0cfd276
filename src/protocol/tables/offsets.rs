//! The zone's offsets from UTC as spans, so that SQL can find the local hour of any moment.

use arrow::array::RecordBatch;
use arrow::error::ArrowError;
use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::{BEGINNING_S, END_S, batch, ints};

/// Local hours that are day: from the first, before the second. The rest is night.
const DAY_HOURS: (i64, i64) = (8, 20);

/// The first moment whose offset is given as it was, 1980-01-01; the first span serves what was before.
const FIRST_S: i64 = 315_532_800;
/// The moment from which the last offset holds for ever, 2100-01-01.
const LAST_S: i64 = 4_102_444_800;

struct Span {
    from_s: i64,
    to_s: i64,
    offset_s: i64,
}

/// Spans [from, to) without gaps from far before to far after any event.
pub(super) fn offsets(zone: &TimeZone) -> Result<RecordBatch, ArrowError> {
    let spans = spans(zone);
    let of = |field: fn(&Span) -> i64| ints(spans.iter().map(field));
    batch(vec![
        ("from_s", of(|s| s.from_s), false),
        ("to_s", of(|s| s.to_s), false),
        ("offset_s", of(|s| s.offset_s), false),
        ("day_from_hour", of(|_| DAY_HOURS.0), false),
        ("day_until_hour", of(|_| DAY_HOURS.1), false),
    ])
}

fn spans(zone: &TimeZone) -> Vec<Span> {
    let first = Timestamp::from_second(FIRST_S).unwrap_or(Timestamp::UNIX_EPOCH);
    let mut spans = vec![Span {
        from_s: BEGINNING_S,
        to_s: END_S,
        offset_s: i64::from(zone.to_offset(first).seconds()),
    }];
    let changes = zone.following(first);
    for change in changes.take_while(|change| change.timestamp().as_second() < LAST_S) {
        let (at_s, offset_s) = (change.timestamp().as_second(), i64::from(change.offset().seconds()));
        if let Some(last) = spans.last_mut().filter(|last| last.offset_s != offset_s) {
            last.to_s = at_s;
            spans.push(Span {
                from_s: at_s,
                to_s: END_S,
                offset_s,
            });
        }
    }
    spans
}
