//! `siskin report`: a month's page and results.

use std::collections::BTreeMap;
use std::fs;
use std::io::{BufWriter, Write};
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt, PermissionsExt};
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::cli::Report;
use crate::engine::values::Cells;
use crate::engine::{Limits, Session, next_batch};
use crate::error::Error;
use crate::intake::ledger::FATES;
use crate::intake::{settle, time};
use crate::month::Month;
use crate::notes::Notes;
use crate::pages::dashboard::{self, About, DashboardData};
use crate::pages::looked_back::LookedBackRow;
use crate::pages::records::{
    FindingRow, LedgerRow, MendRow, Records, RestatedRow, RiseRow, UnmappedRow, half_delivered,
};
use crate::pages::target::Target;
use crate::pages::words;
use crate::protocol::{Protocol, UMOL_L_PER_MG_DL, Version};
use crate::queries::catalogue;
use crate::queries::explain::measure_of;
use crate::queries::figure_names::all_figure_names;
use crate::queries::figures::{self, Figure};
use crate::queries::history::{self, Restated, Told};
use crate::queries::measure::Measuring;
use crate::queries::quality::{self, Finding, Level};
use crate::queries::split::Split;
use crate::signals::agreement::{self, Agreed};
use crate::signals::{Signalled, Signals, between, to_serum, told, units};
use crate::warehouse::{Snapshot, TableEntry};

use super::measure::within;
use super::open;
use super::output::Say;
use super::review_cases::{self, CaseOrder};

/// Tables whose data ends bound the measures.
pub(super) const MEASURED_TABLES: [&str; 5] = ["births", "screens", "serum", "phototherapy", "stays"];

/// Renders the month.
pub(super) async fn run(options: &Report, say: &Say) -> Result<(), Error> {
    let snapshot = open::snapshot(&options.snapshot, say).await?;
    let written = write(&snapshot, options.month, &options.out, options.cases).await?;
    say.line(&format!("open {}", written.join("dashboard.html").display()))?;
    match options.cases {
        true => say.line(&format!("open {}", written.join("cases.html").display())),
        false => Ok(()),
    }
}

/// Writes the month's report from a snapshot, with its babies to review where asked for; returns
/// the folder of its pages.
pub(super) async fn write(snapshot: &Snapshot, month: Month, out: &Path, has_cases: bool) -> Result<PathBuf, Error> {
    let protocol = Protocol::parse(&snapshot.protocol_text()?)?;
    let session = Session::of(snapshot, &Limits::default())?;
    let measuring = Measuring {
        session: &session,
        protocol: &protocol,
        load: snapshot.manifest().load,
    };
    let months = measuring.months().await?;
    within(&months, month)?;
    let first = months.first().copied().unwrap_or(month);
    let mut all = measuring.figures(first, month).await?;
    if protocol.versions().iter().all(|version| version.coverage.is_none()) {
        all.retain(|figure| figure.measure != "screening_coverage");
    }
    let name = month.to_string();
    let folder = out.join(&name).join("quality");
    make_private(&folder)?;
    let to_mend = rows_to_mend(&session, &folder.join("set_aside.csv")).await?;
    let about = about(&measuring, snapshot, month).await?;
    if has_cases {
        let order = CaseOrder {
            session: &session,
            months: &months,
            month,
            reviews: &snapshot.reviews_text()?,
            about: &about,
            zone: protocol.zone(),
        };
        review_cases::write(&order, &folder).await?;
    }
    let found = findings(&session).await?;
    let notes = Notes::parse(&snapshot.notes_text()?)?;
    let signals = signals_of(&protocol, &all, &found, &notes);
    let agreed = agreement::read(&session, month).await?;
    let curve = to_serum::read(&measuring, month).await?;
    let units = units::read(&measuring, month).await?;
    let between = between::read(&session, first, month).await?;
    let page = dashboard::render(&DashboardData {
        units: &units,
        between: &between,
        signals: &signals,
        agreed: &agreed,
        curve: &curve,
        figures: &all,
        month,
        about,
        looked_back: looked_back(&session, month).await?,
        records: Records {
            ledger: ledger(&session, snapshot.manifest().load).await?,
            to_mend,
            findings: found,
            unmapped: unmapped(&session).await?,
            restated: restated(&session, month, &all).await?,
            rises: rises(&session, month).await?,
            births: rows_of(snapshot, "births"),
            results: rows_of(snapshot, "screens") + rows_of(snapshot, "serum"),
        },
    })?;
    let mut of_month: Vec<Figure> = all.into_iter().filter(|f| f.month == name).collect();
    // Groups within units are for `measure --by`: most of them hold a few babies a month.
    for split in Split::ALL {
        let groups = measuring.split(month, month, split).await?;
        of_month.extend(groups.into_iter().filter(|f| f.split == split.word()));
    }
    write_private(&folder.join("dashboard.html"), &page)?;
    write_private(&folder.join("measures.json"), &figures::to_json(&of_month)?)?;
    write_private(&folder.join("measures.csv"), &figures::to_csv(&of_month))?;
    write_private(&folder.join("signals.json"), &signals_json(&signals)?)?;
    write_private(&folder.join("pairs.csv"), &pairs_csv(&agreed))?;
    Ok(folder)
}

