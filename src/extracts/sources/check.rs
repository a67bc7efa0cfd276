//! What a source may not say, found before any file is read.

use jiff::tz::TimeZone;

use super::column::{Column, Taken};
use super::file::{Conditions, Format, Source, Target};
use crate::extracts::mapped::time;
use crate::extracts::text::Encoding;
use crate::nearest::nearest;
use crate::warehouse::tables::{Kind, OPTIONAL_COLUMNS, SOURCE_TABLES, SourceTable};

/// No two sources may have one name.
pub(super) fn names(sources: &[Source]) -> Result<(), String> {
    for (place, source) in sources.iter().enumerate() {
        if sources.iter().take(place).any(|other| other.name == source.name) {
            return Err(format!("two sources are called '{}'; rename one", source.name));
        }
    }
    Ok(())
}

/// The zone of that name.
pub(super) fn zone(name: &str) -> Result<TimeZone, String> {
    TimeZone::get(name).map_err(|_| format!("zone '{name}' is not an IANA time zone such as Europe/London"))
}

/// One source by itself.
pub(super) fn source(source: &Source) -> Result<(), String> {
    if source.name.trim().is_empty() || source.files.is_empty() {
        return Err("a name and at least one pattern in files are needed".to_owned());
    }
    if source.format != Format::Csv {
        return no_mapping(source);
    }
    if source.target.is_empty() {
        return Err("it feeds no table; add a [[source.target]]".to_owned());
    }
    signs(source)?;
    for format in &source.dates {
        time::check(format).map_err(|why| format!("dates: '{format}' {why}"))?;
    }
    for target in &source.target {
        self::target(target).map_err(|what| format!("target {}: {what}", target.table))?;
    }
    for column in source.ids.keys() {
        if !is_named(source, column) {
            return Err(format!("ids.{column}: no target takes a column '{column}'"));
        }
    }
    Ok(())
}

fn no_mapping(source: &Source) -> Result<(), String> {
    let is_plain = source.target.is_empty()
        && source.ids.is_empty()
        && source.dates.is_empty()
        && source.ignore.is_empty()
        && source.total_lines.is_empty()
        && source.skip_lines == 0
        && source.delimiter.is_none()
        && source.decimal.is_none()
        && source.thousands.is_none()
        && source.encoding.is_none();
    let only = "a source of this format takes name, files, format and zone only; the rest is for csv";
    is_plain.then_some(()).ok_or_else(|| only.to_owned())
}

fn signs(source: &Source) -> Result<(), String> {
    let is_sign = |sign: char| sign.is_ascii() && !sign.is_ascii_alphanumeric() && !matches!(sign, '"' | '\n' | '\r');
    if source.delimiter.is_some_and(|sign| !is_sign(sign)) {
        return Err("delimiter is one sign such as \",\" \";\" \"\\t\" \"|\"".to_owned());
    }
    if source.decimal.is_some_and(|sign| !matches!(sign, '.' | ',')) {
        return Err("decimal is \".\" or \",\"".to_owned());
    }
    if let Some(sign) = source.thousands {
        if !matches!(sign, '.' | ',' | ' ' | '\'' | '\u{a0}' | '\u{202f}') {
            return Err("thousands is \".\" \",\" \"'\" or a space".to_owned());
        }
        if sign == source.decimal.unwrap_or('.') {
            return Err("decimal and thousands are the same sign".to_owned());
        }
    }
    match &source.encoding {
        Some(label) if label != "detect" && !Encoding::is_known(label) => Err(format!(
            "encoding '{label}' is not known; use one such as utf-8, utf-16le, windows-1252, iso-8859-15"
        )),
        _ => Ok(()),
    }
}

