//! What became of the rows, and what is told of them on a page.

use std::io::{BufWriter, Write};
use std::path::Path;

use crate::engine::values::Cells;
use crate::engine::{Session, next_batch};
use crate::error::Error;
use crate::intake::ledger::FATES;
use crate::intake::settle;
use crate::month::Month;
use crate::pages::looked_back::LookedBackRow;
use crate::pages::records::{FindingRow, LedgerRow, MendRow, RestatedRow, RiseRow, UnmappedRow};
use crate::pages::words;
use crate::queries::catalogue;
use crate::queries::figures::{self, Figure};
use crate::queries::history::{self, Restated, Told};
use crate::queries::quality::{self, Finding};
use crate::warehouse::{Snapshot, TableEntry};

use super::files::private_file;

/// The rows of a listing.
pub(super) async fn cells(session: &Session, listing: &str, parameters: &[(&str, String)]) -> Result<Cells, Error> {
    let rows = session.rows(listing, catalogue::listing(listing), parameters).await?;
    Ok(Cells::new(rows))
}

fn of_month(month: Month, unit: &str) -> [(&'static str, String); 2] {
    [("month", month.to_string()), ("unit", unit.to_owned())]
}

/// The newest load with files, by table.
pub(super) async fn ledger(session: &Session, load: i64) -> Result<Vec<LedgerRow>, Error> {
    let cells = cells(session, "ledger", &[]).await?;
    let loads = cells.ints("load");
    let newest = loads.iter().flatten().filter(|l| **l <= load).max().copied();
    let tables = cells.texts("table_name");
    let rows_in = cells.ints("rows_in");
    let fates = FATES.map(|fate| cells.ints(fate));
    let rows = (0..loads.len()).filter(|i| loads[*i] == newest).map(|i| LedgerRow {
        table: tables[i].clone().unwrap_or_default(),
        rows_in: rows_in[i].unwrap_or(0),
        fates: fates.iter().map(|of| of[i].unwrap_or(0)).collect(),
    });
    Ok(rows.collect())
}

pub(super) fn rows_of(snapshot: &Snapshot, table: &str) -> u64 {
    snapshot.manifest().tables.get(table).map_or(0, TableEntry::rows)
}

/// Codes shown on the page.
const MOST_CODES_SHOWN: usize = 20;

/// Codes that no table wanted, the most frequent first.
pub(super) async fn unmapped(session: &Session) -> Result<Vec<UnmappedRow>, Error> {
    let cells = cells(session, "unmapped", &[("first_load", "0".to_owned())]).await?;
    let [systems, codes, displays] = ["system", "code", "display"].map(|name| cells.texts(name));
    let counts = cells.ints("records").into_iter().enumerate().take(MOST_CODES_SHOWN);
    let text = |of: &[Option<String>], i: usize| of[i].clone().unwrap_or_default();
    let row = |(i, n): (usize, Option<i64>)| UnmappedRow {
        system: text(&systems, i),
        code: match (text(&codes, i), text(&displays, i)) {
            (code, display) if display.is_empty() => code,
            (code, display) => format!("{code} {display}"),
        },
        records: n.and_then(|n| u64::try_from(n).ok()).unwrap_or(0),
    };
    Ok(counts.map(row).collect())
}

/// What the checks of the records found.
pub(super) async fn findings(session: &Session) -> Result<Vec<FindingRow>, Error> {
    let found = quality::stored(session).await?.into_iter();
    let row = |f: Finding| FindingRow {
        check: f.check,
        title: f.title,
        about: f.about,
        month: f.month,
        found: f.found,
    };
    Ok(found.map(row).collect())
}

/// What the birth stays of readmitted and severe babies had missed.
pub(super) async fn looked_back(session: &Session, month: Month, unit: &str) -> Result<Vec<LookedBackRow>, Error> {
    let cells = cells(session, "birth_stays_looked_back", &of_month(month, unit)).await?;
    let [babies, missed, late, recheck, untreated, outside, none] = [
        "babies",
        "missed_referral",
        "late_referral",
        "missed_recheck",
        "untreated",
        "outside_limits",
        "none_of_these",
    ]
    .map(|name| cells.ints(name));
    let n = |of: &[Option<i64>], i: usize| of[i].unwrap_or(0);
    let kinds = cells.texts("case_kind").into_iter().enumerate();
    let row = |(i, kind): (usize, Option<String>)| LookedBackRow {
        kind: words::case_kind(&kind.unwrap_or_default()),
        babies: n(&babies, i),
        missed_referral: n(&missed, i),
        late_referral: n(&late, i),
        missed_recheck: n(&recheck, i),
        untreated: n(&untreated, i),
        outside_limits: n(&outside, i),
        none_of_these: n(&none, i),
    };
    Ok(kinds.map(row).collect())
}

/// Fast rises of the month: between which tests, how many, of how many babies.
pub(super) async fn rises(session: &Session, month: Month, unit: &str) -> Result<Vec<RiseRow>, Error> {
    let cells = cells(session, "rises_of_month", &of_month(month, unit)).await?;
    let (rises, babies) = (cells.ints("rises"), cells.ints("babies"));
    let tables = cells.texts("test_table").into_iter().enumerate();
    let row = |(i, table): (usize, Option<String>)| RiseRow {
        table: table.unwrap_or_default(),
        rises: rises[i].unwrap_or(0),
        babies: babies[i].unwrap_or(0),
    };
    Ok(tables.map(row).collect())
}

/// Figures of the month that have moved since they were told as final.
pub(super) async fn restated(session: &Session, month: Month, figures: &[Figure]) -> Result<Vec<RestatedRow>, Error> {
    let mut all = history::restated(session, month).await?;
    // In the order of the figures on the page.
    all.sort_by_key(|r| figures.iter().position(|f| f.measure == r.measure));
    let count = |told: &Told| (told.numerator, told.denominator, told.value);
    let row = |r: &Restated| {
        RestatedRow::new(
            &r.measure,
            (r.told.load, count(&r.told)),
            (r.since_load, count(&r.now)),
            &r.cause,
        )
    };
    Ok(all.iter().map(row).collect())
}

/// Writes the rows set aside or held as CSV with file and line; returns them summed for the page.
pub(super) async fn rows_to_mend(session: &Session, path: &Path) -> Result<Vec<MendRow>, Error> {
    let failed = || Error::write(path.display().to_string());
    let mut csv = BufWriter::new(private_file(path).map_err(failed())?);
    writeln!(csv, "load,file,line,table,column,reason,remedy").map_err(failed())?;
    let sql = catalogue::listing("rows_to_mend");
    let mut stream = session
        .stream("rows_to_mend", sql, &[("first_load", "0".to_owned())])
        .await?;
    let mut summed: Vec<MendRow> = Vec::new();
    while let Some(batch) = next_batch("rows_to_mend", &mut stream).await? {
        for row in settle::rows_to_mend(batch) {
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