/// Chart and verdict of each figure of the network that has them.
fn signals_of(protocol: &Protocol, figures: &[Figure], found: &[FindingRow], notes: &Notes) -> Signals {
    let mut signals = Signals::new();
    for name in all_figure_names(protocol) {
        let Some(query) = measure_of(&name) else { continue };
        let of_network = |f: &&Figure| f.split == "all" && f.measure == name;
        let of_name: Vec<&Figure> = figures.iter().filter(of_network).collect();
        if of_name.is_empty() {
            continue;
        }
        let gaps = half_delivered(found, Some(query));
        if let Some(signalled) = Signalled::of(query, &name, &of_name, &gaps, notes) {
            signals.insert(name, signalled);
        }
    }
    signals
}

/// The verdicts, one object a line.
fn signals_json(signals: &Signals) -> Result<String, Error> {
    let rows = signals
        .values()
        .map(|signalled| serde_json::to_string(&told::row(signalled)));
    let lines = rows.collect::<Result<Vec<String>, _>>()?;
    Ok(format!("[\n{}\n]\n", lines.join(",\n")))
}

/// The points of the difference plot, without whose they are.
fn pairs_csv(agreed: &Agreed) -> String {
    let rows = agreed
        .points
        .iter()
        .map(|(mean, difference)| format!("{mean},{difference}\n"));
    format!("mean_umol_l,screen_minus_serum_umol_l\n{}", rows.collect::<String>())
}

async fn cells(session: &Session, listing: &str, parameters: &[(&str, String)]) -> Result<Cells, Error> {
    let rows = session.rows(listing, catalogue::listing(listing), parameters).await?;
    Ok(Cells::new(rows))
}

async fn about(measuring: &Measuring<'_>, snapshot: &Snapshot, month: Month) -> Result<About, Error> {
    let (session, protocol) = (measuring.session, measuring.protocol);
    let load = snapshot.manifest().load;
    let ends = session.rows("data_ends", catalogue::intake("data_ends"), &[]).await?;
    let ends = Cells::new(ends);
    let ends = ends.texts("table_name").into_iter().zip(ends.ints("through_s"));
    let end = ends.filter(|(table, _)| table.as_deref().is_some_and(|t| MEASURED_TABLES.contains(&t)));
    let earliest = end.filter_map(|(_, end)| end).min();
    let ledger = cells(session, "ledger", &[]).await?;
    let versions = protocol.versions_of(month);
    let last_load = ledger.ints("loaded_at_s").into_iter().flatten().max();
    let told = |at: Option<i64>| at.map_or_else(|| "an unknown time".to_owned(), |at| in_words(at, protocol.zone()));
    let newest = protocol.newest();
    Ok(About {
        network: protocol.network().to_owned(),
        complete_through: told(earliest),
        ends_early: earliest < time::day_begins_s(month.plus(1).first_day(), protocol.zone()),
        load,
        loaded_at: told(last_load),
        protocol_changed: versions.len() > 1,
        protocol: measuring.protocol_of(month),
        zone: protocol.zone().iana_name().unwrap_or_default().to_owned(),
        factor: UMOL_L_PER_MG_DL.to_string(),
        siskin: env!("CARGO_PKG_VERSION").to_owned(),
        follow_up: format!("{} hours", newest.referral.follow_up_h),
        targets: versions.last().map(targets).unwrap_or_default(),
    })
}

