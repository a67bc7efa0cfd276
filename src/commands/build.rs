//! Builds the next snapshot from the one before, new extracts and the protocol.

use std::sync::Arc;

use arrow::array::{RecordBatch, StringArray};
use jiff::Timestamp;
use serde::Deserialize;

use crate::engine::{Limits, Session};
use crate::error::Error;
use crate::extracts::ExtractError;
use crate::extracts::files::ExtractFile;
use crate::extracts::readers::Readers;
use crate::extracts::sources::Sources;
use crate::intake::again::read_again;
use crate::intake::judge::Judge;
use crate::intake::memory::{recall, store_learned};
use crate::intake::settle::{SettleOrder, Settled, Through, settle};
use crate::intake::stage::{Stage, Staged};
use crate::intake::{IntakeError, SLICE_ROWS};
use crate::month::Month;
use crate::notes::Notes;
use crate::protocol::Protocol;
use crate::queries::catalogue::{self, intake};
use crate::queries::derive::Deriving;
use crate::queries::figure_names::all_figure_names;
use crate::queries::history::{self, Cause};
use crate::queries::measure::Measuring;
use crate::queries::quality::{self, Finding, Level};
use crate::queries::renewed::Renewed;
use crate::queries::{MEASURED_TABLES, side_by_side};
use crate::reviews::Reviews;
use crate::warehouse::digest;
use crate::warehouse::{Building, DerivedBy, Snapshot, TableEntry, Texts, Warehouse, WarehouseError, WriteLock};

use super::output::Say;

/// A span that holds any calendar month, wherever in a month it begins.
const TWO_MONTHS_S: i64 = 62 * 86_400;

/// What goes into the next snapshot.
pub struct Order<'a> {
    /// Extracts to read; none to derive anew.
    pub files: &'a [ExtractFile],
    /// Through when they are complete.
    pub through: &'a Through,
    /// When the load happens, epoch seconds.
    pub loaded_at_s: i64,
    /// Do everything but publish.
    pub dry_run: bool,
    /// Read all rows again that were set aside, not only those that wait for others.
    pub retry: bool,
    /// Checks of the records that may not stop the load.
    pub despite: &'a [String],
    /// Settle and derive everything, also what nothing has changed of.
    pub is_whole: bool,
    /// Rows that are settled at a time, about; four times as many are derived together at most.
    pub slice_rows: u64,
    /// What the load may use; what does not fit goes beside the snapshot being built.
    pub limits: &'a Limits,
}

/// What came of it.
pub struct Built {
    /// Number of the load.
    pub load: i64,
    /// What was read, and what became of it.
    pub staged: Staged,
    /// Fates and data ends.
    pub settled: Settled,
    /// What the checks of the records found in it.
    pub found: Vec<Finding>,
    /// The new snapshot; `None` when there was nothing new, or in a dry run.
    pub snapshot: Option<Snapshot>,
    /// Births and bilirubin results in it.
    pub holds: Option<(u64, u64)>,
    /// Rows set aside earlier that were read again and still cannot be taken in.
    pub still_aside: u64,
}

