//! One cell of a row: taken from the file and said in the spelling of the contract.

use super::number::Signs;
use super::time::Times;
use super::words::Words;
use super::{gestation, id, number, time};
use crate::extracts::codes::Codes;
use crate::extracts::reason::Reason;
use crate::extracts::record::{Cell, Fault};
use crate::extracts::sources::IdRule;
use crate::warehouse::tables::Kind;

/// How a source writes its cells.
pub(super) struct Spelling {
    pub(super) codes: Codes,
    pub(super) signs: Signs,
    pub(super) times: Times,
}

/// How one column of a table is read from one file.
pub(super) struct ColumnPlan {
    pub(super) column: &'static str,
    pub(super) kind: Kind,
    pub(super) take: Take,
    /// The file has no column for the unit; the declared one is taken.
    pub(super) is_assumed: bool,
    pub(super) words: Words,
    /// Whether the words stand beside the column in `sources.toml`, or by themselves.
    pub(super) has_words_beside: bool,
    /// The target and the source, as messages name them.
    pub(super) of: String,
    pub(super) status_words: Words,
}

/// Where in a row the text stands.
pub(super) enum Take {
    Cell(Place),
    Constant(String),
    Moment(Place, Place),
    Gestation(Place, Place),
    Join(Vec<Place>),
    Id(Vec<Place>),
}

/// A column of the file, with the rule of its ids.
pub(super) struct Place {
    pub(super) at: usize,
    pub(super) name: String,
    pub(super) rule: Option<IdRule>,
}

impl Place {
    fn raw<'a>(&self, row: &'a [String]) -> &'a str {
        row.get(self.at).map_or("", |cell| cell.trim())
    }

    fn read(&self, row: &[String]) -> Result<String, String> {
        let raw = self.raw(row);
        match &self.rule {
            Some(rule) => id::read(raw, rule).map_err(|why| format!("{why}; see ids.{} in sources.toml", self.name)),
            None => Ok(raw.to_owned()),
        }
    }
}

impl ColumnPlan {
    /// What the row says in this column.
    ///
    /// # Errors
    /// The fault, which holds the text as it stands in the file.
    pub(super) fn read(&self, row: &[String], how: &Spelling) -> Result<Cell, Fault> {
        match &self.take {
            Take::Constant(word) => Ok(word.as_str().into()),
            Take::Cell(place) => {
                let raw = place.raw(row);
                let plain = place
                    .read(row)
                    .map_err(|why| self.fault(Reason::UnreadableId, raw, why))?;
                let value = self.said(&plain, how)?;
                Ok(Cell::read_from(raw, value))
            }
            Take::Moment(date, time) => self.moment(date.raw(row), time.raw(row), how),
            Take::Gestation(weeks, days) => {
                let (weeks, days) = (weeks.raw(row), days.raw(row));
                let raw = [weeks, days].join(" ").trim().to_owned();
                let value = gestation::of_two(weeks, days);
                let value = value.map_err(|why| self.fault(Reason::UnreadableGestation, &raw, why))?;
                Ok(Cell::read_from(&raw, value))
            }
            Take::Join(places) => self.joined(places, row, how),
            Take::Id(places) => self.id(places, row),
        }
    }

    fn moment(&self, date: &str, time: &str, how: &Spelling) -> Result<Cell, Fault> {
        let raw = [date, time].join(" ").trim().to_owned();
        if date.is_empty() && !time.is_empty() {
            return Err(self.fault(Reason::UnreadableTime, &raw, "a time of day without its date"));
        }
        let value = time::read(&raw, &how.times);
        let value = value.map_err(|why| self.fault(Reason::UnreadableTime, &raw, why))?;
        Ok(Cell::read_from(&raw, value))
    }

