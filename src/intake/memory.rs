//! What readers learned that files of a later load may refer to, kept in the warehouse.

use std::sync::Arc;

use arrow::datatypes::{DataType, Field as Column, Schema, SchemaRef};
use serde::Deserialize;

use crate::engine::rows::{or_none, typed};
use crate::engine::{Session, next_batch};
use crate::extracts::readers::Readers;
use crate::queries::catalogue::intake;
use crate::warehouse::{Building, Site};

use super::IntakeError;
use super::field::{Batches, Field};

const TABLE: &str = "reader_memory";

/// Rows collected before they are written.
const BATCH_ROWS: usize = 8192;

/// A row of the table.
#[derive(Deserialize)]
struct LearnedRow {
    format: String,
    #[serde(deserialize_with = "or_none")]
    key: String,
    #[serde(deserialize_with = "or_none")]
    value: String,
}

/// Hands the readers what they learned in earlier loads.
///
/// # Errors
/// When it cannot be read.
pub async fn recall(session: &Session, site: &Site, readers: &mut Readers<'_>) -> Result<(), IntakeError> {
    let (Some(before), Some(entry)) = (site.before(), site.table_before(TABLE)) else {
        return Ok(());
    };
    let own = session.beside(&[]).await?;
    own.add_files(TABLE, before.path(), entry)?;
    let mut rows = own.stream(intake::reader_memory, &[]).await?;
    while let Some(batch) = next_batch(TABLE, &mut rows).await? {
        for LearnedRow { format, key, value } in typed(TABLE, &batch)? {
            if !readers.recall(&format, &key, &value) {
                return Err(IntakeError::Forgotten { format, key });
            }
        }
    }
    Ok(())
}

/// Stores what they learned in this load; returns whether there was anything.
///
/// # Errors
/// When it cannot be written.
pub fn store_learned(readers: &Readers<'_>, building: &mut Building) -> Result<bool, IntakeError> {
    let site = building.site().clone();
    let schema = schema();
    let mut writer = site.table(TABLE, &schema, Some("load"))?;
    let mut batches = Batches::new(schema);
    let arrow = |source| IntakeError::Rows { table: TABLE, source };
    let mut has_any = false;
    for learned in readers.learned() {
        has_any = true;
        batches.push(&[
            Field::text(learned.format),
            Field::text(learned.key),
            Field::text(learned.value),
            Field::Int(site.load()),
        ]);
        if batches.rows() >= BATCH_ROWS {
            writer.push(&batches.take().map_err(arrow)?)?;
        }
    }
    if batches.rows() > 0 {
        writer.push(&batches.take().map_err(arrow)?)?;
    }
    let mut entry = writer.finish()?;
    if let Some(old) = site.carry_over(TABLE)? {
        entry.files.splice(0..0, old.files);
    }
    building.add(TABLE, entry)?;
    Ok(has_any)
}

fn schema() -> SchemaRef {
    let columns = [
        ("format", DataType::Utf8),
        ("key", DataType::Utf8),
        ("value", DataType::Utf8),
        ("load", DataType::Int64),
    ];
    let fields = columns.into_iter().map(|(name, of)| Column::new(name, of, true));
    Arc::new(Schema::new(fields.collect::<Vec<_>>()))
}
