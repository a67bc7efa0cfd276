//! Judges one raw row against its table: typed fields, or why it is set aside.

use std::borrow::Cow;

use jiff::civil::{Date, DateTime, Weekday};
use jiff::tz::TimeZone;

use crate::extracts::record::SourceRow;
use crate::protocol::{Plausible, gestation_days};
use crate::warehouse::tables::Kind;

use super::field::Field;
use super::reason::SetAside;
use super::results::{self, Specimen};
use super::time::{self, Moment, When};
use super::value;
use crate::extracts::reason::Reason;

/// What is needed to read rows: zone and bounds.
pub struct Judge<'a> {
    /// Zone of local times.
    pub zone: &'a TimeZone,
    /// Bounds of a value.
    pub plausible: &'a Plausible,
}

/// An accepted row: its own fields in schema order, and what dates and orders it.
#[derive(Clone, Debug, PartialEq)]
pub struct Accepted<'a> {
    /// Fields of the table's own columns.
    pub fields: Vec<Field<'a>>,
    /// The id under which versions replace each other.
    pub row_id: Cow<'a, str>,
    /// Serum only: the specimen.
    pub specimen: Option<Specimen<'a>>,
    /// The moment it is dated by; none for a withdrawal or a birth known by day.
    pub event_s: Option<i64>,
    /// When the local day of a birth began.
    pub day_s: Option<i64>,
    /// Local month of that moment.
    pub local_month: Option<String>,
    /// The moment it lasts until: a stop, a discharge.
    pub until_s: Option<i64>,
    /// Local month of that moment.
    pub until_month: Option<String>,
    /// The baby; for the birth register its own id.
    pub infant_id: Option<&'a str>,
    /// Serum only: preliminary, final, corrected, cancelled as 1 to 4; else 0.
    pub version_rank: i64,
    /// Serum only: when it resulted.
    pub version_s: Option<i64>,
    /// The row removes its id.
    pub withdrawn: bool,
    /// `recorded_at`.
    pub recorded_s: Option<i64>,
    /// The columns it states, as `,born_at,sex,`, when it states only part.
    pub said: Option<String>,
}

impl Accepted<'_> {
    /// Whether the row states a column: one that does not state only part states all.
    pub fn says(&self, column: &str) -> bool {
        let said = self.said.as_ref();
        said.is_none_or(|said| said.split(',').any(|name| name == column))
    }
}

/// Room for the fields of the widest table and those every stored row carries.
const MOST_FIELDS: usize = 56;

/// A row as its source said it, and what was read of it so far.
struct Read<'a> {
    source: &'a SourceRow,
    row: Accepted<'a>,
}

impl<'a> Read<'a> {
    /// The cell in the spelling of the contract; empty when it says nothing.
    fn value(&self, i: usize) -> &'a str {
        self.source.cells[i].as_ref().map_or("", |cell| cell.value.trim())
    }

    /// The cell as its source wrote it.
    fn written(&self, i: usize) -> &'a str {
        self.source.cells[i].as_ref().map_or("", |cell| cell.as_written())
    }

    /// The cell of a column of the table.
    fn named(&self, column: &str) -> &'a str {
        self.source.value(column)
    }
}

