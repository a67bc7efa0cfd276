//! Rows that were set aside, read again: those that waited for what they refer to
//! at each load, all others when asked to, after the mapping is mended.

use std::sync::Arc;

use arrow::array::RecordBatch;
use arrow::datatypes::{DataType, Field as Column, Schema, SchemaRef};
use serde::Deserialize;

use crate::engine::rows::{or_none, typed};
use crate::engine::{Session, next_batch};
use crate::extracts::readers::Readers;
use crate::queries::catalogue::intake;
use crate::warehouse::Site;
use crate::warehouse::tables::set_aside_schema;

use super::IntakeError;
use super::field::{Batches, Field};
use super::stage::{SetAsideRow, Stage};
use crate::extracts::reason::Reason;

/// A row set aside by an earlier load that could be taken in now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Mended {
    /// The load that set it aside.
    pub load: i64,
    /// Its place within that load.
    pub seq: i64,
}

impl Mended {
    /// As stored rows.
    ///
    /// # Errors
    /// Only when Arrow refuses them, which would be a fault of the schema.
    pub fn rows(all: &[Self]) -> Result<RecordBatch, IntakeError> {
        let mut batches = Batches::new(schema());
        for one in all {
            batches.push(&[Field::Int(one.load), Field::Int(one.seq)]);
        }
        batches.take().map_err(|source| IntakeError::Rows {
            table: "mended",
            source,
        })
    }
}

fn schema() -> SchemaRef {
    let columns = ["set_aside_load", "set_aside_seq"];
    let fields = columns.map(|name| Column::new(name, DataType::Int64, true));
    Arc::new(Schema::new(fields.to_vec()))
}

/// Reads rows that were set aside again, and stages those that can be taken in now;
/// `all` of them, or those that waited for another record. Returns those taken in, and how
/// many still cannot be.
///
/// # Errors
/// When a query fails, or a row cannot be written.
pub async fn read_again(
    session: &Session,
    site: &Site,
    readers: &mut Readers<'_>,
    stage: &mut Stage<'_>,
    all: bool,
) -> Result<(Vec<Mended>, u64), IntakeError> {
    let own = session.beside(&[]).await?;
    let Some(before) = site.before() else {
        return Ok((Vec::new(), 0));
    };
    let tables = [("set_aside", set_aside_schema()), ("mended", schema())];
    for (name, schema) in tables {
        match before.manifest().tables.get(name) {
            Some(entry) => own.add_files(name, before.path(), entry)?,
            None => own.add_batches(name, &schema, Vec::new())?,
        }
    }
    let which = ("all", all.into());
    let query = intake::rows_to_read_again;
    let mut rows = own.stream(query, &[which]).await?;
    let (mut mended, mut still_aside) = (Vec::new(), 0);
    while let Some(batch) = next_batch(query.name, &mut rows).await? {
        for row in typed::<AsideRow>(query.name, &batch)? {
            let record = if row.reason == Reason::NotUtf8.word() {
                // Its text was kept without the bytes that could not be read.
                None
            } else {
                readers.again(&row.form, &row.header_text, &row.row_text, row.line)
            };
            let Some(record) = record else {
                still_aside += 1;
                continue;
            };
            let which = SetAsideRow {
                table: &row.table_name,
                row_id: row.row_id.as_deref(),
            };
            if stage.again(&record, which, &row.file, &row.form)? {
                mended.push(Mended {
                    load: row.load,
                    seq: row.seq,
                });
            } else {
                still_aside += 1;
            }
        }
    }
    Ok((mended, still_aside))
}

/// A row that was set aside.
#[derive(Deserialize)]
struct AsideRow {
    load: i64,
    seq: i64,
    #[serde(deserialize_with = "or_none")]
    table_name: String,
    row_id: Option<String>,
    #[serde(deserialize_with = "or_none")]
    reason: String,
    #[serde(deserialize_with = "or_none")]
    file: String,
    line: u64,
    #[serde(deserialize_with = "or_none")]
    form: String,
    #[serde(deserialize_with = "or_none")]
    header_text: String,
    #[serde(deserialize_with = "or_none")]
    row_text: String,
}
