//! The mapping of a source laid over the header of one file: for each column of
//! each table, where in the file its cells stand.

use std::collections::BTreeMap;
use std::fmt;

use jiff::tz::TimeZone;

use super::cell::{ColumnPlan, Place, Spelling, Take};
use super::condition::Condition;
use super::number::Signs;
use super::time::Times;
use super::words::{Words, folded};
use crate::extracts::delimited::Header;
use crate::extracts::sources::{Column, Conditions, Names, Source, Sources, Taken, Target, kind_of};
use crate::warehouse::tables::{OPTIONAL_COLUMNS, SourceTable};

/// How the rows of one file are read.
pub(super) struct Plan {
    pub(super) width: usize,
    pub(super) targets: Vec<TargetPlan>,
    pub(super) ignore: Vec<Condition>,
    pub(super) total_lines: Vec<String>,
    pub(super) spelling: Spelling,
    ignored: Vec<String>,
}

/// How the rows of one table are made.
pub(super) struct TargetPlan {
    pub(super) table: &'static SourceTable,
    pub(super) is_part: bool,
    pub(super) when: Vec<Condition>,
    pub(super) unless: Vec<Condition>,
    pub(super) columns: Vec<ColumnPlan>,
}

/// Why a header does not fit a mapping.
#[derive(Debug)]
pub(super) enum HeaderFault {
    /// Columns that are named by the mapping and are not there.
    Missing(Vec<String>),
    /// A column that is used and stands twice.
    Repeated(String),
}

/// The delimiter a source declares.
pub(super) fn delimiter(source: &Source) -> Option<u8> {
    source.said.delimiter.and_then(|sign| u8::try_from(sign).ok())
}

impl Plan {
    pub(super) fn of(
        header: &Header,
        source: &Source,
        sources: &Sources,
        warehouse_zone: &TimeZone,
    ) -> Result<Self, HeaderFault> {
        let mut laying = Laying {
            names: header.names.iter().map(|name| folded(name)).collect(),
            source,
            missing: Vec::new(),
            used: vec![false; header.names.len()],
        };
        let targets = source
            .said
            .target
            .iter()
            .filter_map(|target| laying.target(target))
            .collect();
        let ignore = laying.ignore(&source.said.ignore);
        if !laying.missing.is_empty() {
            laying.missing.dedup();
            return Err(HeaderFault::Missing(laying.missing));
        }
        laying.refuse_repeated()?;
        let named = header.names.iter().zip(&laying.used);
        Ok(Self {
            width: header.names.len(),
            targets,
            ignore,
            total_lines: source.said.total_lines.iter().map(|line| folded(line)).collect(),
            spelling: Spelling {
                codes: sources.codes().clone(),
                signs: Signs {
                    decimal: source.said.decimal.unwrap_or('.'),
                    thousands: source.said.thousands,
                },
                times: Times::of(&source.said.dates, source.zone(), warehouse_zone),
            },
            ignored: named
                .filter(|(_, used)| !**used)
                .map(|(name, _)| name.trim().to_owned())
                .collect(),
        })
    }

    /// Columns of the file that are not used.
    pub(super) fn ignored(&self) -> &[String] {
        &self.ignored
    }
}

struct Laying<'a> {
    names: Vec<String>,
    source: &'a Source,
    missing: Vec<String>,
    used: Vec<bool>,
}