impl Judge<'_> {
    /// Judges one row as its source said it.
    ///
    /// # Errors
    /// The first reason for which the row has to be set aside.
    pub fn row<'a>(&self, source: &'a SourceRow) -> Result<Accepted<'a>, SetAside> {
        if let Some(fault) = &source.fault {
            return Err(fault.into());
        }
        let mut read = Read {
            source,
            row: Accepted {
                fields: Vec::with_capacity(MOST_FIELDS),
                row_id: results::row_id(source).unwrap_or_default(),
                specimen: results::specimen(source),
                event_s: None,
                day_s: None,
                local_month: None,
                until_s: None,
                until_month: None,
                infant_id: None,
                version_rank: 0,
                version_s: None,
                withdrawn: false,
                recorded_s: None,
                said: source.is_part.then(|| said(source)),
            },
        };
        read.row.withdrawn = withdrawn(&read)?;
        let recorded = self.moment("recorded_at", read.named("recorded_at"))?;
        read.row.recorded_s = recorded.map(|m| m.at_s);
        let infant_id = read.named("infant_id");
        read.row.infant_id = (!infant_id.is_empty()).then_some(infant_id);
        for (i, (name, kind)) in source.table.columns.iter().enumerate() {
            let is_stated = !source.is_part || source.cells[i].as_ref().is_some_and(|cell| !cell.value.is_empty());
            let identifies = matches!(
                kind,
                Kind::Id | Kind::Specimen | Kind::Infant | Kind::Text | Kind::Analyte
            );
            if identifies || (is_stated && !read.row.withdrawn) {
                self.cell(&mut read, i, name, *kind)?;
            } else {
                let width = width(*kind);
                read.row.fields.extend(std::iter::repeat_n(Field::Null, width));
            }
        }
        if !read.row.withdrawn {
            order_of_times(&read)?;
            merged_into_another(&read)?;
        }
        Ok(read.row)
    }

    /// The moment that dates a row, where it can be read.
    pub fn event(&self, source: &SourceRow) -> Option<Moment> {
        let (column, _) = source.table.columns.iter().find(|(_, kind)| *kind == Kind::Event)?;
        match time::read(source.value(column), self.zone) {
            Some(When::Moment(moment)) => Some(moment),
            _ => None,
        }
    }

    fn cell(&self, read: &mut Read<'_>, i: usize, name: &'static str, kind: Kind) -> Result<(), SetAside> {
        let (cell, written) = (read.value(i), read.written(i));
        let fields = &mut read.row.fields;
        match kind {
            Kind::Id | Kind::Specimen if cell.is_empty() => return Err(SetAside::new(Reason::MissingId, name, cell)),
            Kind::Id => fields.push(Field::text(cell)),
            Kind::Specimen => {
                fields.push(Field::text(read.row.row_id.clone()));
                fields.push(Field::text(cell));
            }
            Kind::Infant if cell.is_empty() && !read.row.withdrawn => {
                return Err(SetAside::new(Reason::MissingInfant, name, cell));
            }
            Kind::RequiredText if cell.is_empty() => return Err(SetAside::new(Reason::MissingInfant, name, cell)),
            Kind::Infant | Kind::Text | Kind::RequiredText => fields.push(Field::text(cell)),
            Kind::Term => fields.push(Field::text(in_lower_case(cell))),
            Kind::Terms => fields.push(Field::text(terms(cell))),
            Kind::Word(words) => fields.push(word(name, cell, words)?),
            Kind::RequiredWord(words) => {
                let found = word(name, cell, words)?;
                if found == Field::Null {
                    return Err(SetAside::new(Reason::MissingWord, name, cell));
                }
                if name == "status" {
                    let place = words.iter().position(|w| found == Field::text(*w));
                    read.row.version_rank = place.map_or(0, |p| p as i64 + 1);
                }
                fields.push(found);
            }
            // A withdrawal need not say what was measured.
            Kind::Analyte if read.row.withdrawn => fields.push(analyte(name, cell).unwrap_or(Field::Null)),
            Kind::Analyte => fields.push(analyte(name, cell)?),
            Kind::Count => fields.push(count(name, cell)?),
            Kind::Gestation => gestation(fields, name, cell, written)?,
            Kind::Event => {
                let Some(moment) = self.moment(name, cell)? else {
                    return Err(SetAside::new(Reason::MissingTime, name, cell));
                };
                event(&mut read.row, written, moment);
            }
            Kind::Birth => self.birth(&mut read.row, name, cell, written)?,
            Kind::Moment => {
                let moment = self.moment(name, cell)?;
                push_moment(fields, written, moment.map(|m| m.at_s));
                if name == "resulted_at" {
                    read.row.version_s = moment.map(|m| m.at_s);
                } else {
                    read.row.until_s = moment.map(|m| m.at_s);
                    read.row.until_month = moment.map(|m| month_of(m.local.date()));
                }
            }
            Kind::Value => self.value(read, i, cell)?,
            Kind::Unit => {
                fields.push(Field::text(written));
                fields.push(value::Unit::read(cell).map_or(Field::Null, |u| Field::text(u.ucum())));
                fields.push(Field::Flag(read.source.unit_assumed));
            }
            Kind::Codes => codes(fields, cell),
        }
        Ok(())
    }

    fn moment(&self, name: &'static str, cell: &str) -> Result<Option<Moment>, SetAside> {
        if cell.is_empty() {
            return Ok(None);
        }
        match time::read(cell, self.zone) {
            Some(When::Moment(moment)) => Ok(Some(moment)),
            Some(When::Day(_)) => Err(SetAside::new(Reason::DateWithoutTime, name, cell)),
            None => Err(SetAside::new(Reason::UnreadableTime, name, cell)),
        }
    }

    fn birth<'a>(
        &self,
        row: &mut Accepted<'a>,
        name: &'static str,
        cell: &str,
        written: &'a str,
    ) -> Result<(), SetAside> {
        if cell.is_empty() {
            return Err(SetAside::new(Reason::MissingTime, name, cell));
        }
        let day = match time::read(cell, self.zone) {
            Some(When::Moment(moment)) => {
                let day = moment.local.date();
                event(row, written, moment);
                day
            }
            Some(When::Day(day)) => {
                push_moment(&mut row.fields, written, None);
                row.fields.push(Field::Int(days_since_epoch(day)));
                row.fields.push(Field::Null);
                row.fields.push(Field::Flag(is_weekend(day)));
                row.fields.push(Field::Null);
                row.local_month = Some(month_of(day));
                day
            }
            None => return Err(SetAside::new(Reason::UnreadableTime, name, cell)),
        };
        row.day_s = time::day_begins_s(day, self.zone);
        row.fields.push(Field::int(row.day_s));
        Ok(())
    }

    /// A serum without a number is an attempt and is kept; a screen is not.
    fn value(&self, read: &mut Read<'_>, i: usize, cell: &str) -> Result<(), SetAside> {
        let found = value::read(cell, read.value(i + 1), self.plausible)?;
        if found.is_none() && read.source.table.name == "screens" {
            let reason = if cell.is_empty() {
                Reason::MissingValue
            } else {
                Reason::UnreadableValue
            };
            return Err(SetAside::new(reason, "value", cell));
        }
        let written = Field::text(read.written(i));
        let fields = &mut read.row.fields;
        fields.push(written);
        match found {
            None => fields.extend(std::iter::repeat_n(Field::Null, width(Kind::Value) - 1)),
            Some(read) => fields.extend([
                Field::Real(read.value),
                read.bound.sign().map_or(Field::Null, Field::text),
                Field::Real(read.umol_l()),
                Field::Int(read.micro),
                Field::Int(read.compare_micro()),
            ]),
        }
        Ok(())
    }
}