fn target(target: &Target) -> Result<(), String> {
    let Some(table) = SourceTable::named(&target.table) else {
        let known: Vec<&str> = SOURCE_TABLES.iter().map(|table| table.name).collect();
        return Err(format!(
            "no such table{}; use one of: {}",
            meant(&target.table, &known),
            known.join(", ")
        ));
    };
    if target.part && !matches!(table.name, "births" | "stays") {
        return Err("part is for births and stays only".to_owned());
    }
    let mut known = table.column_names();
    known.extend(OPTIONAL_COLUMNS);
    for name in target.columns.keys().chain(target.words.keys()) {
        if !known.contains(&name.as_str()) {
            return Err(format!(
                "no column '{name}'{}; there are: {}",
                meant(name, &known),
                known.join(", ")
            ));
        }
    }
    if let Some(name) = target.words.keys().find(|name| !target.columns.contains_key(*name)) {
        return Err(format!("words.{name}: the target has no column {name}"));
    }
    let is_needed = |kind: &Kind| match kind {
        Kind::Id | Kind::Specimen => true,
        Kind::Infant | Kind::Event | Kind::Birth | Kind::RequiredWord(_) => !target.part,
        _ => false,
    };
    let missing = |(name, kind): &&(&str, Kind)| is_needed(kind) && !target.columns.contains_key(*name);
    if let Some((name, _)) = table.columns.iter().find(missing) {
        return Err(format!("column {name} is needed; say which column of the file it is"));
    }
    let has = |name: &str| target.columns.contains_key(name);
    if has("value") && !has("unit_of_measure") {
        return Err(
            "column unit_of_measure is needed beside value; without a column in the file write \
            unit_of_measure = { assumed = \"umol/L\" }, if the laboratory says so"
                .to_owned(),
        );
    }
    for (name, column) in &target.columns {
        let kind = kind_of(table, name);
        let words = target.words.get(name);
        let meant = column
            .words
            .values()
            .chain(words.into_iter().flat_map(|words| words.values()));
        self::column(column, kind, meant).map_err(|what| format!("column {name}: {what}"))?;
        if !column.status_words.is_empty() {
            status_words(table, column, kind).map_err(|what| format!("column {name}: {what}"))?;
        }
    }
    conditions(&target.when).and_then(|()| conditions(&target.unless))
}

fn column<'a>(column: &'a Column, kind: Kind, mut meant: impl Iterator<Item = &'a String>) -> Result<(), String> {
    let fits = match &column.from {
        Taken::Moment { .. } => matches!(kind, Kind::Event | Kind::Birth | Kind::Moment),
        Taken::Gestation { .. } => kind == Kind::Gestation,
        Taken::Join(_) => matches!(kind, Kind::Codes | Kind::Terms),
        Taken::Id(_) => matches!(kind, Kind::Id | Kind::Specimen),
        Taken::Column(_) | Taken::Constant(_) | Taken::Nothing => true,
    };
    if !fits {
        return Err(
            "it cannot be made in this way; date and time are for times, weeks and days for the gestation, \
            join for lists, from for the id of the row"
                .to_owned(),
        );
    }
    if column.assumed.is_some() && kind != Kind::Unit {
        return Err("assumed is for unit_of_measure only".to_owned());
    }
    if column.names().iter().any(|names| names.is_empty()) {
        return Err("a header name is needed".to_owned());
    }
    if matches!(
        kind,
        Kind::Value | Kind::Event | Kind::Birth | Kind::Moment | Kind::Gestation
    ) && meant.next().is_some()
    {
        return Err("it takes no words; for words in place of a value use status_words".to_owned());
    }
    let (Kind::Word(list) | Kind::RequiredWord(list)) = kind else {
        return Ok(());
    };
    let constant = match &column.from {
        Taken::Constant(word) => Some(word),
        _ => None,
    };
    let is_unknown = |word: &&String| !word.is_empty() && !list.contains(&word.as_str());
    match meant.chain(constant).find(is_unknown) {
        Some(word) => Err(format!(
            "'{word}' is no word of it{}; use one of: {}",
            self::meant(word, list),
            list.join(", ")
        )),
        None => Ok(()),
    }
}

fn status_words(table: &SourceTable, column: &Column, kind: Kind) -> Result<(), String> {
    let status = table.columns.iter().find(|(name, _)| *name == "status");
    let (Kind::Value, Some((_, Kind::RequiredWord(list)))) = (kind, status) else {
        return Err("status_words are for the value of a table with a status".to_owned());
    };
    match column.status_words.values().find(|word| !list.contains(&word.as_str())) {
        Some(word) => Err(format!(
            "status_words: '{word}' is no status; use one of: {}",
            list.join(", ")
        )),
        None => Ok(()),
    }
}

fn conditions(of: &Conditions) -> Result<(), String> {
    match of.iter().find(|(_, cells)| cells.0.is_empty()) {
        Some((name, _)) => Err(format!("where {name}: no cells are named; write \"\" for an empty one")),
        None => Ok(()),
    }
}

/// What a column holds; the two that every table may carry are said here.
pub(in crate::extracts) fn kind_of(table: &SourceTable, column: &str) -> Kind {
    let own = table.columns.iter().find(|(name, _)| *name == column);
    own.map_or(
        if column == "recorded_at" {
            Kind::Moment
        } else {
            Kind::Text
        },
        |(_, kind)| *kind,
    )
}

fn is_named(source: &Source, column: &str) -> bool {
    let columns = source.target.iter().flat_map(|target| target.columns.values());
    let mut names = columns.flat_map(Column::names).flatten();
    names.any(|name| name.trim().to_lowercase() == column.trim().to_lowercase())
}

fn meant(word: &str, known: &[&str]) -> String {
    let near = nearest(word, known.iter().copied());
    near.map_or_else(String::new, |near| format!(" (did you mean '{near}'?)"))
}
