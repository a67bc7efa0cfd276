//! `committee.html`: two printed pages for the safety committee, small numbers hidden.
//!
//! No count of babies or cases reaches the page but through `released.rs`, `groups.rs` or, as a
//! band, this file, which ask `privacy` what may be shown; charts, axes, sentences and the file beside
//! the page take theirs from there. A median, and an interval that goes by babies, are shown only
//! where the counts beneath them are released; what the meters show, only of enough pairs. What else
//! stands on it is a word: a verdict, the name of a unit or meter, a note of the unit's own.

mod charts;
mod csv;
mod data;
mod decisions;
mod groups;
mod released;
mod rows;
mod sentences;

use serde::Serialize;

use crate::privacy::bands::band;
use crate::privacy::shown::why;

use super::PageError;
use super::about::About;
use super::rendered::rendered;

pub use charts::QUARTERS;
pub use data::{CommitteeData, Reviews};
pub use released::{half_to, quarters_to, year_to};

use charts::{ChartView, charts};
use decisions::{Decision, decisions};
use groups::{GroupsTable, tables};
use rows::{Row, committee_figures};

const TEMPLATE: &str = include_str!("../templates/committee.html");
const STYLE: &str = include_str!("../templates/style.css");
const OWN_STYLE: &str = include_str!("../templates/committee.css");

/// The page, and the numbers on it as a file.
pub struct Committee {
    /// `committee.html`.
    pub page: String,
    /// `measures.csv`.
    pub csv: String,
}

/// Everything the template shows.
#[derive(Serialize)]
struct View<'a> {
    style: &'static str,
    own_style: &'static str,
    month: String,
    month_short: String,
    year: String,
    year_short: String,
    about: &'a About,
    is_provisional: bool,
    in_short: Vec<String>,
    rows: Vec<Row>,
    has_targets: bool,
    charts: Vec<ChartView>,
    tables: Vec<GroupsTable>,
    agreement: Vec<String>,
    changes: Vec<String>,
    decisions: Vec<Decision>,
    reviews: Vec<(String, String)>,
    waiting: String,
    limits: Vec<String>,
    why_hidden: String,
}

/// Renders the page and its file.
///
/// # Errors
/// When a chart or the template fails, which would be a fault of the program.
pub fn render(data: &CommitteeData<'_>) -> Result<Committee, PageError> {
    let figures = committee_figures(data);
    let tables = tables(&figures, data);
    let rows: Vec<Row> = figures.iter().map(|one| one.row(data)).collect();
    let reviews = data.reviews.clone().unwrap_or_default();
    let year = year_to(data.month, data.first);
    let view = View {
        style: STYLE,
        own_style: OWN_STYLE,
        month: data.month.in_words(),
        month_short: data.month.short_with_year(),
        year: match year.0 <= year.1 {
            true => format!("{} to {}", year.0.in_words(), year.1.in_words()),
            false => "of which no quarter is complete".to_owned(),
        },
        year_short: year.1.short_with_year(),
        about: data.about,
        is_provisional: figures
            .iter()
            .any(|one| one.released.is_provisional((data.month, data.month))),
        in_short: sentences::in_short(&figures, data),
        has_targets: rows.iter().any(|row| !row.target.is_empty()),
        rows,
        charts: charts(&figures, data)?,
        agreement: sentences::agreement(data),
        changes: sentences::changes(&figures, data),
        decisions: decisions(&figures, data),
        reviews: categories(&reviews, data.hide_below),
        waiting: band(reviews.waiting, data.hide_below),
        limits: sentences::limits(data),
        why_hidden: why(data.hide_below),
        tables: tables.clone(),
    };
    Ok(Committee {
        page: rendered("committee.html", TEMPLATE, &view)?,
        csv: csv::csv(&figures, &tables, data),
    })
}

/// Categories in bands; those in the lowest one, which may hold none, are one line.
fn categories(reviews: &Reviews, hide_below: u32) -> Vec<(String, String)> {
    let lowest = band(0, hide_below);
    let all = reviews
        .by_category
        .iter()
        .map(|(category, n)| (category.clone(), band(*n, hide_below)));
    let (few, mut bands): (Vec<_>, Vec<_>) = all.partition(|(_, band)| *band == lowest);
    if !few.is_empty() {
        let what = if bands.is_empty() {
            "each category"
        } else {
            "each other category"
        };
        bands.push((what.to_owned(), lowest));
    }
    bands
}
