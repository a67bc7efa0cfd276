//! `index.html`: the reports of a folder, month by month, and what differs from one to the next.

use serde::Serialize;

use crate::month::Month;

use super::PageError;
use super::rendered::rendered;

const TEMPLATE: &str = include_str!("templates/index.html");
const STYLE: &str = include_str!("templates/style.css");

/// One month's reports.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// The month.
    pub month: Month,
    /// When and from which load it was published, the newest first.
    pub published: Vec<Published>,
    /// The pages there are.
    pub pages: Vec<Link>,
    /// Which earlier report it is compared with, in words; empty for the first.
    pub compared_with: String,
    /// What differs, a sentence each.
    pub differences: Vec<String>,
}

/// One publication.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Published {
    /// When, in UTC: `2026-10-02 08:15`.
    pub at: String,
    /// Which unit; empty for the network.
    pub unit: String,
    /// From which load.
    pub load: i64,
}

/// A page.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Link {
    /// Relative to the index.
    pub address: String,
    /// `dashboard`, `committee` or a unit.
    pub name: String,
}

#[derive(Serialize)]
struct EntryView<'a> {
    key: String,
    month: String,
    published: &'a [Published],
    pages: &'a [Link],
    compared_with: &'a str,
    differences: &'a [String],
}

#[derive(Serialize)]
struct View<'a> {
    style: &'static str,
    entries: Vec<EntryView<'a>>,
}

/// Renders the index, the newest month first.
///
/// # Errors
/// When the template fails, which would be a fault of the program.
pub fn render(entries: &[Entry]) -> Result<String, PageError> {
    let mut newest_first: Vec<&Entry> = entries.iter().collect();
    newest_first.sort_by_key(|entry| std::cmp::Reverse(entry.month));
    let view = View {
        style: STYLE,
        entries: newest_first
            .iter()
            .map(|entry| EntryView {
                key: entry.month.to_string(),
                month: entry.month.in_words(),
                published: &entry.published,
                pages: &entry.pages,
                compared_with: &entry.compared_with,
                differences: &entry.differences,
            })
            .collect(),
    };
    rendered("index.html", TEMPLATE, &view)
}
