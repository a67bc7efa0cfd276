//! Treatment and exchange lines as a table.

use arrow::array::RecordBatch;
use arrow::error::ArrowError;

use super::{END_S, batch, ints, texts};
use crate::protocol::Protocol;
use crate::protocol::lines::Piece;

/// The pieces of every line that ships, and of the site's own tables.
pub(super) fn pieces(protocol: &Protocol) -> Result<RecordBatch, ArrowError> {
    let pieces = protocol.line_pieces();
    let of = |field: fn(&Piece) -> i64| ints(pieces.iter().map(field));
    batch(vec![
        ("standard", texts(pieces.iter().map(|p| p.standard.as_str())), false),
        ("gestation_weeks", of(|p| p.gestation_weeks), false),
        ("risk", texts(pieces.iter().map(|p| p.risk.as_str())), false),
        ("age_from_s", of(|p| p.age_from_s), false),
        ("age_to_s", of(|p| p.age_to_s.unwrap_or(END_S)), false),
        ("phototherapy_from_micro", of(|p| p.phototherapy_micro.0), false),
        ("phototherapy_to_micro", of(|p| p.phototherapy_micro.1), false),
        ("exchange_from_micro", of(|p| p.exchange_micro.0), false),
        ("exchange_to_micro", of(|p| p.exchange_micro.1), false),
    ])
}
