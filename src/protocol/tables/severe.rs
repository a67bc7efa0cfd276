//! Bands of severe jaundice as a table.

use arrow::array::RecordBatch;
use arrow::error::ArrowError;

use super::{batch, ints, numbered, texts};
use crate::protocol::{Concentration, Protocol};

/// One row per band of a version.
pub(super) fn bands(protocol: &Protocol) -> Result<RecordBatch, ArrowError> {
    let rows: Vec<_> = numbered(protocol)
        .flat_map(|(n, v)| v.severe.bands.iter().map(move |b| (n, b)))
        .collect();
    batch(vec![
        ("version", ints(rows.iter().map(|r| r.0)), false),
        ("name", texts(rows.iter().map(|r| r.1.name.as_str())), false),
        ("band_when", texts(rows.iter().map(|r| r.1.when.word())), false),
        (
            "limit_micro",
            ints(rows.iter().map(|r| r.1.limit().map_or(0, Concentration::micro))),
            false,
        ),
    ])
}
