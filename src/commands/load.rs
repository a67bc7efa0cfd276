//! `siskin load`: extracts into the warehouse, and what became of each row.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::cli::Load;
use crate::engine::Limits;
use crate::error::Error;
use crate::extracts::files;
use crate::extracts::readers::form_of;
use crate::extracts::record::Code;
use crate::intake::SLICE_ROWS;
use crate::intake::ledger::{FATES, LedgerLine};
use crate::intake::settle::{RowToMend, Through};
use crate::intake::time::{self, When};
use crate::protocol::Protocol;
use crate::queries::MEASURED_TABLES;
use crate::queries::catalogue;
use crate::queries::quality::Finding;
use crate::warehouse::Warehouse;
use crate::warehouse::tables::SOURCE_TABLES;

use super::build::{Built, Order, build, sources_of};
use super::output::Say;
use super::preview;

/// Loads the files.
pub(super) async fn run(options: &Load, say: &Say) -> Result<(), Error> {
    let warehouse = Warehouse::at(&options.warehouse.warehouse)?;
    known_checks(&options.despite)?;
    let sources = sources_of(&warehouse)?;
    let files = files::listed(&options.files, &|path| form_of(&sources, path), options.format)?;
    if options.preview {
        return preview::run(options, &files, &warehouse, say);
    }
    let protocol = Protocol::read(&warehouse.protocol_path())?;
    let now_s = Timestamp::now().as_second();
    let through = through(&options.through, protocol.zone(), now_s)?;
    let limits = Limits::asked_for(options.limits.memory, options.limits.threads);
    let order = Order {
        files: &files,
        through: &through,
        loaded_at_s: now_s,
        dry_run: options.dry_run,
        retry: options.retry,
        despite: &options.despite,
        is_whole: false,
        slice_rows: SLICE_ROWS,
        limits: &limits,
    };
    let built = build(&warehouse, &order, say).await?;
    print_settled(&built, options.dry_run, protocol.zone(), say)?;
    print_findings(&built.found, say)?;
    if options.through.is_empty() && built.snapshot.is_some() && !files.is_empty() {
        remark_on_default(&built, protocol.zone(), say);
    }
    if let Some(through_s) = through.all.filter(|_| built.snapshot.is_some()) {
        remark_on_tables_behind(&built, through_s, protocol.zone(), say);
    }
    Ok(())
}

/// Refuses names of checks that cannot stop a load.
fn known_checks(named: &[String]) -> Result<(), Error> {
    let stops = catalogue::quality()
        .iter()
        .filter(|query| query.header.get("level") == "stop");
    let names: Vec<&str> = stops.map(|query| query.name).collect();
    match named.iter().find(|name| !names.contains(&name.as_str())) {
        None => Ok(()),
        Some(name) => Err(Error::Usage(format!(
            "--despite '{name}' is no check that can stop a load; those are: {}",
            names.join(", ")
        ))),
    }
}

/// Without `--through` a table ends with its latest event, and the rarest table cuts all measures.
fn remark_on_default(built: &Built, zone: &TimeZone, say: &Say) {
    let ends = built
        .settled
        .data_ends
        .iter()
        .filter(|(table, _)| MEASURED_TABLES.contains(&table.as_str()));
    let ends: Vec<(&String, &i64)> = ends.collect();
    let all_alike = ends.windows(2).all(|pair| pair[0].1 == pair[1].1);
    if all_alike {
        return;
    }
    if let Some((table, end_s)) = ends.into_iter().min_by_key(|(_, end_s)| **end_s) {
        say.remark(&format!(
            "without --through each table counts as complete through its latest event only; {table} ends first, \
             {}, and measures that need it end there",
            local(*end_s, zone)
        ));
    }
}

/// `--through` counts for tables of which the load has a file or record. Another one stays
/// behind, also where there was nothing of it to load.
fn remark_on_tables_behind(built: &Built, through_s: i64, zone: &TimeZone, say: &Say) {
    for (table, end_s) in &built.settled.data_ends {
        let was_loaded = built.staged.files.iter().any(|file| file.table == table);
        if was_loaded || *end_s >= through_s || !MEASURED_TABLES.contains(&table.as_str()) {
            continue;
        }
        let through = local(through_s, zone).to_string().replace(' ', "T");
        say.remark(&format!(
            "{table}: nothing in this load; it stays complete through {} only, and measures that need it end there\n  \
             to do: where there was none, load once more with --through {table}={through}",
            local(*end_s, zone)
        ));
    }
}

/// Reads `--through`: a time for all tables of the load, or TABLE=TIME.
fn through(texts: &[String], zone: &TimeZone, now_s: i64) -> Result<Through, Error> {
    let mut through = Through::default();
    for text in texts {
        let (table, time) = match text.split_once('=') {
            Some((table, time)) => (Some(table), time),
            None => (None, text.as_str()),
        };
        let Some(When::Moment(moment)) = time::read(time, zone) else {
            return Err(Error::Usage(format!(
                "--through '{time}' is not a moment: write it as 2026-10-01T00:00"
            )));
        };
        if moment.at_s > now_s {
            return Err(Error::Usage(format!(
                "--through '{time}' lies in the future: nothing is complete through then"
            )));
        }
        match table {
            None => through.all = Some(moment.at_s),
            Some(table) if SOURCE_TABLES.iter().any(|t| t.name == table) => {
                through.tables.insert(table.to_owned(), moment.at_s);
            }
            Some(table) => {
                let names: Vec<&str> = SOURCE_TABLES.iter().map(|t| t.name).collect();
                return Err(Error::Usage(format!(
                    "--through names no table '{table}'; tables: {}",
                    names.join(", ")
                )));
            }
        }
    }
    Ok(through)
}

