//! What the committee's page is made from.

use crate::month::Month;
use crate::pages::about::About;
use crate::pages::records::Records;
use crate::queries::figures::Figure;
use crate::signals::Signals;
use crate::signals::agreement::Agreed;

/// What the page is made from.
pub struct CommitteeData<'a> {
    /// The first month with data.
    pub first: Month,
    /// The month.
    pub month: Month,
    /// Figures of the months up to the month.
    pub figures: &'a [Figure],
    /// Of the twelve months to the last complete quarter taken together.
    pub year: &'a [Figure],
    /// Of the last complete half-year taken together: units, and groups by skin tone.
    pub half_groups: &'a [Figure],
    /// Of each of the last complete quarters taken together, with its last month as its month: the
    /// network's figures whose intervals go by clusters.
    pub quarters: &'a [Figure],
    /// Facts for the first line and the footer.
    pub about: &'a About,
    /// Charts and verdicts.
    pub signals: &'a Signals,
    /// The same of the month before, by the same data.
    pub signals_before: &'a Signals,
    /// How well the meters agree with the laboratory.
    pub agreed: &'a Agreed,
    /// What is reported of the records.
    pub records: &'a Records,
    /// Counts from 1 to below this are hidden.
    pub hide_below: u32,
    /// Measures that the committee is to see; all when `None`.
    pub audience: Option<&'a [String]>,
    /// Cases of twelve months reviewed, by category in words, and those that wait; `None` where
    /// none has been reviewed.
    pub reviews: Option<Reviews>,
}

/// How many cases were reviewed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Reviews {
    /// By category, in words.
    pub by_category: Vec<(String, u64)>,
    /// Those that wait for review.
    pub waiting: u64,
}