/// Builds and publishes the next snapshot, unless nothing has changed.
pub async fn build(warehouse: &Warehouse, order: &Order<'_>, say: &Say) -> Result<Built, Error> {
    let protocol = Protocol::read(&warehouse.protocol_path())?;
    let (notes, reviews) = (notes_of(warehouse, &protocol)?, reviews_of(warehouse)?);
    let texts = Texts {
        protocol: protocol.text(),
        notes: &notes,
        reviews: &reviews,
    };
    let lock = WriteLock::take(warehouse)?;
    let mut building = Building::begin(warehouse, &lock)?;
    let work = say.work();
    let judge = Judge {
        zone: protocol.zone(),
        plausible: protocol.plausible(),
    };
    if !order.files.is_empty() {
        work.part("reading", order.files.len() as u64);
    }
    let limits = Limits {
        spill_dir: Some(building.site().scratch()),
        ..order.limits.clone()
    };
    let session = Session::new(&limits)?;
    let sources = sources_of(warehouse)?;
    let mut readers = Readers::new(&sources, protocol.zone());
    let site = building.site().clone();
    recall(&session, &site, &mut readers).await?;
    for file in order.files {
        readers.learn(file)?;
    }
    let mut stage = Stage::new(&judge, &site, session.threads())?;
    for file in order.files {
        let name = file.path.display().to_string();
        work.step(&name);
        let mut progress = |records: u64| work.within(&format!("{name}, {records} records"));
        stage.file(file, &mut readers, &mut progress)?;
    }
    let (mended, still_aside) = read_again(&session, &site, &mut readers, &mut stage, order.retry).await?;
    let staged = stage.finish()?;
    let has_learned = store_learned(&readers, &mut building)?;
    store_protocol(&protocol, &mut building, &session)?;
    work.part("settling rows", 0);
    let by = derived_by(&protocol);
    let before = building.site().before();
    let is_same = before.is_some_and(|before| before.manifest().derived_by == by);
    let has_texts = before.is_some_and(|before| {
        let before = before.manifest();
        before.notes_sha256 != texts.notes_sha256() || before.reviews_sha256 != texts.reviews_sha256()
    });
    let how = SettleOrder {
        loaded_at_s: order.loaded_at_s,
        through: order.through,
        is_whole: order.is_whole || !is_same,
        slice_rows: order.slice_rows,
    };
    let mut settled = settle(&session, &mut building, &staged, &mended, &how).await?;
    settled.is_news |= has_learned || has_texts;
    let load = building.site().load();
    let is_needless = is_same && !settled.is_news && !order.is_whole;
    let mut found = Vec::new();
    let snapshot = if is_needless || order.dry_run {
        None
    } else {
        work.part("deriving tables", 0);
        let renewed = renewed(&session, &building, &settled, &protocol).await?;
        let deriving = Deriving::begin(&session, &mut building, renewed, 4 * order.slice_rows)?;
        work.part("deriving tables", deriving.steps());
        let mut progress = |table: &str| work.step(table);
        deriving.run(&mut progress).await?;
        work.part("checking records", 0);
        let rows = building
            .manifest()
            .tables
            .values()
            .map(TableEntry::rows)
            .max()
            .unwrap_or(0);
        let built = session_of(&building, &session, rows).await?;
        let at_once = side_by_side(rows).min(session.threads());
        check_records(&built, order.despite, at_once).await?;
        found = quality::run(&built, Level::Warn, at_once).await?;
        quality::store(&found, &mut building)?;
        work.part("counting", 0);
        remember_figures(&built, &mut building, &protocol, &settled, is_same).await?;
        work.part("publishing", 0);
        Some(building.publish(warehouse, &texts, by)?)
    };
    Ok(Built {
        load,
        staged,
        settled,
        holds: snapshot.as_ref().map(holds),
        still_aside: if order.retry { still_aside } else { 0 },
        found,
        snapshot,
    })
}

