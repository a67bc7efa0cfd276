//! `siskin ask`: one question in SQL over tables, derived tables and measures.

use arrow::array::RecordBatch;
use arrow::csv::WriterBuilder as CsvWriter;
use arrow::error::ArrowError;
use arrow::json::writer::{JsonArray, WriterBuilder as JsonWriter};
use arrow::util::pretty::pretty_format_batches;
use datafusion::execution::SendableRecordBatchStream;

use crate::cli::{Ask, Format};
use crate::engine::door::Refusal;
use crate::engine::{EngineError, Limits, Session, next_batch};
use crate::error::Error;
use crate::protocol::Protocol;
use crate::queries::figure_tables;
use crate::queries::measure::Measuring;
use crate::warehouse::Snapshot;

use super::open;
use super::output::{Say, Work};

/// What an error of the engine names.
const QUESTION: &str = "the question";

/// Rows of a table for reading.
const MOST_ROWS_SHOWN: usize = 1000;

/// Answers the question.
pub(super) async fn run(options: &Ask, say: &Say) -> Result<(), Error> {
    let snapshot = open::snapshot(&options.snapshot, say).await?;
    let limits = Limits {
        memory_bytes: options.memory as usize * (1 << 20),
        ..Limits::default()
    };
    let session = Session::of(&snapshot, &limits)?;
    let question = session.question(&options.sql)?;
    let work = say.work();
    if figure_tables::are_read_by(question.tables()) {
        work.part("counting cases", 0);
        add_measures(&session, &snapshot).await?;
    }
    work.part("answering", 0);
    let answer = session.answer(question).await?;
    let written = match options.format {
        Format::Table => table(answer, work, say).await,
        Format::Csv => csv(answer, work, say).await,
        Format::Json => json(answer, work, say).await,
    };
    written.map_err(|error| match error {
        Error::Engine(e) if e.is_out_of_memory() => Refusal::TooLarge { mib: options.memory }.into(),
        other => other,
    })
}

/// Measures all months, so that the figures can be asked for like a table.
async fn add_measures(session: &Session, snapshot: &Snapshot) -> Result<(), Error> {
    open::has_cases(snapshot)?;
    let protocol = Protocol::parse(&snapshot.protocol_text()?)?;
    let measuring = Measuring {
        session,
        protocol: &protocol,
        load: snapshot.manifest().load,
    };
    let months = measuring.months().await?;
    let figures = match (months.first(), months.last()) {
        (Some(first), Some(last)) => measuring.figures(*first, *last).await?,
        _ => Vec::new(),
    };
    Ok(figure_tables::add(session, &figures)?)
}

/// Rows for reading. Here and below progress ends before the answer begins: both may be on one terminal.
async fn table(mut rows: SendableRecordBatchStream, work: Work, say: &Say) -> Result<(), Error> {
    let mut shown: Vec<RecordBatch> = vec![RecordBatch::new_empty(rows.schema())];
    let (mut count, mut more) = (0, 0);
    while let Some(batch) = next_batch(QUESTION, &mut rows).await? {
        let room = (MOST_ROWS_SHOWN - count).min(batch.num_rows());
        shown.push(batch.slice(0, room));
        count += room;
        more += batch.num_rows() - room;
    }
    let text = pretty_format_batches(&shown).map_err(cannot_be_written)?;
    drop(work);
    say.result(&format!("{text}\n"))?;
    if more > 0 {
        say.remark(&format!("and {more} more rows: --format csv or json gives all"));
    }
    Ok(())
}

async fn csv(mut rows: SendableRecordBatchStream, work: Work, say: &Say) -> Result<(), Error> {
    if rows.schema().fields().iter().any(|f| f.data_type().is_nested()) {
        return Err(Refusal::NotFlat.into());
    }
    let mut next = next_batch(QUESTION, &mut rows).await?;
    drop(work);
    say.result(&csv_text(&RecordBatch::new_empty(rows.schema()), true)?)?;
    while let Some(batch) = next {
        say.result(&csv_text(&batch, false)?)?;
        next = next_batch(QUESTION, &mut rows).await?;
    }
    Ok(())
}

fn csv_text(batch: &RecordBatch, with_header: bool) -> Result<String, Error> {
    let mut text = Vec::new();
    let mut writer = CsvWriter::new().with_header(with_header).build(&mut text);
    writer.write(batch).map_err(cannot_be_written)?;
    drop(writer);
    Ok(String::from_utf8_lossy(&text).into_owned())
}

async fn json(mut rows: SendableRecordBatchStream, work: Work, say: &Say) -> Result<(), Error> {
    let builder = JsonWriter::new().with_explicit_nulls(true);
    let mut writer = builder.build::<_, JsonArray>(Vec::new());
    let mut next = next_batch(QUESTION, &mut rows).await?;
    drop(work);
    while let Some(batch) = next {
        writer.write(&batch).map_err(cannot_be_written)?;
        let text = std::mem::take(writer.get_mut());
        say.result(&String::from_utf8_lossy(&text))?;
        next = next_batch(QUESTION, &mut rows).await?;
    }
    writer.finish().map_err(cannot_be_written)?;
    let text = String::from_utf8_lossy(writer.get_ref()).into_owned();
    say.result(&format!("{text}\n"))
}

/// Only values that have no text, which no table holds, cannot be written.
fn cannot_be_written(source: ArrowError) -> Error {
    Error::Engine(EngineError {
        what: "the answer".to_owned(),
        source: Box::new(source.into()),
    })
}
