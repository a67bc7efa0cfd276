//! What the page of cases is made from.

use std::collections::BTreeMap;

use jiff::tz::TimeZone;

use crate::month::Month;
use crate::pages::about::About;
use crate::queries::review::{Baby, Case};
use crate::reviews::Reviews;

/// What the page is made from.
pub struct CasesData<'a> {
    /// The month.
    pub month: Month,
    /// One unit alone.
    pub unit: Option<&'a str>,
    /// Facts for the first line and the footer.
    pub about: &'a About,
    /// The warehouse's zone.
    pub zone: &'a TimeZone,
    /// The month's cases, gravest first.
    pub cases: &'a [Case],
    /// Their babies, by id.
    pub babies: &'a BTreeMap<String, Baby>,
    /// The reviews so far.
    pub reviews: &'a Reviews,
    /// Ids of reviewed cases that are none in the data of any month.
    pub without_case: &'a [&'a str],
}
