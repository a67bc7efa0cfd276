//! The header of a query file: leading `-- key: value` lines.
//!
//! A line `--   more` continues the value above it. The keys are a closed set.

use std::collections::BTreeMap;

/// Keys a header may have.
const KEYS: &[&str] = &[
    "title",
    "what",
    "grain",
    "reads",
    "looks back",
    "looks ahead",
    "choices",
    "source", // all
    "level",  // checks of the records
    "order",
    "kept", // derived tables
    "kind",
    "figures",
    "outcomes",
    "needs",
    "starts with",
    "dropped",
    "left out",
    "clusters",
    "better",
    "direction",
    "labels",
    "quantity",
    "cases",
    "each",
    "chart", // measures
];

/// What a query file says about itself.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Header {
    values: BTreeMap<String, String>,
}

/// A header that does not follow the rules: a fault of siskin, found by its tests.
#[derive(Clone, Debug, thiserror::Error, PartialEq, Eq)]
#[error("{file}, line {line}: {why}")]
pub struct HeaderError {
    /// Which query.
    pub file: String,
    /// Which line.
    pub line: usize,
    /// What is wrong.
    pub why: String,
}

impl Header {
    /// Reads the header of a query.
    ///
    /// # Errors
    /// When a line is neither a known key nor a continuation, `title`, `grain` or `reads` is
    /// missing, or `kept` says anything but `while deriving`.
    pub fn parse(file: &str, sql: &str) -> Result<Self, HeaderError> {
        let wrong = |line: usize, why: String| HeaderError {
            file: file.to_owned(),
            line,
            why,
        };
        let mut values: BTreeMap<String, String> = BTreeMap::new();
        let mut last = None;
        for (i, line) in sql.lines().enumerate() {
            let Some(text) = line.strip_prefix("--") else {
                break;
            };
            if let Some(more) = text.strip_prefix("   ") {
                let value = last.as_ref().and_then(|key| values.get_mut(key));
                let value = value.ok_or_else(|| wrong(i + 1, "continues nothing".into()))?;
                value.push(' ');
                value.push_str(more.trim());
                continue;
            }
            let (key, value) = text
                .trim()
                .split_once(':')
                .ok_or_else(|| wrong(i + 1, format!("'{text}' is not 'key: value'")))?;
            if !KEYS.contains(&key) {
                return Err(wrong(i + 1, format!("unknown key '{key}'")));
            }
            values.insert(key.to_owned(), value.trim().to_owned());
            last = Some(key.to_owned());
        }
        for key in ["title", "grain", "reads"] {
            if !values.contains_key(key) {
                return Err(wrong(1, format!("the header has no '{key}'")));
            }
        }
        if let Some(kept) = values.get("kept").filter(|kept| *kept != "while deriving") {
            return Err(wrong(1, format!("'kept: {kept}' is not 'kept: while deriving'")));
        }
        Ok(Self { values })
    }

    /// The value of a key; empty when absent.
    pub fn get(&self, key: &str) -> &str {
        self.values.get(key).map_or("", String::as_str)
    }

    /// A value that is a list separated by commas.
    pub fn list(&self, key: &str) -> Vec<&str> {
        split(self.get(key))
    }

    /// What a key says of a figure; empty when it says nothing.
    ///
    /// Written `usual; name other; ...`: what holds for the figures of the measure, then those for
    /// which it does not.
    pub fn of_figure(&self, key: &str, figure: &str) -> &str {
        let mut each = self.get(key).split(';').map(str::trim);
        let usual = each.next();
        let own = each.find_map(|text| text.strip_prefix(figure)?.strip_prefix(' '));
        own.or(usual).unwrap_or_default()
    }

    /// What figures are called, by name: `name = Label; name = Label`.
    pub(super) fn labels(&self) -> Vec<(String, String)> {
        let each = self.get("labels").split(';').filter_map(|text| text.split_once('='));
        each.map(|(name, label)| (name.trim().to_owned(), label.trim().to_owned()))
            .collect()
    }

    /// Whether a higher or a lower value of a figure is better; `None` where neither is.
    pub fn better(&self, figure: &str) -> Option<Better> {
        match self.of_figure("better", figure) {
            "higher" => Some(Better::Higher),
            "lower" => Some(Better::Lower),
            _ => None,
        }
    }

