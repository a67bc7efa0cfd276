//! `cases.html`: the month's babies to review, gravest first. It holds identifiers: for its owner
//! alone, never for the committee.

mod data;
mod events;
mod followed;
mod heading;
mod picture;
mod sentence;
mod summary;
mod wording;

use jiff::tz::TimeZone;
use serde::Serialize;

use crate::month::Month;
use crate::queries::review::{Baby, Case};
use crate::reviews::{Category, Review};

use super::PageError;
use super::about::About;
use super::rendered::rendered;

pub use data::CasesData;

use events::EventRow;
use summary::{BabyRow, FindingRow, anchor};
use wording::Wording;

const TEMPLATE: &str = include_str!("templates/cases.html");
const STYLE: &str = include_str!("templates/style.css");
const OWN_STYLE: &str = include_str!("templates/cases.css");
const SCRIPT: &str = include_str!("templates/tables.js");

/// Everything the template shows.
#[derive(Serialize)]
struct View<'a> {
    style: String,
    script: &'static str,
    /// One unit alone; empty for the network.
    unit: &'a str,
    month: String,
    month_key: String,
    about: &'a About,
    cases: usize,
    /// Of these, of earlier months.
    earlier: usize,
    reviewed: usize,
    findings: Vec<FindingRow>,
    rows: Vec<BabyRow>,
    babies: Vec<BabyView>,
    categories: Vec<[&'static str; 2]>,
    without_case: &'a [&'a str],
}

/// A baby's section.
#[derive(Serialize)]
struct BabyView {
    id: String,
    infant_id: String,
    /// Unit, gestation, birth.
    facts: String,
    /// Feeding, risk factors, weight.
    risk: String,
    cases: Vec<CaseView>,
    /// What followed the first finding: lamps, the fall, exchange transfusion.
    followed: String,
    /// The picture; empty without a birth time.
    picture: String,
    /// Why there is no picture, or what lies beyond it.
    remark: String,
    events: Vec<EventRow>,
}

/// A case with its review.
#[derive(Serialize)]
struct CaseView {
    id: String,
    grade: i64,
    title: String,
    unit: String,
    /// Its month, where that is an earlier one.
    of_month: String,
    sentence: String,
    review: Option<ReviewView>,
}

#[derive(Serialize)]
struct ReviewView {
    category: &'static str,
    meaning: &'static str,
    reviewer: String,
    on: String,
    note: String,
}

/// Renders the page.
///
/// # Errors
/// When a picture or the template fails, which would be a fault of the program.
pub fn render(data: &CasesData<'_>) -> Result<String, PageError> {
    let by_baby = summary::by_baby(data.cases);
    let babies = by_baby.iter().enumerate().filter_map(|(place, cases)| {
        let baby = data.babies.get(&cases.first()?.infant_id)?;
        Some(baby_view(data, baby, cases, place))
    });
    let view = View {
        style: format!("{STYLE}{OWN_STYLE}"),
        script: SCRIPT,
        unit: data.unit.unwrap_or_default(),
        month: data.month.in_words(),
        month_key: data.month.to_string(),
        about: data.about,
        cases: data.cases.len(),
        earlier: {
            let month = data.month.to_string();
            data.cases.iter().filter(|case| case.month != month).count()
        },
        reviewed: data
            .cases
            .iter()
            .filter(|case| data.reviews.of(&case.id).is_some())
            .count(),
        findings: summary::findings(data),
        rows: summary::babies(data, &by_baby),
        babies: babies.collect::<Result<_, _>>()?,
        categories: Category::ALL
            .map(|category| [category.word(), category.in_words()])
            .to_vec(),
        without_case: data.without_case,
    };
    rendered("cases.html", TEMPLATE, &view)
}

/// A case as a sentence, for page and table.
pub fn sentence(case: &Case, baby: &Baby, zone: &TimeZone) -> String {
    sentence::sentence(case, &Wording::of(baby, zone))
}

fn baby_view(data: &CasesData<'_>, baby: &Baby, cases: &[&Case], place: usize) -> Result<BabyView, PageError> {
    let wording = Wording::of(baby, data.zone);
    let id = anchor(place);
    let (picture, remark) = match picture::picture(&wording, cases, &format!("{id}-hours"))? {
        Some((picture, 0)) => (picture, String::new()),
        Some((picture, beyond)) => (
            picture,
            format!(
                "{} later; the table has all.",
                wording::counted(beyond as i64, "event lies", "events lie")
            ),
        ),
        None => (
            String::new(),
            "The birth is known by date only: there is no age in hours, so no picture and no line. The table tells \
             what happened by local time."
                .to_owned(),
        ),
    };
    let month = data.month.to_string();
    let case_view = |case: &&Case| CaseView {
        id: case.id.clone(),
        grade: case.grade,
        of_month: match case.month == month {
            true => String::new(),
            false => case
                .month
                .parse::<Month>()
                .map_or_else(|_| String::new(), |month| month.in_words()),
        },
        title: sentence::title(case),
        unit: case.unit.clone(),
        sentence: sentence::sentence(case, &wording),
        review: data.reviews.of(&case.id).map(review_view),
    };
    Ok(BabyView {
        infant_id: baby.infant_id.clone(),
        facts: heading::facts(&wording),
        risk: heading::risk(baby),
        cases: cases.iter().map(case_view).collect(),
        followed: followed::followed(&wording, cases),
        picture,
        remark,
        events: events::events(&wording, cases),
        id,
    })
}

fn review_view(review: &Review) -> ReviewView {
    ReviewView {
        category: review.category.word(),
        meaning: review.category.in_words(),
        reviewer: review.reviewer.clone(),
        on: review.reviewed_on.strftime("%-d %B %Y").to_string(),
        note: review.note.clone(),
    }
}
