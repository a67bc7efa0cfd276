//! The month's babies to review, as a page and as a table: only when asked for, as both hold
//! identifiers.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use jiff::tz::TimeZone;

use crate::engine::Session;
use crate::error::Error;
use crate::month::Month;
use crate::pages::about::About;
use crate::pages::cases::{self, CasesData};
use crate::pages::committee;
use crate::pages::local_time;
use crate::queries::figures::quoted;
use crate::queries::review::{self, Baby, Case};
use crate::reviews::{Reviews, ReviewsError, counts_by_category};

use super::files::write_private;
use super::short_names::shorten_cases;

/// The columns of `cases.csv`; filled, it is a `reviews.csv`. By the byte-order mark before them
/// spreadsheets, and [`Reviews::text`], know that the text is UTF-8.
const HEADER: &str =
    "\u{feff}case_id,month,finding,grade,unit,infant_id,at,sentence,reviewed,category,reviewer,reviewed_on,note\n";

/// What the cases are written from.
pub(super) struct CaseOrder<'a> {
    /// Tables of the snapshot.
    pub(super) session: &'a Session,
    /// All months loaded.
    pub(super) months: &'a [Month],
    /// The month.
    pub(super) month: Month,
    /// One unit's cases alone.
    pub(super) unit: Option<&'a str>,
    /// The reviews of the snapshot.
    pub(super) reviews: &'a Reviews,
    /// Facts for the page.
    pub(super) about: &'a About,
    /// The warehouse's zone.
    pub(super) zone: &'a TimeZone,
}

/// Writes `cases.html` and `cases.csv` into a folder. A `cases.csv` there that holds more than is
/// saved in the file `saved` is kept under another name, which is returned.
pub(super) async fn write(order: &CaseOrder<'_>, folder: &Path, saved: &Path) -> Result<Option<PathBuf>, Error> {
    let reviews = order.reviews;
    let month = order.month.to_string();
    let began = began(order, reviews).await?;
    let is_shown = |cases: &[Case]| -> Vec<bool> {
        let is = |case: &Case| case.month == month || reviews.of(&case.id).is_none();
        cases.iter().map(is).collect()
    };
    let (mut cases, mut babies) = review::review(order.session, (began, order.month), is_shown).await?;
    cases.retain(|case| order.unit.is_none_or(|unit| case.unit == unit));
    let without_case = without_case(order, reviews).await?;
    let table = table(&cases, &babies, reviews, order.zone);
    shorten_cases(&mut cases, &mut babies);
    let page = cases::render(&CasesData {
        month: order.month,
        unit: order.unit,
        about: order.about,
        zone: order.zone,
        cases: &cases,
        babies: &babies,
        reviews,
        without_case: &without_case,
    })?;
    write_private(&folder.join("cases.html"), &page)?;
    let path = folder.join("cases.csv");
    let kept = kept(&path, saved)?;
    write_private(&path, &table)?;
    Ok(kept)
}

/// Renames a table of cases that holds more than is saved, or cannot be read.
fn kept(path: &Path, saved: &Path) -> Result<Option<PathBuf>, Error> {
    let is_saved = || {
        let saved = Reviews::parse(&Reviews::text(saved)?)?;
        Ok::<bool, ReviewsError>(saved.hold_all_of(&Reviews::text(path)?))
    };
    if !path.exists() || is_saved().unwrap_or(false) {
        return Ok(None);
    }
    let mut number = 1;
    let mut to = path.with_file_name("cases-kept-1.csv");
    while to.exists() {
        number += 1;
        to = path.with_file_name(format!("cases-kept-{number}.csv"));
    }
    fs::rename(path, &to).map_err(Error::write(to.display().to_string()))?;
    Ok(Some(to))
}

/// The reviewed cases of twelve months by category, for the committee; `None` without a review.
pub(super) async fn reviewed(
    session: &Session,
    (first, month): (Month, Month),
    reviews: &Reviews,
) -> Result<Option<committee::Reviews>, Error> {
    if reviews.case_ids().next().is_none() {
        return Ok(None);
    }
    let cases = review::cases(session, month.plus(-11).max(first), month).await?;
    let counted = counts_by_category(cases.iter().map(|case| case.id.as_str()), reviews);
    let by_category = counted.by_category.iter();
    Ok(Some(committee::Reviews {
        by_category: by_category
            .map(|(category, n)| (category.in_words().to_owned(), *n))
            .collect(),
        waiting: counted.awaiting,
    }))
}

/// The month from which on what is not reviewed stays on the list: the first that has a reviewed case, or
/// the one before the first review if that is earlier, as a reviewed case may have become another since.
async fn began(order: &CaseOrder<'_>, reviews: &Reviews) -> Result<Month, Error> {
    let (Some(first), Some(day)) = (order.months.first(), reviews.first_day()) else {
        return Ok(order.month);
    };
    let all = review::cases(order.session, *first, order.month).await?;
    let reviewed = all.iter().filter(|case| reviews.of(&case.id).is_some());
    let months = reviewed.filter_map(|case| case.month.parse().ok());
    Ok(months
        .fold(Month::of(day).plus(-1), Month::min)
        .max(*first)
        .min(order.month))
}

/// Reviewed cases that are none in the data of any month.
async fn without_case<'a>(order: &CaseOrder<'_>, reviews: &'a Reviews) -> Result<Vec<&'a str>, Error> {
    let (Some(first), Some(last)) = (order.months.first(), order.months.last()) else {
        return Ok(reviews.case_ids().collect());
    };
    if reviews.case_ids().next().is_none() {
        return Ok(Vec::new());
    }
    let all = review::cases(order.session, *first, *last).await?;
    let known: BTreeSet<&str> = all.iter().map(|case| case.id.as_str()).collect();
    Ok(reviews.case_ids().filter(|id| !known.contains(id)).collect())
}

fn table(cases: &[Case], babies: &BTreeMap<String, Baby>, reviews: &Reviews, zone: &TimeZone) -> String {
    let mut text = HEADER.to_owned();
    for case in cases {
        let sentence = babies
            .get(&case.infant_id)
            .map(|baby| cases::sentence(case, baby, zone));
        let review = reviews.of(&case.id);
        let cells = [
            case.id.clone(),
            case.month.clone(),
            case.finding.clone(),
            case.grade.to_string(),
            case.unit.clone(),
            case.infant_id.clone(),
            local_time::iso(case.at_s, zone),
            sentence.unwrap_or_default(),
            if review.is_some() { "yes" } else { "no" }.to_owned(),
            review.map_or_else(String::new, |review| review.category.word().to_owned()),
            review.map_or_else(String::new, |review| review.reviewer.clone()),
            review.map_or_else(String::new, |review| review.reviewed_on.to_string()),
            review.map_or_else(String::new, |review| review.note.clone()),
        ];
        text.push_str(&cells.map(|cell| quoted(&cell)).join(","));
        text.push('\n');
    }
    text
}