/// An end must not precede its start.
fn order_of_times(read: &Read<'_>) -> Result<(), SetAside> {
    let (Some(from), Some(until)) = (read.row.event_s, read.row.until_s) else {
        return Ok(());
    };
    if until >= from {
        return Ok(());
    }
    let (end, reason) = match read.source.table.name {
        "stays" => ("discharged_at", Reason::DischargeBeforeAdmission),
        _ => ("stopped_at", Reason::StopBeforeStart),
    };
    Err(SetAside::new(reason, end, read.named(end)))
}

/// A merge names two babies.
fn merged_into_another(read: &Read<'_>) -> Result<(), SetAside> {
    let into = read.named("into_infant_id");
    if into.is_empty() || into != read.row.row_id.as_ref() {
        return Ok(());
    }
    Err(SetAside::new(Reason::MergedIntoItself, "into_infant_id", into))
}

/// Whether the row withdraws its id: by `record_status`, or a serum's own status.
fn withdrawn(read: &Read<'_>) -> Result<bool, SetAside> {
    if read.named("status").eq_ignore_ascii_case("withdrawn") {
        return Ok(true);
    }
    Ok(word("record_status", read.named("record_status"), &["withdrawn"])? != Field::Null)
}

/// The columns stated by a row that states only part.
fn said(source: &SourceRow) -> String {
    let names = source.table.columns.iter().zip(&source.cells);
    let stated = names.filter(|(_, cell)| cell.is_some());
    stated.fold(String::from(","), |list, ((name, _), _)| list + name + ",")
}

/// How many stored columns a kind becomes.
fn width(kind: Kind) -> usize {
    match kind {
        Kind::Gestation => 4,
        Kind::Event => 7,
        Kind::Birth => 8,
        Kind::Moment => 3,
        Kind::Value => 6,
        Kind::Unit => 3,
        Kind::Specimen | Kind::Codes => 2,
        _ => 1,
    }
}

fn word<'a>(name: &'static str, cell: &'a str, words: &[&str]) -> Result<Field<'a>, SetAside> {
    let plain = in_lower_case(cell);
    if plain.is_empty() || words.contains(&plain.as_ref()) {
        return Ok(Field::text(plain));
    }
    let mut aside = SetAside::new(Reason::UnknownWord, name, cell);
    aside.remedy = format!("use one of: {}", words.join(", "));
    Err(aside)
}