/// The newest snapshot, derived anew first when protocol or queries have changed since.
pub async fn up_to_date(warehouse: &Warehouse, loaded_at_s: i64, say: &Say) -> Result<Snapshot, Error> {
    let newest = warehouse.newest()?;
    let protocol = Protocol::read(&warehouse.protocol_path())?;
    let manifest = newest.manifest();
    let (then, now) = (&manifest.derived_by, derived_by(&protocol));
    let texts = Texts {
        protocol: protocol.text(),
        notes: &notes_of(warehouse, &protocol)?,
        reviews: &reviews_of(warehouse)?,
    };
    let has_notes = manifest.notes_sha256 != texts.notes_sha256();
    let has_reviews = manifest.reviews_sha256 != texts.reviews_sha256();
    if *then == now && !has_notes && !has_reviews {
        return Ok(newest);
    }
    let what = if *then == now && has_notes {
        "notes.toml has"
    } else if *then == now {
        "reviews.csv has"
    } else if then.protocol_sha256 != now.protocol_sha256 {
        "protocol.toml has"
    } else if then.line_tables_sha256 != now.line_tables_sha256 {
        "the table of lines has"
    } else {
        "siskin's queries have"
    };
    say.remark(&format!("{what} changed since load {}: building anew", manifest.load));
    let gone = reviews_gone(&newest.reviews_text()?, texts.reviews)?;
    if gone > 0 {
        say.remark(&format!(
            "reviews.csv holds {gone} reviewed case{} no more that it held by load {}: keep the rows of all months in it",
            if gone == 1 { "" } else { "s" },
            manifest.load
        ));
    }
    let order = Order {
        files: &[],
        through: &Through::default(),
        loaded_at_s,
        dry_run: false,
        retry: false,
        despite: &[],
        is_whole: false,
        slice_rows: SLICE_ROWS,
        limits: &Limits::default(),
    };
    let built = build(warehouse, &order, say).await?;
    Ok(match built.snapshot {
        Some(snapshot) => snapshot,
        None => warehouse.newest()?,
    })
}

/// The notes of the warehouse as text, when they are valid under the protocol.
pub(super) fn notes_of(warehouse: &Warehouse, protocol: &Protocol) -> Result<String, Error> {
    let text = notes_as_written(warehouse)?;
    Notes::parse(&text)?.check(&all_figure_names(protocol))?;
    Ok(text)
}

/// The notes of the warehouse as text, when they are valid but for the figures they name.
pub(super) fn notes_as_written(warehouse: &Warehouse) -> Result<String, Error> {
    let text = Notes::text(&warehouse.notes_path())?;
    Notes::parse(&text)?;
    Ok(text)
}

/// The case reviews of the warehouse as text, when they are valid.
pub(super) fn reviews_of(warehouse: &Warehouse) -> Result<String, Error> {
    let text = Reviews::text(&warehouse.reviews_path())?;
    Reviews::parse(&text)?;
    Ok(text)
}

/// How many cases reviewed in the text before are not in that of now.
fn reviews_gone(before: &str, now: &str) -> Result<usize, Error> {
    let (before, now) = (Reviews::parse(before)?, Reviews::parse(now)?);
    Ok(before.case_ids().filter(|id| now.of(id).is_none()).count())
}

/// What a snapshot is derived by under this protocol and these queries.
pub fn derived_by(protocol: &Protocol) -> DerivedBy {
    let lines = protocol.line_tables_text();
    let line_tables_sha256 = match lines.is_empty() {
        true => String::new(),
        false => digest::of_text(&lines),
    };
    DerivedBy {
        protocol_sha256: digest::of_text(protocol.text()),
        line_tables_sha256,
        queries_sha256: catalogue::sha256(),
    }
}

/// The warehouse's `sources.toml`; without one there are no sources.
///
/// # Errors
/// When it is refused.
pub fn sources_of(warehouse: &Warehouse) -> Result<Sources, Error> {
    let read = Sources::read(&warehouse.root().join("sources.toml"));
    Ok(read.map_err(ExtractError::from)?.unwrap_or_default())
}

/// A session with every table of the snapshot being built, each of so many rows at most.
async fn session_of(building: &Building, session: &Session, rows: u64) -> Result<Session, Error> {
    let session = session.beside_for(rows, &[]).await?;
    for (name, entry) in &building.manifest().tables {
        session.add_files(name, building.site().path(), entry)?;
    }
    Ok(session)
}

/// Runs the checks of the records that can stop a load.
async fn check_records(session: &Session, despite: &[String], at_once: usize) -> Result<(), Error> {
    let found = quality::run(session, Level::Stop, at_once).await?;
    let stops = found.iter().filter(|f| !despite.contains(&f.check));
    let stops: Vec<String> = stops
        .map(|f| format!("  {}: {}: {} ({})", f.check, f.about, f.found, f.title))
        .collect();
    match stops.is_empty() {
        true => Ok(()),
        false => Err(Error::Stopped(stops.join("\n"))),
    }
}

