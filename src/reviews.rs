//! `reviews.csv` of a warehouse: what a reader of the notes found a case to come from. A filled
//! `cases.csv` can be saved under that name as it is: columns are found by their header, others are
//! ignored, and a row without a category is not reviewed yet. A case reviewed twice counts as by
//! the later `reviewed_on`, of one day by the later line.

mod category;

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, BufReader, Read};
use std::path::{Path, PathBuf};

use jiff::civil::Date;

use crate::extracts::delimited::{Delimited, DelimitedError};
use crate::extracts::text::{Text, TextError};
use crate::nearest::nearest;

pub use category::Category;

/// Columns it must have; of `note` any text is taken.
const COLUMNS: [&str; 5] = ["case_id", "category", "reviewer", "reviewed_on", "note"];

/// What came out of the review of a case.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Review {
    /// What it came from.
    pub category: Category,
    /// Who reviewed it.
    pub reviewer: String,
    /// When.
    pub reviewed_on: Date,
    /// In their own words.
    pub note: String,
}

/// The review that counts of each case, by its id.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Reviews(BTreeMap<String, Review>);

/// Reviewed cases by category.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Reviewed {
    /// Every category in its order, with its cases.
    pub by_category: Vec<(Category, u64)>,
    /// Cases without a review.
    pub awaiting: u64,
}

/// Why the reviews are refused.
#[derive(Debug, thiserror::Error)]
pub enum ReviewsError {
    /// The file cannot be read.
    #[error("cannot read the reviews {path}: {source}")]
    Unreadable {
        /// Which file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// It is no table of reviews.
    #[error("the reviews are not valid: {what}\n  to do: {remedy}")]
    Header {
        /// What is wrong.
        what: String,
        /// What to do.
        remedy: String,
    },
    /// A row says something that cannot hold.
    #[error("the reviews are not valid: reviews.csv, line {line}: {what}\n  to do: {remedy}")]
    Row {
        /// Line on which the row begins, counted from 1.
        line: u64,
        /// What is wrong.
        what: String,
        /// What to do.
        remedy: String,
    },
}

impl Reviews {
    /// The text of the reviews at `path`, in whatever encoding it was saved; empty when there is
    /// no such file.
    ///
    /// # Errors
    /// When it is there and cannot be read as text.
    pub fn text(path: &Path) -> Result<String, ReviewsError> {
        let failed = |source| ReviewsError::Unreadable {
            path: path.to_owned(),
            source,
        };
        let file = match File::open(path) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(String::new()),
            opened => opened.map_err(failed)?,
        };
        let mut text = String::new();
        let opened = Text::open(BufReader::new(file), None).map_err(|error| match error {
            TextError::Io(source) => failed(source),
            other => failed(io::Error::new(io::ErrorKind::InvalidData, other)),
        });
        opened?.read_to_string(&mut text).map_err(failed)?;
        Ok(text)
    }

    /// Reads reviews.
    ///
    /// # Errors
    /// Names a missing column, or the line of a row that cannot hold.
    pub fn parse(text: &str) -> Result<Self, ReviewsError> {
        let mut reviews = Self::default();
        for (line, cells) in filled(text)? {
            if let Some((case_id, review)) = reviewed(line, &cells)? {
                reviews.take(case_id, review);
            }
        }
        Ok(reviews)
    }

    /// Whether these are all reviews that `text` holds, and it holds nothing else that was filled
    /// in, such as a note without a category.
    pub fn hold_all_of(&self, text: &str) -> bool {
        let is_held = |(line, cells): &(u64, [String; 5])| {
            let review = reviewed(*line, cells).ok().flatten();
            review.is_some_and(|(case_id, review)| self.of(case_id) == Some(&review))
        };
        filled(text).is_ok_and(|rows| rows.iter().all(is_held))
    }

    /// The review of a case.
    pub fn of(&self, case_id: &str) -> Option<&Review> {
        self.0.get(case_id)
    }

    /// Ids of all cases reviewed, in their order.
    pub fn case_ids(&self) -> impl Iterator<Item = &str> {
        self.0.keys().map(String::as_str)
    }

    /// The day of the earliest review.
    pub fn first_day(&self) -> Option<Date> {
        self.0.values().map(|review| review.reviewed_on).min()
    }

    fn take(&mut self, case_id: &str, review: Review) {
        match self.0.get(case_id) {
            Some(earlier) if earlier.reviewed_on > review.reviewed_on => {}
            _ => {
                self.0.insert(case_id.to_owned(), review);
            }
        }
    }
}

/// How many of these cases were reviewed as what, and how many await review. A case is counted as
/// often as it is given.
pub fn counts_by_category<'a>(case_ids: impl IntoIterator<Item = &'a str>, reviews: &Reviews) -> Reviewed {
    let mut counted = Reviewed {
        by_category: Category::ALL.map(|category| (category, 0)).to_vec(),
        awaiting: 0,
    };
    for case_id in case_ids {
        match reviews.of(case_id) {
            None => counted.awaiting += 1,
            Some(review) => {
                let own = counted.by_category.iter_mut().filter(|(of, _)| *of == review.category);
                own.for_each(|(_, n)| *n += 1);
            }
        }
    }
    counted
}