/// In lower case: itself, when it is.
fn in_lower_case(cell: &str) -> Cow<'_, str> {
    match cell.bytes().all(|b| b.is_ascii() && !b.is_ascii_uppercase()) {
        true => Cow::Borrowed(cell),
        false => Cow::Owned(cell.to_lowercase()),
    }
}

/// `g6pd; sepsis` as `g6pd;sepsis`, so that a query can look for a word between separators.
fn terms(cell: &str) -> String {
    let words = cell.split(';').map(|word| word.trim().to_lowercase());
    words.filter(|word| !word.is_empty()).collect::<Vec<_>>().join(";")
}

fn analyte<'a>(name: &'static str, cell: &'a str) -> Result<Field<'a>, SetAside> {
    let plain = in_lower_case(cell);
    if results::is_loinc(&plain) || plain == "total" || plain == "direct" {
        return Ok(Field::text(plain));
    }
    let reason = if plain.is_empty() {
        Reason::MissingWord
    } else {
        Reason::UnknownWord
    };
    let mut aside = SetAside::new(reason, name, cell);
    aside.remedy = "write total, direct, or the LOINC code of the test".into();
    Err(aside)
}

fn count(name: &'static str, cell: &str) -> Result<Field<'static>, SetAside> {
    if cell.is_empty() {
        return Ok(Field::Null);
    }
    match cell.parse::<u32>() {
        Ok(number) if number <= i32::MAX as u32 => Ok(Field::Int(i64::from(number))),
        _ => Err(SetAside::new(Reason::UnreadableNumber, name, cell)),
    }
}

fn gestation<'a>(
    fields: &mut Vec<Field<'a>>,
    name: &'static str,
    cell: &str,
    written: &'a str,
) -> Result<(), SetAside> {
    if cell.is_empty() {
        fields.extend(std::iter::repeat_n(Field::Null, width(Kind::Gestation)));
        return Ok(());
    }
    let Some(days) = gestation_days(cell) else {
        return Err(SetAside::new(Reason::UnreadableGestation, name, cell));
    };
    let precision = if cell.contains('+') { "days" } else { "weeks" };
    fields.extend([
        Field::text(written),
        Field::Int(i64::from(days)),
        Field::Int(i64::from(days / 7)),
        Field::text(precision),
    ]);
    Ok(())
}

fn push_moment<'a>(fields: &mut Vec<Field<'a>>, text: &'a str, at_s: Option<i64>) {
    fields.push(Field::text(text));
    fields.push(Field::int(at_s.map(|s| s * 1_000_000)));
    fields.push(Field::int(at_s));
}

/// The moment that dates the row, with its local day, hour and clock flag.
fn event<'a>(row: &mut Accepted<'a>, text: &'a str, moment: Moment) {
    let local: DateTime = moment.local;
    push_moment(&mut row.fields, text, Some(moment.at_s));
    row.fields.extend([
        Field::Int(days_since_epoch(local.date())),
        Field::Int(i64::from(local.hour())),
        Field::Flag(is_weekend(local.date())),
        moment.clock.map_or(Field::Null, |flag| Field::text(flag.word())),
    ]);
    row.event_s = Some(moment.at_s);
    row.local_month = Some(month_of(local.date()));
}

pub(super) fn month_of(day: Date) -> String {
    crate::month::Month::of(day).to_string()
}

fn is_weekend(day: Date) -> bool {
    matches!(day.weekday(), Weekday::Saturday | Weekday::Sunday)
}

pub(super) fn days_since_epoch(day: Date) -> i64 {
    let noon = day.to_datetime(jiff::civil::Time::constant(12, 0, 0, 0));
    jiff::tz::Offset::UTC
        .to_timestamp(noon)
        .map_or(0, |at| at.as_second().div_euclid(86_400))
}

/// Codes as given, and the first of them in upper case without dots. An empty first
/// place means that no primary diagnosis is known.
fn codes<'a>(fields: &mut Vec<Field<'a>>, cell: &'a str) {
    let primary = cell.split(';').map(str::trim).next().filter(|code| !code.is_empty());
    let plain = primary.map(|code| code.to_uppercase().replace(['.', ' '], ""));
    fields.push(Field::text(cell));
    fields.push(plain.map_or(Field::Null, Field::text));
}
