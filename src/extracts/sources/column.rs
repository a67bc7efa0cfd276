//! Where a column of the contract comes from: a header name, a list of names of
//! which the file has one, or a table that says more.

use std::collections::BTreeMap;
use std::fmt;

use serde::Deserialize;
use serde::de::value::{MapAccessDeserializer, SeqAccessDeserializer};
use serde::de::{Deserializer, Error, MapAccess, SeqAccess, Visitor};

/// One name, or several of which the first that the file has is taken.
pub(in crate::extracts) type Names = Vec<String>;

/// How one column is filled.
#[derive(Clone, Debug)]
pub(in crate::extracts) struct Column {
    pub(in crate::extracts) from: Taken,
    /// Words of the source and the word of the contract.
    pub(in crate::extracts) words: BTreeMap<String, String>,
    /// The unit, when the file has no column for it.
    pub(in crate::extracts) assumed: Option<String>,
    /// Words that stand for a value and the status they mean.
    pub(in crate::extracts) status_words: BTreeMap<String, String>,
    /// The file may lack it.
    pub(in crate::extracts) optional: bool,
}

/// Where the text is taken from.
#[derive(Clone, Debug)]
pub(in crate::extracts) enum Taken {
    /// One column.
    Column(Names),
    /// The same for every row.
    Constant(String),
    /// A date and a time of day in two columns.
    Moment { date: Names, time: Names },
    /// Weeks and days in two columns.
    Gestation { weeks: Names, days: Names },
    /// Several columns, joined by `;`.
    Join(Vec<String>),
    /// An id made of several columns, joined by `-`.
    Id(Vec<String>),
    /// No column: only a unit is assumed.
    Nothing,
}

/// A text, or a list of them.
#[derive(Clone, Debug, Default)]
pub(in crate::extracts) struct OneOrMore(pub(in crate::extracts) Vec<String>);

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Detailed {
    column: Option<OneOrMore>,
    constant: Option<String>,
    date: Option<OneOrMore>,
    time: Option<OneOrMore>,
    weeks: Option<OneOrMore>,
    days: Option<OneOrMore>,
    join: Option<Vec<String>>,
    from: Option<Vec<String>>,
    #[serde(default)]
    words: BTreeMap<String, String>,
    assumed: Option<String>,
    #[serde(default)]
    status_words: BTreeMap<String, String>,
    #[serde(default)]
    optional: bool,
}

impl Detailed {
    fn taken(&mut self) -> Result<Taken, &'static str> {
        let mut found = Vec::new();
        found.extend(self.column.take().map(|names| Taken::Column(names.0)));
        found.extend(self.constant.take().map(Taken::Constant));
        found.extend(self.join.take().map(Taken::Join));
        found.extend(self.from.take().map(Taken::Id));
        match (self.date.take(), self.time.take()) {
            (Some(date), Some(time)) => found.push(Taken::Moment {
                date: date.0,
                time: time.0,
            }),
            (None, None) => {}
            _ => return Err("date and time belong together; for one column write its name alone"),
        }
        match (self.weeks.take(), self.days.take()) {
            (Some(weeks), Some(days)) => found.push(Taken::Gestation {
                weeks: weeks.0,
                days: days.0,
            }),
            (None, None) => {}
            _ => return Err("weeks and days belong together; for one column write its name alone"),
        }
        match (found.pop(), found.is_empty(), &self.assumed) {
            (Some(taken), true, _) => Ok(taken),
            (None, _, Some(_)) => Ok(Taken::Nothing),
            _ => Err("say one of: column, constant, date and time, weeks and days, join, from"),
        }
    }
}

impl<'de> Deserialize<'de> for Column {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_any(ColumnVisitor)
    }
}

struct ColumnVisitor;

impl<'de> Visitor<'de> for ColumnVisitor {
    type Value = Column;

    fn expecting(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        to.write_str("a header name, a list of them, or a table such as { column = \"name\" }")
    }

    fn visit_str<E: Error>(self, name: &str) -> Result<Column, E> {
        Ok(Column::plain(vec![name.to_owned()]))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, names: A) -> Result<Column, A::Error> {
        Vec::deserialize(SeqAccessDeserializer::new(names)).map(Column::plain)
    }

    fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Column, A::Error> {
        let mut detailed = Detailed::deserialize(MapAccessDeserializer::new(map))?;
        Ok(Column {
            from: detailed.taken().map_err(A::Error::custom)?,
            words: detailed.words,
            assumed: detailed.assumed,
            status_words: detailed.status_words,
            optional: detailed.optional,
        })
    }
}

impl Column {
    fn plain(names: Names) -> Self {
        Self {
            from: Taken::Column(names),
            words: BTreeMap::new(),
            assumed: None,
            status_words: BTreeMap::new(),
            optional: false,
        }
    }

    /// The lists of names it is taken from; of each list the file needs one.
    pub(in crate::extracts) fn names(&self) -> Vec<Names> {
        match &self.from {
            Taken::Column(names) => vec![names.clone()],
            Taken::Moment { date, time } => vec![date.clone(), time.clone()],
            Taken::Gestation { weeks, days } => vec![weeks.clone(), days.clone()],
            Taken::Join(all) | Taken::Id(all) => all.iter().map(|name| vec![name.clone()]).collect(),
            Taken::Constant(_) | Taken::Nothing => Vec::new(),
        }
    }
}

impl<'de> Deserialize<'de> for OneOrMore {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_any(OneOrMoreVisitor)
    }
}

struct OneOrMoreVisitor;

impl<'de> Visitor<'de> for OneOrMoreVisitor {
    type Value = OneOrMore;

    fn expecting(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        to.write_str("a text or a list of texts")
    }

    fn visit_str<E: Error>(self, one: &str) -> Result<OneOrMore, E> {
        Ok(OneOrMore(vec![one.to_owned()]))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, more: A) -> Result<OneOrMore, A::Error> {
        Vec::deserialize(SeqAccessDeserializer::new(more)).map(OneOrMore)
    }
}
