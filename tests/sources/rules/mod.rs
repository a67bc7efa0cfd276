//! Each rule of `sources.toml` by itself, on small invented files.

mod encodings;
mod files;
mod gestation;
mod ids;
mod numbers;
mod refusals;
mod rows;
mod times;
mod words;

use std::path::Path;

use jiff::tz::TimeZone;
use siskin::extracts::Reader;
use siskin::extracts::mapped::{MappedError, MappedReader};
use siskin::extracts::record::{Record, SourceRow};
use siskin::extracts::sources::Sources;

fn parse(text: &str) -> Sources {
    Sources::parse(text, Path::new("sources.toml")).unwrap_or_else(|error| panic!("{error}"))
}

fn berlin() -> TimeZone {
    TimeZone::get("Europe/Berlin").unwrap()
}

fn open(sources: &Sources, bytes: &[u8]) -> Result<MappedReader, MappedError> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("file.csv");
    std::fs::write(&path, bytes).unwrap();
    MappedReader::open(&path, &sources.all()[0], sources, &berlin())
}

fn records(mapping: &str, bytes: &[u8]) -> Vec<Record> {
    let sources = parse(mapping);
    let mut reader = open(&sources, bytes).unwrap_or_else(|error| panic!("{error}"));
    std::iter::from_fn(|| reader.next_record().unwrap()).collect()
}

fn refusal(mapping: &str, bytes: &[u8]) -> String {
    match open(&parse(mapping), bytes) {
        Ok(_) => panic!("it is not refused"),
        Err(error) => error.to_string(),
    }
}

/// A serum source with settings of its own and other columns in place of the usual ones.
fn serum(settings: &str, columns: &[(&str, &str)]) -> String {
    let mut all = vec![
        ("specimen_id", "\"id\""),
        ("infant_id", "\"baby\""),
        ("collected_at", "\"taken\""),
        ("value", "\"result\""),
        ("unit_of_measure", "\"units\""),
        ("status", "{ constant = \"final\" }"),
    ];
    for (name, from) in columns {
        all.retain(|(other, _)| other != name);
        all.push((name, from));
    }
    let columns: String = all.iter().map(|(name, from)| format!("{name} = {from}\n")).collect();
    format!(
        "[[source]]\nname = \"s\"\nfiles = [\"*.csv\"]\n{settings}\n[[source.target]]\ntable = \"serum\"\n[source.target.columns]\n{columns}"
    )
}

/// The one row of a serum file with one line.
fn serum_row(settings: &str, columns: &[(&str, &str)], cells: [&str; 5]) -> SourceRow {
    let file = format!("id|baby|taken|result|units\n{}\n", cells.join("|"));
    let mut all = records(&serum(settings, columns), file.as_bytes());
    assert_eq!(all[0].fault, None);
    all.remove(0).rows.remove(0)
}

fn births(columns: &str) -> String {
    format!(
        "[[source]]\nname = \"b\"\nfiles = [\"*.csv\"]\n[[source.target]]\ntable = \"births\"\npart = true\n[source.target.columns]\ninfant_id = \"baby\"\n{columns}"
    )
}