/// Prints what became of the rows of a load.
fn print_settled(built: &Built, dry_run: bool, zone: &TimeZone, say: &Say) -> Result<(), Error> {
    for remark in &built.staged.remarks {
        say.remark(remark);
    }
    if !built.settled.lines.is_empty() {
        say.line(&ledger_table(&built.settled.lines))?;
    }
    for (row, more) in grouped(&built.settled.to_mend) {
        let column = if row.column.is_empty() {
            String::new()
        } else {
            format!(" in {}", row.column)
        };
        let others = match more {
            0 => String::new(),
            1 => ", and once more".to_owned(),
            n => format!(", and {n} times more"),
        };
        say.line(&format!(
            "{}, line {}: {}{column}: {}{others}",
            row.file, row.line, row.reason, row.remedy
        ))?;
    }
    let more = built.settled.more_to_mend;
    if more > 0 {
        say.line(&format!(
            "and {more} more rows set aside or held: a report lists all in set_aside.csv"
        ))?;
    }
    print_unmapped(built, say)?;
    let new: u64 = built.settled.lines.iter().map(LedgerLine::new_rows).sum();
    match &built.snapshot {
        Some(_) => {
            for (table, end_s) in &built.settled.data_ends {
                say.line(&format!("{table} complete through {}", local(*end_s, zone)))?;
            }
            if let Some((births, results)) = built.holds {
                say.line(&format!(
                    "the warehouse holds {births} births, {results} bilirubin results"
                ))?;
            }
            say.line(&format!("load {} published: {new} new rows", built.load))
        }
        None if dry_run => say.line(&format!("dry run: {new} new rows, nothing published")),
        None => say.line("nothing new: no load was made"),
    }?;
    match built.still_aside {
        0 => Ok(()),
        n => say.line(&format!("{n} rows that were set aside still cannot be taken in")),
    }
}

/// Findings printed one by one.
const MOST_FINDINGS_PRINTED: usize = 10;

/// Prints what the checks of the records found, the newest months first.
fn print_findings(found: &[Finding], say: &Say) -> Result<(), Error> {
    let mut found: Vec<&Finding> = found.iter().collect();
    found.sort_by(|a, b| b.month.cmp(&a.month));
    for finding in found.iter().take(MOST_FINDINGS_PRINTED) {
        let month = if finding.month.is_empty() {
            String::new()
        } else {
            format!(", {}", finding.month)
        };
        say.line(&format!(
            "check {}: {}{month}: {}",
            finding.check, finding.about, finding.found
        ))?;
    }
    let more = found.len().saturating_sub(MOST_FINDINGS_PRINTED);
    if more > 0 {
        say.line(&format!("and {more} more findings: a report lists all under Records"))?;
    }
    Ok(())
}

/// Rows with the same fault in the same file: the first, and how many more.
fn grouped(rows: &[RowToMend]) -> Vec<(&RowToMend, usize)> {
    let mut groups: Vec<(&RowToMend, usize)> = Vec::new();
    for row in rows {
        let is_same = |other: &RowToMend| {
            (&other.file, &other.table, &other.column) == (&row.file, &row.table, &row.column)
                && (&other.reason, &other.remedy) == (&row.reason, &row.remedy)
        };
        match groups.iter_mut().find(|(first, _)| is_same(first)) {
            Some((_, more)) => *more += 1,
            None => groups.push((row, 0)),
        }
    }
    groups
}

/// Codes printed one by one.
const MOST_CODES_PRINTED: usize = 10;

/// Prints the codes that no table takes, the most frequent first.
fn print_unmapped(built: &Built, say: &Say) -> Result<(), Error> {
    let mut by_code: BTreeMap<&Code, u64> = BTreeMap::new();
    for (_, code, n) in built.staged.unmapped.iter() {
        *by_code.entry(code).or_default() += n;
    }
    let mut codes: Vec<(&Code, u64)> = by_code.into_iter().collect();
    codes.sort_by_key(|(_, n)| std::cmp::Reverse(*n));
    for (code, n) in codes.iter().take(MOST_CODES_PRINTED) {
        let words = if code.display.is_empty() {
            String::new()
        } else {
            format!(" ({})", code.display)
        };
        say.line(&format!(
            "in no table: {n} records of {} {}{words}",
            code.system, code.code
        ))?;
    }
    if codes.len() > MOST_CODES_PRINTED {
        let more = codes.len() - MOST_CODES_PRINTED;
        say.line(&format!(
            "and {more} more codes: `siskin ask` lists all in unmapped_codes"
        ))?;
    }
    Ok(())
}

/// An instant on the warehouse's wall clock, to the minute.
fn local(at_s: i64, zone: &TimeZone) -> String {
    Timestamp::from_second(at_s).map_or_else(
        |_| at_s.to_string(),
        |at| zone.to_datetime(at).strftime("%Y-%m-%d %H:%M").to_string(),
    )
}

/// The ledger of a load as a text table; each line names its table where a file fed several.
fn ledger_table(lines: &[LedgerLine]) -> String {
    let is_named = |line: &LedgerLine| line.file.ends_with(&format!("{}.csv", line.table));
    let all_named = lines.iter().all(is_named);
    let place = |line: &LedgerLine| match all_named {
        true => line.file.clone(),
        false => format!("{}: {}", line.file, line.table),
    };
    let width = lines.iter().map(|l| place(l).chars().count()).max().unwrap_or(4).max(4);
    let mut text = format!("{:<width$}  {:>8}", "file", "rows in");
    for fate in FATES {
        text.push_str(&format!("  {:>10}", fate.replace('_', " ")));
    }
    for line in lines {
        text.push_str(&format!("\n{:<width$}  {:>8}", place(line), line.rows_in));
        for fate in FATES {
            text.push_str(&format!("  {:>10}", line.rows(fate)));
        }
    }
    text
}
