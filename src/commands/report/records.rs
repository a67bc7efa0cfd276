//! What became of the rows, and what a page says of them.

use std::io::{BufWriter, Write};
use std::path::Path;

use serde::Deserialize;

use crate::engine::rows::{or_none, typed};
use crate::engine::{Session, Value, next_batch};
use crate::error::Error;
use crate::intake::settle::RowToMend;
use crate::month::Month;
use crate::pages::looked_back::LookedBackRow;
use crate::pages::records::{LedgerRow, MendRow, RestatedRow, RiseRow, UnknownRiskRow, UnmappedRow};
use crate::pages::words;
use crate::queries::catalogue::listings;
use crate::queries::figures::{self, Figure};
use crate::queries::history;
use crate::warehouse::{Snapshot, TableEntry};

use super::files::private_file;

/// A row of the listing `ledger`.
#[derive(Deserialize)]
pub(super) struct LedgerLine {
    load: i64,
    #[serde(deserialize_with = "or_none")]
    table_name: String,
    pub(super) loaded_at_s: i64,
    rows_in: i64,
    kept: i64,
    superseded: i64,
    duplicate: i64,
    withdrawn: i64,
    held: i64,
    set_aside: i64,
}

/// What became of the rows of each load.
pub(super) async fn ledger_lines(session: &Session) -> Result<Vec<LedgerLine>, Error> {
    Ok(session.rows(listings::ledger, &[]).await?)
}

fn of_month(month: Month, unit: &str) -> [(&'static str, Value); 2] {
    [("month", month.to_string().into()), ("unit", unit.into())]
}

/// The newest load with files, by table.
pub(super) async fn ledger(session: &Session, load: i64) -> Result<Vec<LedgerRow>, Error> {
    let lines = ledger_lines(session).await?;
    let newest = lines.iter().map(|line| line.load).filter(|l| *l <= load).max();
    let rows = lines.into_iter().filter(|line| Some(line.load) == newest);
    let row = |line: LedgerLine| LedgerRow {
        table: line.table_name,
        rows_in: line.rows_in,
        // In the order of `FATES`.
        fates: vec![
            line.kept,
            line.superseded,
            line.duplicate,
            line.withdrawn,
            line.held,
            line.set_aside,
        ],
    };
    Ok(rows.map(row).collect())
}

pub(super) fn rows_of(snapshot: &Snapshot, table: &str) -> u64 {
    snapshot.manifest().tables.get(table).map_or(0, TableEntry::rows)
}

/// Codes shown on the page.
const MOST_CODES_SHOWN: usize = 20;

/// Codes that no table wanted, the most frequent first.
pub(super) async fn unmapped(session: &Session) -> Result<Vec<UnmappedRow>, Error> {
    let rows: Vec<UnmappedCode> = session
        .rows(listings::unmapped, &[("first_load", 0_i64.into())])
        .await?;
    let row = |code: UnmappedCode| UnmappedRow {
        system: code.system,
        code: match code.display.is_empty() {
            true => code.code,
            false => format!("{} {}", code.code, code.display),
        },
        records: code.records,
    };
    Ok(rows.into_iter().take(MOST_CODES_SHOWN).map(row).collect())
}

/// A row of the listing `unmapped`.
#[derive(Deserialize)]
struct UnmappedCode {
    #[serde(deserialize_with = "or_none")]
    system: String,
    #[serde(deserialize_with = "or_none")]
    code: String,
    #[serde(deserialize_with = "or_none")]
    display: String,
    records: u64,
}

/// What the birth stays of readmitted and severe babies had missed.
pub(super) async fn looked_back(session: &Session, month: Month, unit: &str) -> Result<Vec<LookedBackRow>, Error> {
    let listing = listings::birth_stays_looked_back;
    let mut rows: Vec<LookedBackRow> = session.rows(listing, &of_month(month, unit)).await?;
    for row in &mut rows {
        row.kind = words::case_kind(&row.kind);
    }
    Ok(rows)
}

/// Fast rises of the month: between which tests, how many, of how many babies.
pub(super) async fn rises(session: &Session, month: Month, unit: &str) -> Result<Vec<RiseRow>, Error> {
    Ok(session.rows(listings::rises_of_month, &of_month(month, unit)).await?)
}

/// Cases of the month that rest on risk factors that were not recorded.
pub(super) async fn unknown_risk(session: &Session, month: Month, unit: &str) -> Result<Vec<UnknownRiskRow>, Error> {
    Ok(session.rows(listings::unknown_risk, &of_month(month, unit)).await?)
}

/// Figures of the month that have moved since they were reported as final.
pub(super) async fn restated(session: &Session, month: Month, figures: &[Figure]) -> Result<Vec<RestatedRow>, Error> {
    let mut all = history::restated(session, month).await?;
    // In the order of the figures on the page.
    all.sort_by_key(|r| figures.iter().position(|f| f.measure == r.measure));
    Ok(all.iter().map(RestatedRow::new).collect())
}

/// Writes the rows set aside or held as CSV with file and line; returns them summed for the page.
pub(super) async fn rows_to_mend(session: &Session, path: &Path) -> Result<Vec<MendRow>, Error> {
    let failed = || Error::write(path.display().to_string());
    let mut csv = BufWriter::new(private_file(path).map_err(failed())?);
    writeln!(csv, "load,file,line,table,column,reason,remedy").map_err(failed())?;
    let listing = listings::rows_to_mend;
    let mut stream = session.stream(listing, &[("first_load", 0_i64.into())]).await?;
    let mut summed: Vec<MendRow> = Vec::new();
    while let Some(batch) = next_batch(listing.name, &mut stream).await? {
        for row in typed::<RowToMend>(listing.name, &batch)? {
            let cells = [&row.table, &row.column, &row.reason, &row.remedy].map(|c| figures::quoted(c));
            let file = figures::quoted(&row.file);
            writeln!(csv, "{},{file},{},{}", row.load, row.line, cells.join(",")).map_err(failed())?;
            let reason = words::reason(&row.reason);
            let same = |r: &&mut MendRow| r.table == row.table && r.reason == reason && r.remedy == row.remedy;
            match summed.iter_mut().find(same) {
                Some(sum) => sum.n += 1,
                None => summed.push(MendRow {
                    table: row.table,
                    reason,
                    remedy: row.remedy,
                    n: 1,
                }),
            }
        }
    }
    csv.flush().map_err(failed())?;
    Ok(summed)
}
