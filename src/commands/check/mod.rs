//! `siskin check`: the protocol in plain words, files against their hashes, the ledger, the queries.

mod checklist;
mod figures;
mod protocol;

use arrow::array::RecordBatch;
use arrow::util::pretty::pretty_format_batches;

use crate::cli::Check;
use crate::engine::{Limits, Session, next_batch};
use crate::error::Error;
use crate::protocol::Protocol;
use crate::queries::catalogue::{self, Query, listings};
use crate::queries::review::CASES;
use crate::warehouse::{Snapshot, Warehouse, WarehouseError};

use super::build::{notes_as_written, notes_of, reviews_of};
use super::output::Say;
use checklist::{Checklist, MOST_FAULTS_SHOWN};

/// Explains the protocol, checks the snapshot, and prints each thing that was looked at.
pub(super) async fn run(options: &Check, say: &Say) -> Result<(), Error> {
    let warehouse = Warehouse::at(&options.snapshot.warehouse.warehouse)?;
    let mut checklist = Checklist::new(say);
    let snapshot = match warehouse.as_it_is(options.snapshot.as_of) {
        Err(WarehouseError::Empty(_)) if options.snapshot.as_of.is_none() => None,
        found => Some(found?),
    };
    protocol::check(&warehouse, snapshot.as_ref(), &mut checklist)?;
    if options.snapshot.as_of.is_none() {
        texts(&warehouse, &mut checklist)?;
    }
    let Some(snapshot) = snapshot else {
        say.line("nothing has been loaded yet, so nothing else was looked at")?;
        return checklist.end(&warehouse);
    };
    say.line(&format!(
        "load {}, {}",
        snapshot.manifest().load,
        snapshot.path().display()
    ))?;
    files(&snapshot, &mut checklist)?;
    match Session::of(&snapshot, &Limits::default()) {
        Err(error) => checklist.fault("the tables can be opened", &[error.to_string()])?,
        Ok(session) => {
            for query in catalogue::checks() {
                holds(&session, query, &mut checklist).await?;
            }
            queries(&session, &snapshot, &mut checklist).await?;
        }
    }
    checklist.end(&warehouse)
}

/// Whether the notes and the reviews as they are can be meant. Which figures a note may name is
/// said by the protocol, when that can be read.
fn texts(warehouse: &Warehouse, checklist: &mut Checklist<'_>) -> Result<(), Error> {
    let notes = match Protocol::read(&warehouse.protocol_path()) {
        Ok(protocol) => notes_of(warehouse, &protocol),
        Err(_) => notes_as_written(warehouse),
    };
    for (name, read) in [("notes.toml", notes), ("reviews.csv", reviews_of(warehouse))] {
        let Err(error) = read else { continue };
        checklist.refused_text(&format!("{name} can be read"), &[error.to_string()])?;
    }
    Ok(())
}

fn files(snapshot: &Snapshot, checklist: &mut Checklist<'_>) -> Result<(), Error> {
    let work = checklist.say.work();
    work.part("reading every file", 0);
    let found = snapshot.verify()?;
    drop(work);
    let megabytes = found.bytes as f64 / 1e6;
    let what = format!("{} files, {megabytes:.1} MB: the bytes that were written", found.files);
    if found.faults.is_empty() {
        return checklist.good(&what);
    }
    let details: Vec<String> = found.faults.iter().map(ToString::to_string).collect();
    checklist.fault(&what, &details)
}

/// Runs a check; every row it gives is a fault.
async fn holds(session: &Session, query: &Query, checklist: &mut Checklist<'_>) -> Result<(), Error> {
    let title = query.header.get("title");
    let work = checklist.say.work();
    work.part(title, 0);
    let found = first_rows(session, query).await;
    drop(work);
    match found {
        Err(error) => checklist.fault(title, &[error.to_string()]),
        Ok(rows) if rows.num_rows() == 0 => checklist.good(title),
        Ok(rows) => {
            let text = pretty_format_batches(&[rows]).map(|t| t.to_string());
            checklist.fault(title, &[text.unwrap_or_default()])
        }
    }
}

async fn first_rows(session: &Session, query: &Query) -> Result<RecordBatch, Error> {
    let mut stream = session.stream(query.as_sql(), &[]).await?;
    let mut first = RecordBatch::new_empty(stream.schema());
    while let Some(batch) = next_batch(query.name, &mut stream).await? {
        if batch.num_rows() > 0 {
            first = batch.slice(0, batch.num_rows().min(MOST_FAULTS_SHOWN));
            break;
        }
    }
    Ok(first)
}

/// Some queries read others that are not stored: derived tables kept only while deriving, cases by
/// their groups, rows that were no case, or the cases of a review. One that does not fit the tables
/// is reported with all others.
async fn show_views(session: &Session) {
    let texts = [("months", ""), ("month", ""), ("first_month", ""), ("last_month", "")];
    let of = texts.map(|(name, text)| (name, text.into()));
    for query in catalogue::derived().iter().filter(|query| !query.is_stored()) {
        let _ = session.add_view(query.name, query.as_sql(), &[]).await;
    }
    for (view, listing) in [
        ("grouped_cases", listings::ungrouped),
        ("dropped_rows", listings::dropped_rows),
        (CASES, listings::review_cases),
    ] {
        let _ = session.add_view(view, listing, &of).await;
    }
}

/// Whether every query of this siskin can be planned on the tables of the snapshot.
async fn queries(session: &Session, snapshot: &Snapshot, checklist: &mut Checklist<'_>) -> Result<(), Error> {
    let listed = catalogue::derived().iter().chain(catalogue::measures());
    let mut faults = Vec::new();
    let mut count = 0;
    show_views(session).await;
    for query in listed.chain(catalogue::all_listings()) {
        count += 1;
        if let Err(error) = session.plan(query.as_sql()).await {
            faults.push(error.to_string());
        }
    }
    let what = format!("{count} queries fit the tables");
    if !faults.is_empty() {
        return checklist.fault(&what, &faults);
    }
    let is_same = snapshot.manifest().derived_by.queries_sha256 == catalogue::sha256();
    checklist.good(&if is_same {
        what
    } else {
        format!("{what}; they have changed since, so the next command that reads derives anew")
    })
}