/// Births and bilirubin results of a snapshot.
fn holds(snapshot: &Snapshot) -> (u64, u64) {
    let rows = |table: &str| snapshot.manifest().tables.get(table).map_or(0, TableEntry::rows);
    (rows("births"), rows("screens") + rows("serum"))
}

/// Stores the figures of the months that this load touches, as they are reported.
async fn remember_figures(
    session: &Session,
    building: &mut Building,
    protocol: &Protocol,
    settled: &Settled,
    is_same: bool,
) -> Result<(), Error> {
    let measuring = Measuring {
        session,
        protocol,
        load: building.site().load(),
    };
    let ends = MEASURED_TABLES.map(|table| settled.data_ends.get(table).copied());
    let end_s = ends
        .into_iter()
        .collect::<Option<Vec<i64>>>()
        .and_then(|all| all.into_iter().min());
    let data_end = end_s.and_then(|at_s| month_of(at_s, protocol));
    let is_first = building.site().before().is_none();
    let cause = match (is_same || is_first, settled.is_news) {
        (true, _) => Cause::Data,
        (false, false) => Cause::Definitions,
        (false, true) => Cause::Both,
    };
    Ok(history::store(&measuring, building, data_end, cause).await?)
}

/// The row of `late_from`.
#[derive(Deserialize)]
struct LateFrom {
    from_s: Option<i64>,
}

/// The babies whose derived rows may have changed; `None` when all are derived.
async fn renewed(
    session: &Session,
    building: &Building,
    settled: &Settled,
    protocol: &Protocol,
) -> Result<Option<Renewed>, Error> {
    let (Some(touched), Some(end_s)) = (&settled.touched, settled.earliest_end_s) else {
        return Ok(None);
    };
    let ids = StringArray::from_iter_values(touched);
    let rows = RecordBatch::try_from_iter([("infant_id", Arc::new(ids) as _)]).map_err(|source| IntakeError::Rows {
        table: "touched_babies",
        source,
    })?;
    session.add_batches("touched_babies", &rows.schema(), vec![rows.clone()])?;
    let of = [("data_end_s", end_s.into()), ("margin_s", TWO_MONTHS_S.into())];
    let late: Vec<LateFrom> = session.rows(intake::late_from, &of).await?;
    // Without a version of the protocol there is no such moment.
    let Some(late_s) = late.first().and_then(|row| row.from_s) else {
        return Ok(None);
    };
    let months = month_of(late_s, protocol).zip(month_of(end_s, protocol));
    let Some((late, last)) = months else { return Ok(None) };
    let of = [
        ("from_s", late_s.into()),
        ("from_month", late.plus(-1).to_string().into()),
    ];
    let mut renewed = Renewed::of(session, building, intake::babies_to_derive, &of).await?;
    renewed
        .add_months_of_no_baby(session, building, intake::refused_months, last.plus(-1))
        .await?;
    Ok(Some(renewed))
}

/// The local month of a moment.
fn month_of(at_s: i64, protocol: &Protocol) -> Option<Month> {
    let at = Timestamp::from_second(at_s).ok()?;
    Some(Month::of(protocol.zone().to_datetime(at).date()))
}

fn store_protocol(protocol: &Protocol, building: &mut Building, session: &Session) -> Result<(), Error> {
    let arrow = |source| WarehouseError::Arrow {
        table: "protocol".to_owned(),
        source,
    };
    for (name, rows) in protocol.tables().map_err(arrow)? {
        let mut writer = building.site().table(name, &rows.schema(), None)?;
        writer.push(&rows)?;
        let entry = writer.finish()?;
        building.add(name, entry.clone())?;
        session.add_files(name, building.site().path(), &entry)?;
    }
    Ok(())
}
