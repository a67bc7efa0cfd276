//! What was published: a log beside the reports, and the index made of it.

use std::fs::{self, OpenOptions};
use std::io::Write;
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::error::Error;
use crate::month::Month;
use crate::pages::compare::{Report, differences};
use crate::pages::index::{Entry, Link, Published, render};
use crate::queries::figures::quoted;

use super::files::write_private;

/// The log: a line for each report written.
const LOG: &str = "published.csv";
const HEADER: &str = "published_at,month,unit,load,siskin\n";

/// Enters a report into the log of the folder and makes the folder's index anew.
pub(super) fn publish(out: &Path, month: Month, unit: Option<&str>, load: i64) -> Result<(), Error> {
    let log = out.join(LOG);
    let failed = || Error::write(log.display().to_string());
    let is_first = !log.exists();
    let mut file = OpenOptions::new()
        .create(true)
        .append(true)
        .mode(0o600)
        .open(&log)
        .map_err(failed())?;
    let at = Timestamp::now().strftime("%Y-%m-%dT%H:%M:%SZ").to_string();
    let line = format!(
        "{at},{month},{},{load},{}\n",
        quoted(unit.unwrap_or_default()),
        env!("CARGO_PKG_VERSION")
    );
    let header = if is_first { HEADER } else { "" };
    file.write_all(format!("{header}{line}").as_bytes()).map_err(failed())?;
    let entries = entries(out, &read_log(&log)?)?;
    write_private(&out.join("index.html"), &render(&entries)?)
}

/// One line of the log.
struct Line {
    month: Month,
    published: Published,
}

/// The lines that can be read; a line that was edited into something else is left out.
fn read_log(log: &Path) -> Result<Vec<Line>, Error> {
    let text = fs::read(log).map_err(Error::write(log.display().to_string()))?;
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(text.as_slice());
    let lines = reader.records().filter_map(|record| {
        let record = record.ok()?;
        let at: Timestamp = record.get(0)?.parse().ok()?;
        Some(Line {
            month: record.get(1)?.parse().ok()?,
            published: Published {
                at: TimeZone::UTC.to_datetime(at).strftime("%Y-%m-%d %H:%M").to_string(),
                unit: record.get(2)?.trim_start_matches('\'').to_owned(),
                load: record.get(3)?.parse().ok()?,
            },
        })
    });
    Ok(lines.collect())
}

/// The months that have a folder, each compared with the one before.
fn entries(out: &Path, log: &[Line]) -> Result<Vec<Entry>, Error> {
    let mut months = Vec::new();
    for name in names_in(out)? {
        months.extend(name.parse::<Month>());
    }
    months.sort();
    let mut entries: Vec<Entry> = Vec::new();
    let mut before: Option<Report> = None;
    for month in months {
        let folder = month.to_string();
        let report = read(&out.join(&folder));
        let (compared_with, differences) = match (&before, &report) {
            (Some(before), Some(report)) => (before.in_words(), differences(before, report)),
            _ => (String::new(), Vec::new()),
        };
        let mut published: Vec<Published> = log
            .iter()
            .filter(|line| line.month == month)
            .map(|line| line.published.clone())
            .collect();
        published.reverse();
        entries.push(Entry {
            month,
            published,
            pages: pages(out, &folder)?,
            compared_with,
            differences,
        });
        before = report.or(before);
    }
    Ok(entries)
}

/// The pages of a month.
fn pages(out: &Path, month: &str) -> Result<Vec<Link>, Error> {
    let mut pages = Vec::new();
    let mut add = |address: String, name: &str| {
        if out.join(&address).is_file() {
            pages.push(Link {
                address,
                name: name.to_owned(),
            });
        }
    };
    add(format!("{month}/quality/dashboard.html"), "dashboard");
    add(format!("{month}/quality/cases.html"), "cases to review");
    add(format!("{month}/committee/committee.html"), "for the committee");
    for folder in names_in(&out.join(month))? {
        if let Some(unit) = folder.strip_prefix("unit-") {
            add(
                format!("{month}/{folder}/quality/dashboard.html"),
                &format!("unit {unit}"),
            );
        }
    }
    Ok(pages)
}

/// Names of the folders in a folder, sorted.
fn names_in(folder: &Path) -> Result<Vec<String>, Error> {
    let failed = || Error::write(format!("what is read from {}", folder.display()));
    let mut names = Vec::new();
    for entry in fs::read_dir(folder).map_err(failed())? {
        let entry = entry.map_err(failed())?;
        if entry.path().is_dir() {
            names.extend(entry.file_name().into_string());
        }
    }
    names.sort();
    Ok(names)
}

/// A month's report of the network, or `None` where it cannot be read.
pub(in crate::commands) fn read(month: &Path) -> Option<Report> {
    let quality = month.join("quality");
    let text = |name: &str| fs::read_to_string(quality.join(name)).ok();
    Some(Report {
        figures: serde_json::from_str(&text("measures.json")?).ok()?,
        verdicts: serde_json::from_str(&text("signals.json")?).ok()?,
    })
}