impl Laying<'_> {
    fn target(&mut self, target: &Target) -> Option<TargetPlan> {
        let table = SourceTable::named(&target.table)?;
        let when = self.conditions(&target.when);
        let unless = self.conditions(&target.unless);
        // In the order of the contract, so that the first fault of a row is always the same.
        let order = table.column_names().into_iter().chain(OPTIONAL_COLUMNS);
        let columns = order.filter_map(|name| {
            let column = target.columns.get(name)?;
            self.column(table, name, column, target.words.get(name))
        });
        Some(TargetPlan {
            table,
            is_part: target.part,
            when,
            unless,
            columns: columns.collect(),
        })
    }

    fn column(
        &mut self,
        table: &'static SourceTable,
        name: &'static str,
        column: &Column,
        words: Option<&BTreeMap<String, String>>,
    ) -> Option<ColumnPlan> {
        let assumed = column.assumed.as_ref();
        let takes = self.take(&column.from);
        let (take, is_assumed) = match (takes, assumed) {
            (Ok(take), _) => (take, false),
            (Err(_), Some(unit)) => (Take::Constant(unit.clone()), true),
            (Err(_), None) if column.optional => return None,
            (Err(names), None) => {
                self.missing
                    .push(format!("{} ({name} of {})", names.join(" or "), table.name));
                return None;
            }
        };
        Some(ColumnPlan {
            column: name,
            kind: kind_of(table, name),
            take,
            is_assumed,
            words: Words::of(words.into_iter().chain([&column.words])),
            has_words_beside: !column.words.is_empty(),
            of: format!("target {} of source '{}'", table.name, self.source.name()),
            status_words: Words::of([&column.status_words]),
        })
    }

    /// Where a column is taken from, or the names of which the file has none.
    fn take(&mut self, from: &Taken) -> Result<Take, Names> {
        let mut all = |names: &[String]| -> Result<Vec<Place>, Names> {
            names
                .iter()
                .map(|name| self.place(std::slice::from_ref(name)))
                .collect()
        };
        Ok(match from {
            Taken::Join(names) => Take::Join(all(names)?),
            Taken::Id(names) => Take::Id(all(names)?),
            Taken::Column(names) => Take::Cell(self.place(names)?),
            Taken::Constant(word) => Take::Constant(word.clone()),
            Taken::Moment { date, time } => Take::Moment(self.place(date)?, self.place(time)?),
            Taken::Gestation { weeks, days } => Take::Gestation(self.place(weeks)?, self.place(days)?),
            Taken::Nothing => return Err(Vec::new()),
        })
    }

    /// The first of the names that the file has.
    fn place(&mut self, names: &[String]) -> Result<Place, Names> {
        let found = names.iter().find_map(|name| Some((name, self.at(name)?)));
        let Some((name, at)) = found else {
            return Err(names.to_vec());
        };
        if let Some(used) = self.used.get_mut(at) {
            *used = true;
        }
        let rule = self
            .source
            .said
            .ids
            .iter()
            .find(|(column, _)| folded(column) == folded(name));
        Ok(Place {
            at,
            name: name.clone(),
            rule: rule.map(|(_, rule)| rule.clone()),
        })
    }

    fn at(&self, name: &str) -> Option<usize> {
        let name = folded(name);
        self.names.iter().position(|other| *other == name)
    }

    fn conditions(&mut self, of: &Conditions) -> Vec<Condition> {
        let mut missing = Vec::new();
        let all = Condition::all(of, |name| self.at(name), &mut missing);
        self.mark_used(of);
        self.missing
            .extend(missing.into_iter().map(|name| format!("{name} (where)")));
        all
    }

    /// A file without a column of `ignore` has nothing to ignore by it.
    fn ignore(&mut self, of: &Conditions) -> Vec<Condition> {
        self.mark_used(of);
        Condition::all(of, |name| self.at(name), &mut Vec::new())
    }

    fn mark_used(&mut self, of: &Conditions) {
        for at in of.keys().filter_map(|name| self.at(name)).collect::<Vec<_>>() {
            if let Some(used) = self.used.get_mut(at) {
                *used = true;
            }
        }
    }

    fn refuse_repeated(&self) -> Result<(), HeaderFault> {
        for (name, _) in self.names.iter().zip(&self.used).filter(|(_, used)| **used) {
            if self.names.iter().filter(|other| *other == name).count() > 1 {
                return Err(HeaderFault::Repeated(name.clone()));
            }
        }
        Ok(())
    }
}

impl fmt::Display for HeaderFault {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Missing(names) => write!(to, "missing: {}", names.join(", ")),
            Self::Repeated(name) => write!(to, "column {name} stands twice"),
        }
    }
}
