//! What the dashboard is made from.

use std::collections::BTreeMap;

use crate::month::Month;
use crate::pages::about::About;
use crate::pages::looked_back::LookedBackRow;
use crate::pages::records::Records;
use crate::queries::explain::Flow;
use crate::queries::figures::Figure;
use crate::signals::Signals;
use crate::signals::agreement::Agreed;
use crate::signals::between::AllBetween;
use crate::signals::to_serum::Curve;
use crate::signals::units::AllUnits;

/// What the page is made from.
pub struct DashboardData<'a> {
    /// Figures of the month and of the months before, as `siskin measure` gives them.
    pub figures: &'a [Figure],
    /// The month.
    pub month: Month,
    /// Figures of twelve months taken together, network and units.
    pub year: &'a [Figure],
    /// The same of the groups of each split.
    pub groups: &'a [Figure],
    /// How the month's figures came about, by measure.
    pub flows: &'a BTreeMap<&'static str, Vec<Flow>>,
    /// The unit it is of; `None` for the network.
    pub unit: Option<&'a str>,
    /// Cases are listed on a page beside it.
    pub has_cases: bool,
    /// Babies with severe jaundice of any kind in the month.
    pub severe: u64,
    /// Facts for the first line and the footer.
    pub about: &'a About,
    /// What the birth stays of readmitted and severe babies had missed.
    pub looked_back: &'a [LookedBackRow],
    /// What became of the rows.
    pub records: Records,
    /// Charts and verdicts.
    pub signals: &'a Signals,
    /// How well the meters agree with the laboratory.
    pub agreed: &'a Agreed,
    /// Time to serum.
    pub curve: &'a Curve,
    /// Units against each other.
    pub units: &'a AllUnits,
    /// Births between cases of severe jaundice.
    pub between: &'a AllBetween,
}