    /// Places are kept: an empty first code is no primary diagnosis, and the next is none.
    fn joined(&self, places: &[Place], row: &[String], how: &Spelling) -> Result<Cell, Fault> {
        let mut values = Vec::new();
        for place in places {
            values.push(self.said(place.raw(row), how)?);
        }
        while values.last().is_some_and(String::is_empty) {
            values.pop();
        }
        let raw: Vec<&str> = places.iter().map(|place| place.raw(row)).collect();
        let raw = raw.join(";");
        Ok(Cell::read_from(raw.trim_end_matches(';'), values.join(";")))
    }

    fn id(&self, places: &[Place], row: &[String]) -> Result<Cell, Fault> {
        let raw: Vec<&str> = places.iter().map(|place| place.raw(row)).collect();
        let raw = raw.join("-");
        let mut parts = Vec::new();
        for place in places {
            let part = place
                .read(row)
                .map_err(|why| self.fault(Reason::UnreadableId, place.raw(row), why))?;
            if part.is_empty() {
                let why = format!("column {} is empty, and the id is made of it", place.name);
                return Err(self.fault(Reason::MissingId, &raw, why));
            }
            parts.push(part);
        }
        Ok(Cell::read_from(&raw, parts.join("-")))
    }

    fn said(&self, plain: &str, how: &Spelling) -> Result<String, Fault> {
        match self.kind {
            Kind::Value => return self.value(plain, how),
            Kind::Event | Kind::Birth | Kind::Moment => {
                return time::read(plain, &how.times).map_err(|why| self.fault(Reason::UnreadableTime, plain, why));
            }
            Kind::Gestation => {
                return gestation::read(plain).map_err(|why| self.fault(Reason::UnreadableGestation, plain, why));
            }
            Kind::Terms | Kind::Codes if !self.words.is_empty() => {
                let words = plain.split(';').map(|word| self.word(word.trim(), how));
                return Ok(words.collect::<Result<Vec<String>, Fault>>()?.join(";"));
            }
            _ => {}
        }
        let word = self.word(plain, how)?;
        let is_count = self.kind == Kind::Count;
        // A count that is no number is the judge's to name.
        let number = is_count.then(|| number::read(&word, how.signs)).flatten();
        Ok(number.unwrap_or(word))
    }

    fn value(&self, plain: &str, how: &Spelling) -> Result<String, Fault> {
        if self.status_words.listed(plain).is_some() {
            return Ok(plain.to_owned());
        }
        let is_number = plain.bytes().any(|b| b.is_ascii_digit());
        if !is_number && (plain.is_empty() || self.status_words.is_empty()) {
            return Ok(plain.to_owned());
        }
        if !is_number {
            let remedy = format!(
                "add \"{plain}\" and the status it means to columns.{}.status_words of {} in sources.toml",
                self.column, self.of
            );
            return Err(self.fault(Reason::UnknownWord, plain, remedy));
        }
        number::read(plain, how.signs).ok_or_else(|| self.fault(Reason::UnreadableValue, plain, how.signs.remedy()))
    }

    fn word(&self, said: &str, how: &Spelling) -> Result<String, Fault> {
        if let Some(meant) = self.words.meaning(said) {
            return Ok(meant.to_owned());
        }
        let is_word = matches!(self.kind, Kind::Word(_) | Kind::RequiredWord(_) | Kind::Term);
        if let Some(meant) = is_word.then(|| how.codes.word(self.column, said)).flatten()
            && self.words.is_empty()
        {
            return Ok(meant.to_owned());
        }
        if said.is_empty() || self.words.is_empty() {
            return Ok(said.to_owned());
        }
        let column = self.column;
        let key = if self.has_words_beside {
            format!("columns.{column}.words")
        } else {
            format!("words.{column}")
        };
        let remedy = format!(
            "add \"{said}\" and what it means to {key} of {} in sources.toml",
            self.of
        );
        Err(self.fault(Reason::UnknownWord, said, remedy))
    }

    fn fault(&self, kind: Reason, cell: &str, remedy: impl Into<String>) -> Fault {
        Fault::of_cell(kind, self.column, cell).with_remedy(remedy)
    }
}