/// Places of the columns, in the order of [`COLUMNS`].
fn columns(names: &[String]) -> Result<[usize; 5], ReviewsError> {
    let mut places = [0; 5];
    for (place, wanted) in places.iter_mut().zip(COLUMNS) {
        let is_it = |name: &String| name.trim().eq_ignore_ascii_case(wanted);
        *place = names.iter().position(is_it).ok_or_else(|| ReviewsError::Header {
            what: format!("reviews.csv has no column {wanted}"),
            remedy: format!("keep the header of cases.csv: {} must be there", COLUMNS.join(", ")),
        })?;
    }
    Ok(places)
}

/// The rows in which anything was filled in: their lines, and their cells in the order of
/// [`COLUMNS`].
fn filled(text: &str) -> Result<Vec<(u64, [String; 5])>, ReviewsError> {
    let mut found = Vec::new();
    if text.trim().is_empty() {
        return Ok(found);
    }
    let mut rows = Delimited::open(text.as_bytes(), None, 0).map_err(no_table)?;
    let columns = columns(&rows.header().names)?;
    let many = rows.header().names.len();
    while let Some(row) = rows.next_row().map_err(no_table)? {
        let cells = row.cells.map_err(|_| {
            refused(
                row.line,
                "a quote is never closed",
                "double a quote that belongs to the text, or quote the whole cell",
            )
        })?;
        if !fits(&cells, &columns, many) {
            return Err(refused(
                row.line,
                format!("it has {} cells, the header {many}", cells.len()),
                "save the table with one delimiter throughout, and quote a note that holds it",
            ));
        }
        let own = columns.map(|place| cells.get(place).map_or("", |cell| unguarded(cell.trim())).to_owned());
        if own[1..].iter().any(|cell| !cell.is_empty()) {
            found.push((row.line, own));
        }
    }
    Ok(found)
}

/// Whether a row fits a header of so many columns. Some spreadsheets leave out empty cells at the
/// end of a row, which can be all those of the review, or add some. A row with another delimiter
/// has few cells as well, but more than an id in that of the id.
fn fits(cells: &[String], columns: &[usize; 5], many: usize) -> bool {
    let is_blank = |cells: &[String]| cells.iter().all(|cell| cell.trim().is_empty());
    if let Some(further) = cells.get(many..) {
        return is_blank(further);
    }
    let [case_id, review @ ..] = columns;
    let least = review
        .iter()
        .fold(many, |least, place| least.min(*place))
        .max(case_id + 1);
    let holds_delimiter = |place: usize| {
        cells
            .get(place)
            .is_some_and(|cell| cell.contains([',', ';', '\t', '|']))
    };
    is_blank(cells) || (cells.len() >= least && !holds_delimiter(0) && !holds_delimiter(*case_id))
}

fn reviewed(
    line: u64,
    [case_id, category, reviewer, on, note]: &[String; 5],
) -> Result<Option<(&str, Review)>, ReviewsError> {
    if category.is_empty() {
        return Ok(None);
    }
    if case_id.is_empty() {
        return Err(refused(
            line,
            "a category without a case_id",
            "copy the case_id from cases.csv",
        ));
    }
    let known = category.to_lowercase().replace([' ', '-'], "_");
    let Some(category) = Category::ALL.into_iter().find(|one| one.word() == known) else {
        let words = Category::ALL.map(Category::word);
        let remedy = match nearest(&known, words) {
            Some(meant) => format!("did you mean {meant}?"),
            None => format!("write one of: {}", words.join(", ")),
        };
        return Err(refused(line, format!("'{category}' is no category"), remedy));
    };
    if reviewer.is_empty() {
        return Err(refused(
            line,
            "a category without a reviewer",
            "say who reviewed it; initials will do",
        ));
    }
    let Ok(reviewed_on) = on.parse::<Date>() else {
        return Err(refused(
            line,
            format!("reviewed_on '{on}' is no day"),
            "write it as YYYY-MM-DD, such as 2026-10-05; a spreadsheet keeps it so when the column is text",
        ));
    };
    let review = Review {
        category,
        reviewer: reviewer.clone(),
        reviewed_on,
        note: note.clone(),
    };
    Ok(Some((case_id, review)))
}

/// A cell without the apostrophe that keeps a spreadsheet from taking it for a formula.
fn unguarded(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(rest) if rest.starts_with(['=', '+', '-', '@', '\t', '\r']) => rest,
        _ => cell,
    }
}

fn refused(line: u64, what: impl Into<String>, remedy: impl Into<String>) -> ReviewsError {
    ReviewsError::Row {
        line,
        what: what.into(),
        remedy: remedy.into(),
    }
}

fn no_table(error: DelimitedError) -> ReviewsError {
    ReviewsError::Header {
        what: format!("reviews.csv cannot be read as a table: {error}"),
        remedy: "save it as CSV, with the header of cases.csv".to_owned(),
    }
}