    /// The figures of a measure.
    ///
    /// Written `name = part + part / part + part besides part of table from set when word; ...`:
    /// outcomes that are counted, outcomes they are counted of, and, each where it is needed,
    /// outcomes that are listed besides, a table that this figure needs besides those of the measure,
    /// what the cases are stored as where several figures share them (`*` is the figure's own
    /// name), and the further name that makes a case count.
    pub fn figures(&self) -> Vec<Figure<'_>> {
        let each = self.get("figures").split(';').map(str::trim);
        each.filter_map(|text| {
            let (name, formula) = text.split_once('=')?;
            let (formula, when) = formula.split_once(" when ").unwrap_or((formula, ""));
            let (formula, from) = formula.split_once(" from ").unwrap_or((formula, ""));
            let (formula, of) = formula.split_once(" of ").unwrap_or((formula, ""));
            let (formula, besides) = formula.split_once(" besides ").unwrap_or((formula, ""));
            let (numerator, denominator) = formula.split_once('/')?;
            Some(Figure {
                name: name.trim(),
                numerator: parts(numerator),
                denominator: parts(denominator),
                besides: parts(besides),
                of: parts(of),
                from: parts(from),
                when: parts(when).first().copied(),
            })
        })
        .collect()
    }
}

/// Which way a figure is better.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Better {
    /// Higher is better.
    Higher,
    /// Lower is better.
    Lower,
}

/// How a figure is made of outcomes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Figure<'a> {
    /// Its name in the results; ends in `*` when the query names each one.
    pub name: &'a str,
    /// Outcomes that are counted.
    pub numerator: Vec<&'a str>,
    /// Outcomes that make the denominator.
    pub denominator: Vec<&'a str>,
    /// Outcomes that are listed and in no rate, where they are not those of the measure.
    pub besides: Vec<&'a str>,
    /// Tables it needs besides those of the measure.
    pub of: Vec<&'a str>,
    /// What its cases are stored as; empty when under its own name.
    from: Vec<&'a str>,
    /// The further name by which a case counts in the numerator.
    pub when: Option<&'a str>,
}

impl Figure<'_> {
    /// Whether a figure of the results is made so.
    pub fn is_of(&self, name: &str) -> bool {
        is_of(self.name, name)
    }

    /// The names under which the cases of a figure so made are stored.
    pub fn sets<'n>(&'n self, name: &'n str) -> Vec<&'n str> {
        match self.from.is_empty() {
            true => vec![name],
            false => self
                .from
                .iter()
                .map(|set| if *set == "*" { name } else { set })
                .collect(),
        }
    }

    /// How a case counts for this figure, by its name and its further names; `None` when it does
    /// not. A further name `word:reason` leaves the case out of the figure that counts by `word`.
    pub fn counts<'c>(&'c self, name: &'c str, also: &'c str) -> Option<Counts<'c>> {
        if also.is_empty() {
            return Some(Counts::As(name));
        }
        let mut further = also.split(' ');
        if let Some(when) = self.when {
            for word in further {
                match word.split_once(':') {
                    Some((flag, reason)) if flag == when => return Some(Counts::LeftOut(reason)),
                    None if word == when => return self.numerator.first().copied().map(Counts::As),
                    _ => {}
                }
            }
            let mut others = self.denominator.iter();
            let other = others.find(|part| !self.numerator.contains(part));
            return other.copied().map(Counts::As);
        }
        if !self.of.is_empty() {
            let has = |table: &str| also.split(' ').any(|word| word == table);
            return self.of.iter().all(|table| has(table)).then_some(Counts::As(name));
        }
        let is_part = |word: &&str| {
            let mut parts = self.numerator.iter().chain(&self.denominator).chain(&self.besides);
            parts.any(|part| part == word)
        };
        Some(Counts::As(further.find(is_part).unwrap_or(name)))
    }
}

/// How a case counts for a figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counts<'c> {
    /// With this outcome.
    As(&'c str),
    /// Not, for this reason.
    LeftOut(&'c str),
}

/// Whether a figure of the results has this name in a header, which may end in `*`.
pub(super) fn is_of(in_header: &str, name: &str) -> bool {
    match in_header.strip_suffix('*') {
        Some(stem) => name.starts_with(stem),
        None => in_header == name,
    }
}

fn parts(text: &str) -> Vec<&str> {
    text.split('+').map(str::trim).filter(|t| !t.is_empty()).collect()
}

fn split(text: &str) -> Vec<&str> {
    text.split(',').map(str::trim).filter(|t| !t.is_empty()).collect()
}