/// What a version wants its figures to be.
fn targets(version: &Version) -> BTreeMap<String, Target> {
    let each = version.targets.iter().map(|target| {
        let share = |percent: Option<f64>| percent.map(|percent| percent / 100.0);
        let target_of = Target {
            at_most: share(target.at_most_percent),
            at_least: share(target.at_least_percent),
        };
        (target.figure.clone(), target_of)
    });
    each.collect()
}

/// An instant on the warehouse's wall clock; midnight as the end of its day.
fn in_words(at_s: i64, zone: &TimeZone) -> String {
    let Ok(at) = Timestamp::from_second(at_s) else {
        return at_s.to_string();
    };
    let local = zone.to_datetime(at);
    let is_midnight = local.hour() == 0 && local.minute() == 0;
    match local.date().yesterday() {
        Ok(day) if is_midnight => format!("{}, 24:00", day.strftime("%-d %B %Y")),
        _ => local.strftime("%-d %B %Y, %H:%M").to_string(),
    }
}

/// The newest load with files, by table.
async fn ledger(session: &Session, load: i64) -> Result<Vec<LedgerRow>, Error> {
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

fn rows_of(snapshot: &Snapshot, table: &str) -> u64 {
    snapshot.manifest().tables.get(table).map_or(0, TableEntry::rows)
}

/// Codes shown on the page.
const MOST_CODES_SHOWN: usize = 20;

/// Codes that no table wanted, the most frequent first.
async fn unmapped(session: &Session) -> Result<Vec<UnmappedRow>, Error> {
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
async fn findings(session: &Session) -> Result<Vec<FindingRow>, Error> {
    let found = quality::run(session, Level::Warn).await?.into_iter();
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
async fn looked_back(session: &Session, month: Month) -> Result<Vec<LookedBackRow>, Error> {
    let cells = cells(session, "birth_stays_looked_back", &[("month", month.to_string())]).await?;
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
async fn rises(session: &Session, month: Month) -> Result<Vec<RiseRow>, Error> {
    let cells = cells(session, "rises_of_month", &[("month", month.to_string())]).await?;
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
async fn restated(session: &Session, month: Month, figures: &[Figure]) -> Result<Vec<RestatedRow>, Error> {
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
async fn rows_to_mend(session: &Session, path: &Path) -> Result<Vec<MendRow>, Error> {
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

/// Makes a folder that only its owner can open.
fn make_private(folder: &Path) -> Result<(), Error> {
    let failed = || Error::write(folder.display().to_string());
    fs::DirBuilder::new()
        .recursive(true)
        .mode(0o700)
        .create(folder)
        .map_err(failed())?;
    fs::set_permissions(folder, fs::Permissions::from_mode(0o700)).map_err(failed())
}

/// Opens a file that only its owner can read.
fn private_file(path: &Path) -> std::io::Result<fs::File> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create(true).truncate(true).mode(0o600).open(path)
}

pub(super) fn write_private(path: &Path, text: &str) -> Result<(), Error> {
    let file = private_file(path);
    file.and_then(|mut file| file.write_all(text.as_bytes()))
        .map_err(Error::write(path.display().to_string()))
}
